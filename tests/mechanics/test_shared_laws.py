"""Laws every function of the mechanics obeys, checked over one list of them all.

No expected value is printed here: each law holds by itself whatever the numbers are.
"""

import inspect
import math
from collections.abc import Callable
from typing import NamedTuple

import numpy as np
import pytest
from numpy.typing import NDArray

from checker.mechanics import (
    axles,
    balance,
    coupling,
    coupling_classes,
    dynamics,
    quantities,
    tiedown_geometry,
    tow_vehicle,
    tyres,
)
from tests.mechanics.random_rows import ROWS, law, random_column

Column = NDArray[np.float64]

MODULES = (
    axles,
    balance,
    coupling,
    coupling_classes,
    dynamics,
    quantities,
    tiedown_geometry,
    tow_vehicle,
    tyres,
)

# What an argument or a result is: force, length, time as powers, and a range to draw it from.
KINDS = {
    "force": ((1, 0, 0), (200.0, 40_000.0)),
    "gross": ((1, 0, 0), (2_000.0, 50_000.0)),
    "length": ((0, 1, 0), (0.3, 6.0)),
    "offset": ((0, 1, 0), (-2.0, 2.0)),
    "moment": ((1, 1, 0), (100.0, 9_000.0)),
    "rate": ((1, -1, 0), (5e4, 5e5)),
    "speed": ((0, 1, -1), (1.0, 40.0)),
    "deceleration": ((0, 1, -2), (0.5, 9.0)),
    "ratio": ((0, 0, 0), (0.05, 0.95)),
    "grade": ((0, 0, 0), (-0.2, 0.2)),
    "angle": ((0, 0, 0), (0.05, 1.5)),
    "count": ((0, 0, 0), (1.0, 4.0)),
    "index": ((0, 0, 0), (57.0, 153.0)),
    "yes": ((0, 0, 0), (0.0, 1.0)),
}


class Formula(NamedTuple):
    function: Callable[..., object]
    takes: str
    gives: str


def spread(function: Callable[..., object], *sizes: int) -> Callable[..., object]:
    """Give a function that takes sequences its arguments one by one; size 0 is a plain one."""

    def call(*arguments: object) -> object:
        rest = list(arguments)
        gathered = []
        for size in sizes:
            gathered.append(rest[:size] if size else rest[0])
            del rest[: size or 1]
        return function(*gathered)

    call.__name__ = function.__name__
    return call


def semi_trailer_d_value(vehicle: object, trailer: object, share: object) -> object:
    """With the fifth wheel bearing a share of the trailer, so that no row is impossible."""
    return coupling.semi_trailer_d_value(vehicle, trailer, share * trailer)


def receiver_test_forces(gross: object) -> object:
    tests = coupling_classes.WEIGHT_CARRYING_TESTS
    return coupling_classes.receiver_test_forces(tests, gross)


FORMULAS = [
    Formula(spread(balance.centre_of_gravity, 2, 2), "force force offset offset", "offset"),
    Formula(
        spread(balance.support_loads, 2, 2, 0), "force force length length length", "force force"
    ),
    Formula(balance.share_on_tongue, "length length", "ratio"),
    Formula(
        spread(balance.position_for_tongue_share, 0, 0, 1, 1, 0),
        "ratio force force length length",
        "length",
    ),
    Formula(balance.side_loads, "force force offset length", "force force"),
    Formula(balance.lateral_cg_from_scales, "force force force length", "offset"),
    Formula(balance.cg_from_scales, "force force length", "length"),
    Formula(balance.cg_from_axle_weights, "force force length", "length"),
    Formula(balance.cg_height_from_tilt, "force length length angle force", "length"),
    Formula(balance.tongue_change_when_turned, "force length ratio length", "force"),
    Formula(axles.equalised_share, "force count", "force"),
    Formula(spread(axles.independent_axle_group, 2, 2), "length length rate rate", "length"),
    Formula(
        spread(axles.level_deck_ball_lowering, 0, 0, 2, 2),
        "force length length length rate rate",
        "length",
    ),
    Formula(
        spread(axles.independent_axle_loads, 0, 0, 2, 2, 0),
        "force length length length rate rate length",
        "force force force",
    ),
    Formula(spread(axles.tongue_change_per_ball_lowering, 2, 2), "length length rate rate", "rate"),
    Formula(tow_vehicle.axle_changes, "force length offset", "force force"),
    Formula(tow_vehicle.levelling_changes, "moment length length length", "force force force"),
    Formula(
        tow_vehicle.levelling_moment_for_front_restoration,
        "force length length ratio",
        "moment",
    ),
    Formula(tow_vehicle.levelling_moment_for_equal_sharing, "force length length length", "moment"),
    Formula(tow_vehicle.ball_drop, "force length length rate rate", "length"),
    Formula(tow_vehicle.cargo_capacity_left, "force count force force", "force"),
    Formula(dynamics.tongue_change_when_braking, "force ratio length length length yes", "force"),
    Formula(dynamics.tongue_on_grade, "force length length length length grade", "force"),
    Formula(dynamics.mean_deceleration, "speed length", "deceleration"),
    Formula(dynamics.stopping_distance, "speed deceleration", "length"),
    Formula(tyres.required_rating_per_tyre, "force count count", "force"),
    Formula(coupling.d_value, "force force", "force"),
    Formula(coupling.dc_value, "force force", "force"),
    Formula(semi_trailer_d_value, "force force ratio", "force"),
    Formula(coupling.v_value, "force length length yes", "force"),
    Formula(
        spread(tiedown_geometry.direction_cosines, 3, 3),
        "offset offset offset offset offset offset",
        "ratio ratio ratio length",
    ),
    Formula(spread(tiedown_geometry.angle_above_deck, 3), "offset offset offset", "angle"),
    Formula(spread(tiedown_geometry.plan_angle, 3), "offset offset offset", "angle"),
    Formula(tiedown_geometry.tension_for_vertical, "force angle", "force"),
    Formula(tiedown_geometry.tension_for_horizontal, "force angle angle", "force"),
    Formula(quantities.quotient, "force length", "rate"),
]

