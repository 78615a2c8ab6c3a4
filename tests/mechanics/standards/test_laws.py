"""Laws the sums of the standards obey whatever the numbers are; no expected value is printed."""

import inspect
import math
from collections.abc import Callable
from typing import NamedTuple

import numpy as np
import pytest
from numpy.typing import NDArray

from checker.mechanics.standards import (
    australia,
    css_code,
    ctu_code,
    demand,
    en_12195_1,
    en_12195_1_2003,
    friction,
    new_zealand,
    north_america,
    quick_guide,
    vdi_2700,
    vehicle_body,
)
from tests.mechanics.random_rows import ROWS, law, random_column

Column = NDArray[np.float64]

MODULES = (
    australia,
    css_code,
    ctu_code,
    demand,
    en_12195_1,
    en_12195_1_2003,
    friction,
    new_zealand,
    north_america,
    quick_guide,
    vdi_2700,
    vehicle_body,
)

# What an argument or a result is: force and length as powers, and a range to draw it from.
KINDS = {
    "force": ((1, 0), (200.0, 90_000.0)),
    "moment": ((1, 1), (200.0, 90_000.0)),
    "length": ((0, 1), (0.2, 4.0)),
    "ratio": ((0, 0), (0.05, 1.2)),
    "cosine": ((0, 0), (-1.0, 1.0)),
    "angle": ((0, 0), (0.1, 1.5)),
    "count": ((0, 0), (1.0, 6.0)),
    "yes": ((0, 0), (0.0, 1.0)),
    "payload": ((1, 0), (10_000.0, 300_000.0)),
}


class Formula(NamedTuple):
    function: Callable[..., object]
    takes: str
    gives: str


def spread(function: Callable[..., object], start: int, size: int) -> Callable[..., object]:
    """Gather `size` arguments from `start` on into the one sequence the function takes."""

    def call(*arguments: object) -> object:
        end = start + size
        return function(*arguments[:start], arguments[start:end], *arguments[end:])

    call.__name__ = function.__name__
    return call


def guide(function: Callable[..., object]) -> Callable[..., object]:
    """Give a quick-guide sum its two modes of transport as four numbers after the weight."""

    def call(weight: object, c: object, c_z: object, other: object, z: object, *rest: object):
        return function(weight, [(c, c_z), (other, z)], *rest)

    call.__name__ = function.__name__
    return call


def static_friction(wet: object) -> object:
    return friction.static_friction("plywood laminate", "sawn timber", wet)


def maximum_securing_load(strength: object) -> object:
    return css_code.maximum_securing_load("chain", strength)


def wall_strength(payload: object) -> object:
    return vehicle_body.wall_strength("L", "front", payload)


AGAINST_SLIDING = "force ratio ratio ratio"
AGAINST_TILTING = "force ratio ratio length length"

QUICK_GUIDE = [
    Formula(
        guide(quick_guide.top_over_against_sliding),
        "force ratio ratio ratio ratio ratio force ratio",
        "count",
    ),
    Formula(
        guide(quick_guide.top_over_against_tipping),
        "force ratio ratio ratio ratio count ratio force ratio",
        "count",
    ),
    *(
        Formula(guide(function), "force ratio ratio ratio ratio ratio ratio force", "count")
        for function in (
            quick_guide.straight_against_sliding,
            quick_guide.springs_against_sliding,
            quick_guide.half_loop_pairs_against_sliding,
        )
    ),
]

FORMULAS = [
    Formula(demand.force_not_held, AGAINST_SLIDING, "force"),
    Formula(demand.moment_not_held, AGAINST_TILTING, "moment"),
    Formula(demand.number_needed, "force force", "ratio"),
    Formula(en_12195_1.stable_against_tilting, "length length ratio ratio", "yes"),
    Formula(en_12195_1.stable_against_sliding, "ratio ratio ratio", "yes"),
    Formula(en_12195_1.blocking_capacity_needed, AGAINST_SLIDING, "force"),
    Formula(en_12195_1.friction_lashing_effect, "ratio force angle", "force"),
    Formula(
        en_12195_1.friction_lashings_against_sliding,
        f"{AGAINST_SLIDING} force angle ratio force",
        "count",
    ),
    Formula(
        en_12195_1.friction_lashings_against_tilting,
        f"{AGAINST_TILTING} length force angle ratio",
        "count",
    ),
    Formula(
        en_12195_1.friction_lashings_for_rows,
        "force ratio ratio count ratio force angle ratio",
        "count",
    ),
    Formula(en_12195_1.direct_lashing_effect, "force cosine cosine ratio ratio", "force"),
    Formula(
        en_12195_1.direct_lashing_force_against_sliding,
        f"{AGAINST_SLIDING} ratio angle angle count",
        "force",
    ),
    Formula(en_12195_1.leg_righting_moment, "force cosine cosine length length", "moment"),
    Formula(en_12195_1.direct_lashing_righting_moment, "force angle angle length length", "moment"),
    Formula(
        en_12195_1.direct_lashing_force_against_tilting,
        f"{AGAINST_TILTING} angle angle length length count",
        "force",
    ),
    Formula(en_12195_1.loop_pairs_against_sliding, f"{AGAINST_SLIDING} ratio force angle", "count"),
    Formula(en_12195_1.springs_against_sliding, f"{AGAINST_SLIDING} ratio force angle", "count"),
    Formula(en_12195_1.opposed_lashings, "force force", "force force"),
    Formula(en_12195_1.inclination_for_test, "ratio ratio ratio", "angle"),
    Formula(
        en_12195_1_2003.friction_lashings_against_sliding,
        f"{AGAINST_SLIDING} force angle ratio",
        "count",
    ),
    Formula(vdi_2700.pretension_needed, "force ratio ratio angle ratio", "force"),
    Formula(ctu_code.tight_stow_restraint, "force ratio ratio ratio force force", "force"),
    Formula(ctu_code.dunnage_bag_force_from_sliding, f"{AGAINST_SLIDING} ratio", "force"),
    Formula(ctu_code.dunnage_bag_force_from_tipping, AGAINST_TILTING, "force"),
    Formula(css_code.calculated_strength, "force ratio", "force"),
    Formula(css_code.lashing_effects, "ratio angle angle", "ratio ratio"),
    Formula(spread(css_code.transverse_capacity, 2, 2), "force ratio force force", "force"),
    Formula(
        spread(css_code.longitudinal_capacity, 2, 2),
        "force ratio force force force ratio",
        "force",
    ),
    Formula(spread(css_code.righting_moment, 2, 2), "force length moment moment ratio", "moment"),
    *QUICK_GUIDE,
    Formula(australia.angle_effect, "length length", "ratio"),
    Formula(australia.lashing_capacity_needed, "force ratio ratio count", "force"),
    Formula(australia.tie_downs_needed, "force ratio ratio force angle", "count"),
    Formula(north_america.counted_working_load_limit, "force count ratio", "force"),
    Formula(north_america.fewest_tiedowns, "length force yes length force length", "count"),
    Formula(new_zealand.strength_needed_per_tiedown, "force ratio count", "force"),
    Formula(maximum_securing_load, "force", "force"),
    Formula(spread(friction.design_friction, 0, 3), "ratio ratio ratio ratio ratio", "ratio"),
    Formula(static_friction, "yes", "ratio"),
]

# A number of their source ties these to one unit.
TIED_TO_A_UNIT = [
    Formula(css_code.outer_force, "force ratio ratio force force", "force"),
    Formula(ctu_code.batten_strength, "count length length length", "payload"),
    Formula(wall_strength, "payload", "force"),
    Formula(vehicle_body.lashing_point_strength, "payload", "force"),
]


def name_of(formula: Formula) -> str:
    return formula.function.__name__


def flat(result: object) -> list[object]:
    if isinstance(result, tuple):
        return [single for part in result for single in flat(part)]
    return [result]