# A table or a fixed number of their source ties these to one unit.
TIED_TO_A_UNIT = [
    Formula(dynamics.braking_share, "deceleration", "ratio"),
    Formula(tyres.load_of_index, "index", "force"),
    Formula(tyres.smallest_load_index, "force", "index"),
    Formula(coupling_classes.coupling_class, "gross", "count"),
    Formula(coupling_classes.least_breaking_forces, "gross", "force force force force force"),
    Formula(receiver_test_forces, "gross", "force force force force force"),
]


def name_of(formula: Formula) -> str:
    return formula.function.__name__


def flat(result: object) -> list[object]:
    if isinstance(result, tuple | list):
        return [single for part in result for single in flat(part)]
    return [result]


def columns(formula: Formula, seed: int) -> list[Column]:
    """A hundred rows of random arguments, one column for each."""
    rng = np.random.default_rng(seed)
    # Six decimals keep two places either equal or a measurable distance apart.
    return [
        random_column(rng, *KINDS[kind][1], 0 if kind in {"count", "index"} else 6)
        for kind in formula.takes.split()
    ]


def same(left: object, right: object, kind: str) -> np.ndarray:
    """Equal but for rounding, measured by the largest value of the kind that is ever drawn."""
    largest = max(map(abs, KINDS[kind][1]))
    return np.isclose(left, right, rtol=1e-8, atol=1e-8 * largest, equal_nan=True)


every_formula = pytest.mark.parametrize("formula", [*FORMULAS, *TIED_TO_A_UNIT], ids=name_of)


def test_every_public_function_stands_in_the_list() -> None:
    public = {
        name
        for module in MODULES
        for name, function in inspect.getmembers(module, inspect.isfunction)
        if function.__module__ == module.__name__ and not name.startswith("_")
    }
    assert {name_of(formula) for formula in [*FORMULAS, *TIED_TO_A_UNIT]} == public - {"as_number"}


@every_formula
@law
def test_an_array_gives_row_by_row_what_single_values_give(formula: Formula, seed: int) -> None:
    arguments = np.array(columns(formula, seed))
    # In each argument something is not stated in one row.
    arguments[range(len(arguments)), range(len(arguments))] = math.nan
    together = flat(formula.function(*arguments))
    alone = [flat(formula.function(*row)) for row in arguments.T.tolist()]
    assert all(isinstance(single, float) for row in alone for single in row)
    for kind, column, *singles in zip(formula.gives.split(), together, *alone, strict=True):
        assert same(column, singles, kind).all()


@every_formula
@law
def test_a_result_that_depends_on_something_not_stated_is_not_known(
    formula: Formula, seed: int
) -> None:
    row, other = columns(formula, seed), columns(formula, seed + 1)
    stated = flat(formula.function(*row))
    for place, value in enumerate(other):
        changed, unknown = (
            flat(formula.function(*row[:place], instead, *row[place + 1 :]))
            for instead in (value, math.nan * value)
        )
        for kind, before, after, without in zip(
            formula.gives.split(), stated, changed, unknown, strict=True
        ):
            assert (np.isnan(without) | same(before, after, kind)).all()


@pytest.mark.parametrize("formula", FORMULAS, ids=name_of)
@law
def test_no_formula_prefers_a_unit(formula: Formula, seed: int) -> None:
    """Weights, lengths and times in any other units give the same answer in those units."""
    powers = np.random.default_rng(seed).uniform(-3.0, 3.0, (3, ROWS))

    def factor(kind: str) -> Column:
        return np.exp(np.array(KINDS[kind][0]) @ powers)

    row = columns(formula, seed)
    takes = formula.takes.split()
    scaled = [value * factor(kind) for value, kind in zip(row, takes, strict=True)]
    before, after = flat(formula.function(*row)), flat(formula.function(*scaled))
    for kind, old, new in zip(formula.gives.split(), before, after, strict=True):
        assert same(old, new / factor(kind), kind).all()