def columns(takes: str, seed: int) -> list[Column]:
    """A hundred rows of random arguments, one column for each."""
    rng = np.random.default_rng(seed)
    # Few decimals, so that limits are met exactly now and then.
    decimals = {"count": 0, "yes": 0, "force": 0, "payload": 0}
    return [random_column(rng, *KINDS[kind][1], decimals.get(kind, 2)) for kind in takes.split()]


def put(row: list[Column], place: int, value: object) -> list[object]:
    """The arguments with another one at a place."""
    return [*row[:place], value, *row[place + 1 :]]


def same(left: object, right: object) -> np.ndarray:
    return np.isclose(left, right, rtol=1e-7, atol=1e-7, equal_nan=True)


every_formula = pytest.mark.parametrize("formula", [*FORMULAS, *TIED_TO_A_UNIT], ids=name_of)


def test_every_public_function_stands_in_the_list() -> None:
    public = sorted(
        name
        for module in MODULES
        for name, function in inspect.getmembers(module, inspect.isfunction)
        if function.__module__ == module.__name__ and not name.startswith("_")
    )
    assert sorted(name_of(formula) for formula in [*FORMULAS, *TIED_TO_A_UNIT]) == public


@every_formula
@law
def test_an_array_gives_row_by_row_what_single_values_give(formula: Formula, seed: int) -> None:
    arguments = np.array(columns(formula.takes, seed))
    # In each argument something is not stated in one row.
    arguments[range(len(arguments)), range(len(arguments))] = math.nan
    together = flat(formula.function(*arguments))
    alone = [flat(formula.function(*row)) for row in arguments.T.tolist()]
    assert all(isinstance(single, float) for row in alone for single in row)
    assert all(len(row) == len(formula.gives.split()) for row in alone)
    for column, singles in zip(together, zip(*alone, strict=True), strict=True):
        assert same(column, singles).all()


@every_formula
@law
def test_a_result_that_depends_on_something_not_stated_is_not_known(
    formula: Formula, seed: int
) -> None:
    row, other = columns(formula.takes, seed), columns(formula.takes, seed + 1)
    stated = flat(formula.function(*row))
    for place, value in enumerate(other):
        changed = flat(formula.function(*put(row, place, value)))
        unknown = flat(formula.function(*put(row, place, math.nan * value)))
        for before, after, without in zip(stated, changed, unknown, strict=True):
            assert (np.isnan(without) | same(before, after)).all()


@pytest.mark.parametrize("formula", FORMULAS, ids=name_of)
@law
def test_no_formula_prefers_a_unit(formula: Formula, seed: int) -> None:
    """Weights and lengths in any other units give the same answer in those units."""
    powers = np.random.default_rng(seed).uniform(-3.0, 3.0, (2, ROWS))

    def factor(kind: str) -> Column:
        return np.exp(np.array(KINDS[kind][0]) @ powers)

    row = columns(formula.takes, seed)
    scaled = [value * factor(kind) for value, kind in zip(row, formula.takes.split(), strict=True)]
    before, after = flat(formula.function(*row)), flat(formula.function(*scaled))
    for kind, old, new in zip(formula.gives.split(), before, after, strict=True):
        assert same(old, new / factor(kind)).all()


# --- which way each argument moves the number of lashings or the force needed --------------------

UP, DOWN = 1.0, -1.0

# Per function: argument place and the direction the answer may move when that argument grows.
MOVES: dict[str, dict[str, float]] = {
    "blocking_capacity_needed": {
        "weight": UP,
        "coefficient": UP,
        "vertical_coefficient": DOWN,
        "friction": DOWN,
    },
    "en_12195_1.friction_lashings_against_sliding": {
        "weight": UP,
        "coefficient": UP,
        "vertical_coefficient": DOWN,
        "friction": DOWN,
        "pretension": DOWN,
        "safety_factor": UP,
        "blocking_capacity": DOWN,
    },
    "friction_lashings_against_tilting": {
        "weight": UP,
        "coefficient": UP,
        "cg_height": UP,
        "lever": DOWN,
        "lashing_lever": DOWN,
        "pretension": DOWN,
        "safety_factor": UP,
    },
    "friction_lashings_for_rows": {"weight": UP, "rows": UP, "height_to_width": UP},
    "direct_lashing_force_against_sliding": {
        "weight": UP,
        "coefficient": UP,
        "friction": DOWN,
        "conversion": DOWN,
        "plan_angle": UP,
        "lashings": DOWN,
    },
    "direct_lashing_force_against_tilting": {
        "weight": UP,
        "cg_height": UP,
        "lever": DOWN,
        "height": DOWN,
        "lashing_lever": DOWN,
        "lashings": DOWN,
    },
    "loop_pairs_against_sliding": {"weight": UP, "friction": DOWN, "lashing_capacity": DOWN},
    "en_12195_1.springs_against_sliding": {
        "weight": UP,
        "friction": DOWN,
        "lashing_capacity": DOWN,
    },
    "en_12195_1_2003.friction_lashings_against_sliding": {
        "weight": UP,
        "sliding_friction": DOWN,
        "transmission": DOWN,
    },
    "pretension_needed": {"weight": UP, "sliding_friction": DOWN, "transmission": DOWN},
    "tie_downs_needed": {"weight": UP, "friction": DOWN, "pretension": DOWN, "angle": DOWN},
    "lashing_capacity_needed": {"weight": UP, "effect": DOWN, "lashings": DOWN},
    "fewest_tiedowns": {"length": UP, "weight": UP, "step_length": DOWN},
    "dunnage_bag_force_from_sliding": {"weight": UP, "friction": DOWN, "conversion": DOWN},
    "dunnage_bag_force_from_tipping": {"weight": UP, "base": DOWN, "height": UP},
    "inclination_for_test": {"coefficient": UP},
}


def formula_called(name: str) -> Formula:
    module, _, function = name.rpartition(".")
    return next(
        formula
        for formula in FORMULAS
        if name_of(formula) == function
        and (not module or formula.function.__module__.endswith(f".{module}"))
    )


@pytest.mark.parametrize(
    ("name", "argument"), [(name, argument) for name in MOVES for argument in MOVES[name]]
)
@law
def test_more_of_it_moves_the_need_only_one_way(name: str, argument: str, seed: int) -> None:
    formula = formula_called(name)
    row = columns(formula.takes, seed)
    place = list(inspect.signature(formula.function).parameters).index(argument)
    if name == "fewest_tiedowns":  # an article is not short beyond the first step
        row[3] = np.minimum(row[3], row[5])
    other = columns(formula.takes, seed + 1)[place]
    low, high = np.minimum(row[place], other), np.maximum(row[place], other)
    if name == "fewest_tiedowns" and argument == "step_length":
        low, high = np.maximum(low, row[3]), np.maximum(high, row[3])
    less = formula.function(*put(row, place, low))
    more = formula.function(*put(row, place, high))
    unknown = np.isnan(less) | np.isnan(more)
    assert name == "inclination_for_test" or not unknown.any()  # only a tilt can be impossible here
    rounding = 1e-9 * np.maximum(np.abs(less), np.abs(more))
    assert (unknown | (MOVES[name][argument] * (more - less) >= -rounding)).all()


@law
def test_another_lashing_over_an_article_never_hurts(seed: int) -> None:
    """Enough lashings stay enough when some are added: the rest to hold only shrinks."""
    row = columns("force ratio ratio ratio force angle ratio force", seed)
    weight, c, c_z, mu, pretension, angle, f_s, blocking = row
    one = en_12195_1.friction_lashing_effect(mu, pretension, angle) / f_s
    needed = en_12195_1.blocking_capacity_needed(weight, c, c_z, mu) - blocking
    for more in range(1, 6):
        assert (needed - (1 + more) * one <= needed - one).all()
    number = en_12195_1.friction_lashings_against_sliding(*row)
    # Holding with exactly that number leaves nothing: the count and the force say the same.
    left = needed - number * one
    assert (left <= 1e-6 * weight).all()
    assert ((number == 0) | (left >= -1e-6 * weight)).all()
    assert 10 < (number == 0).sum() < 90


@law
def test_a_direct_lashing_that_slackens_holds_nothing(seed: int) -> None:
    force, along, down, mu, conversion = columns("force cosine cosine ratio ratio", seed)
    effect = en_12195_1.direct_lashing_effect(force, -np.abs(along), down, mu, conversion)
    assert (effect == 0.0).all()


@law
def test_coordinates_and_angles_say_the_same_of_direct_lashings(seed: int) -> None:
    row = columns("force ratio ratio ratio ratio angle angle count", seed)
    weight, c, c_z, mu, conversion, angle, plan_angle, lashings = row
    force = en_12195_1.direct_lashing_force_against_sliding(*row)
    along, down = np.cos(angle) * np.cos(plan_angle), np.sin(angle)
    one = en_12195_1.direct_lashing_effect(force, along, down, mu, conversion)
    demand_left = demand.force_not_held(weight, c, c_z, conversion * mu)
    assert lashings * one == pytest.approx(demand_left, rel=1e-9, abs=1e-9)


@law
def test_one_row_is_an_article_by_itself(seed: int) -> None:
    """Rows of one, centre of gravity in the middle, equal the tilting of a single article."""
    row = columns("force ratio ratio length length force angle ratio", seed)
    weight, c, c_z, height, width, pretension, angle, f_s = row
    alone = en_12195_1.friction_lashings_against_tilting(
        weight, c, c_z, height / 2, width / 2, width, pretension, angle, f_s
    )
    rows = en_12195_1.friction_lashings_for_rows(
        weight, c, c_z, 1.0, height / width, pretension, angle, f_s
    )
    assert alone == pytest.approx(rows, rel=1e-9, abs=1e-9)


@law
def test_the_two_older_sums_for_lashings_over_an_article_agree(seed: int) -> None:
    """VDI asks for all the pretension, EN 2003 for how many lashings of one pretension."""
    *row, pretension = columns("force ratio ratio angle ratio force", seed)
    weight, c, mu, angle, k = row
    number = en_12195_1_2003.friction_lashings_against_sliding(
        weight, c, 1.0, mu, pretension, angle, k
    )
    assert vdi_2700.pretension_needed(*row) == pytest.approx(number * pretension)


@law
def test_opposed_lashings_hold_the_outer_force_between_them(seed: int) -> None:
    pretension, force = columns("force force", seed)
    loaded, slack = en_12195_1.opposed_lashings(pretension, force)
    assert loaded - slack == pytest.approx(force)
    assert (slack >= 0.0).all()
    # While both pull, what the one gains the other loses.
    pulls = slack > 0.0
    assert 10 < pulls.sum() < 90
    assert (loaded + slack)[pulls] == pytest.approx(2 * pretension[pulls])


@law
def test_the_tilted_deck_asks_as_much_as_the_acceleration(seed: int) -> None:
    """Put back into the equation it solves: sin a - gamma cos a = c - gamma c_z."""
    c, c_z, gamma = columns("ratio ratio ratio", seed)
    angle = en_12195_1.inclination_for_test(c, c_z, gamma)
    asked, impossible = c - gamma * c_z, np.isnan(angle)
    assert (asked > np.hypot(1.0, gamma))[impossible].all()
    tilted = np.sin(angle) - gamma * np.cos(angle)
    assert tilted[~impossible] == pytest.approx(asked[~impossible], abs=1e-9)


@pytest.mark.parametrize("formula", QUICK_GUIDE, ids=name_of)
@law
def test_another_mode_of_transport_never_needs_fewer_lashings(formula: Formula, seed: int) -> None:
    weight, c, c_z, other, other_z, *rest = columns(formula.takes, seed)
    both = formula.function(weight, c, c_z, other, other_z, *rest)
    alone = [formula.function(weight, *mode, *mode, *rest) for mode in ((c, c_z), (other, other_z))]
    assert (both == np.maximum(*alone)).all()
