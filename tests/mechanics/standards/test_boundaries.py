"""Edges: where nothing is left to hold, where nothing holds, and both sides of each table line."""

import math

import numpy as np
import pytest

from checker.mechanics.standards import (
    australia,
    ctu_code,
    en_12195_1,
    en_12195_1_2003,
    new_zealand,
    vdi_2700,
)
from checker.mechanics.standards.css_code import SECURING_LOADS, maximum_securing_load
from checker.mechanics.standards.demand import force_not_held, moment_not_held, number_needed
from checker.mechanics.standards.friction import (
    CTU_CODE_FRICTION,
    design_friction,
    static_friction,
)
from checker.mechanics.standards.north_america import fewest_tiedowns
from checker.mechanics.standards.vehicle_body import (
    BODY_WALLS,
    lashing_point_strength,
    wall_strength,
)

KG = 9.80665  # N
NAN = math.nan
UPRIGHT = math.pi / 2
THREE_FOUR_FIVE = math.atan2(3, 4)  # sine 0.6, cosine 0.8

# --- stability -----------------------------------------------------------------------------------


@pytest.mark.parametrize(("lever", "stands"), [(0.499, 0.0), (0.5, 0.0), (0.501, 1.0)])
def test_equal_levers_tilt(lever: float, stands: float) -> None:
    """EN 12195-1 5.2: b / d above c / c_z, hand-calculated: 0.5 / 1.0 against 0.5 / 1.0."""
    assert en_12195_1.stable_against_tilting(lever, 1.0, 0.5, 1.0) == stands


@pytest.mark.parametrize(("mu", "stands"), [(0.499, 0.0), (0.5, 1.0), (0.501, 1.0)])
def test_equal_friction_holds(mu: float, stands: float) -> None:
    """EN 12195-1 5.2: mu * c_z at least c."""
    assert en_12195_1.stable_against_sliding(mu, 0.5, 1.0) == stands
    assert (force_not_held(1e4, 0.5, 1.0, mu) == 0.0) == bool(stands)


@pytest.mark.parametrize(("resistance", "stands"), [(0.79, 0.0), (0.8, None), (0.81, 1.0)])
def test_a_reduced_downward_acceleration_asks_for_more(
    resistance: float, stands: float | None
) -> None:
    """Hand-calculated: c 0.4 and c_z 0.5 want 0.8 of b / d and of friction, not 0.2 or 0.4."""
    tilts = en_12195_1.stable_against_tilting(2 * resistance, 2.0, 0.4, 0.5)
    slides = en_12195_1.stable_against_sliding(resistance, 0.4, 0.5)
    at_the_edge = (0.0, 1.0)
    assert (tilts, slides) == (at_the_edge if stands is None else (stands, stands))


def test_friction_equal_but_for_rounding_leaves_nothing_to_hold() -> None:
    """3 * 0.1 is 0.30000000000000004 in floats."""
    assert force_not_held(1e4, 0.1 * 3, 1.0, 0.3) == 0.0
    assert moment_not_held(1e4, 0.1 * 3, 1.0, 1.0, 0.3) == 0.0


def test_a_moment_at_just_below_and_just_above_nothing() -> None:
    """Hand-calculated: 10 kN, c 0.5, height 1 m, so a lever of 0.5 m is the edge."""
    levers = np.array([0.4, 0.5, 0.6])
    assert moment_not_held(1e4, 0.5, 1.0, 1.0, levers) == pytest.approx([1000.0, 0.0, 0.0])


# --- nothing left to hold, nothing that holds ----------------------------------------------------


def test_where_nothing_is_left_to_hold_no_lashing_need_be_known() -> None:
    assert number_needed(0.0, NAN) == 0.0
    assert number_needed(0.0, 0.0) == 0.0


def test_where_a_lashing_holds_nothing_no_number_will_do() -> None:
    assert math.isnan(number_needed(10.0, 0.0))
    # A lashing that pulls the wrong way must not come out as a small number.
    assert math.isnan(number_needed(10.0, -5.0))


def test_a_need_not_known_is_not_nothing() -> None:
    assert math.isnan(number_needed(NAN, 5.0))
    assert math.isnan(force_not_held(NAN, 0.8, 1.0, 0.3))
    assert math.isnan(force_not_held(1e4, 0.8, 1.0, NAN))


def test_slack_ropes_and_ice() -> None:
    """No friction or no pretension: lashings over the article do nothing."""
    for mu, pretension, angle in [(0.0, 4e3, UPRIGHT), (0.3, 0.0, UPRIGHT), (0.3, 4e3, 0.0)]:
        assert math.isnan(
            en_12195_1.friction_lashings_against_sliding(
                1e4, 0.8, 1.0, mu, pretension, angle, 1.25, 0.0
            )
        )


@pytest.mark.parametrize(("blocking", "lashings"), [(4999.0, 1 / 2000), (5000.0, 0.0), (6e3, 0.0)])
def test_blocking_that_holds_it_all_needs_no_lashing(blocking: float, lashings: float) -> None:
    """Hand-calculated: (0.8 - 0.3) * 10 kN is 5 kN; a lashing holds 2 * 0.3 * 10/3 kN = 2 kN."""
    number = en_12195_1.friction_lashings_against_sliding(
        1e4, 0.8, 1.0, 0.3, 1e4 / 3, UPRIGHT, 1.0, blocking
    )
    assert number == pytest.approx(lashings, abs=1e-12)


def test_square_to_the_movement_a_direct_lashing_holds_nothing() -> None:
    """cos(90 degrees) is 6e-17 in floats; counted, its pressure would hold mu * F."""
    assert en_12195_1.direct_lashing_effect(1e4, math.cos(UPRIGHT), 0.5, 0.3, 0.75) == 0.0
    # Hand-calculated: 10 kN * (0.1 + 0.75 * 0.4 * 0.5) = 2.5 kN.
    assert en_12195_1.direct_lashing_effect(1e4, 0.1, 0.5, 0.4, 0.75) == pytest.approx(2500.0)
    assert math.isnan(
        en_12195_1.direct_lashing_force_against_sliding(1e4, 0.8, 1.0, 0.3, 0.75, 0.5, UPRIGHT, 2.0)
    )


def test_a_lashing_that_helps_the_article_over_holds_no_moment() -> None:
    """Pulling with the movement at 45 degrees, attached 2 m up and 1 m from the edge."""
    down, along = math.radians(45), math.pi
    assert en_12195_1.direct_lashing_righting_moment(1e4, down, along, 1.0, 2.0) == 0.0
    # Hand-calculated: with the lever longer than the height it still rights, 10 kN * 1 m / sqrt 2.
    assert en_12195_1.direct_lashing_righting_moment(1e4, down, along, 3.0, 2.0) == pytest.approx(
        1e4 / math.sqrt(2)
    )


def test_half_loops_and_springs_at_a_slant() -> None:
    """Hand-calculated: (0.5 - 0.75 * 0.4 * 0.5) * 10 kN is 3.5 kN.

    A pair of half-loops of 1 kN holds 1 + 0.8 + 0.3 * 0.6 = 1.98 kN, a spring
    2 * (0.8 + 0.3 * 0.6) = 1.96 kN.
    """
    cargo = (1e4, 0.5, 0.5, 0.4, 0.75, 1e3, THREE_FOUR_FIVE)
    assert en_12195_1.loop_pairs_against_sliding(*cargo) == pytest.approx(3.5 / 1.98)
    assert en_12195_1.springs_against_sliding(*cargo) == pytest.approx(3.5 / 1.96)


@pytest.mark.parametrize(
    ("force", "loaded", "slack"),
    [(0.0, 20.0, 20.0), (39.0, 39.5, 0.5), (40.0, 40.0, 0.0), (41.0, 41.0, 0.0)],
)
def test_opposed_lashings_until_one_goes_slack(force: float, loaded: float, slack: float) -> None:
    """Hand-calculated: pretension 20, slack from an outer force of 40 on."""
    assert en_12195_1.opposed_lashings(20.0, force) == (loaded, slack)


def test_a_tilted_deck_for_a_reduced_downward_acceleration() -> None:
    """Hand-calculated: sin a - 0.75 cos a is 0.6 - 0.6 = 0 at 3-4-5, as 0.375 - 0.75 * 0.5 is."""
    angle = en_12195_1.inclination_for_test(0.375, 0.5, 0.75)
    assert angle == pytest.approx(THREE_FOUR_FIVE)


def test_no_deck_can_be_tilted_as_hard_as_more_than_its_own_weight() -> None:
    """Frictionless, 1 g sideways is an upright deck, and 1.001 g is out of reach."""
    assert en_12195_1.inclination_for_test(1.0, 1.0, 0.0) == pytest.approx(UPRIGHT)
    assert math.isnan(en_12195_1.inclination_for_test(1.001, 1.0, 0.0))


# --- other texts ---------------------------------------------------------------------------------


def test_pretension_of_the_older_german_sum() -> None:
    """Hand-calculated: (0.8 - 0.2) * 10 kN / (0.2 * 0.6 * 1.5) = 100/3 kN."""
    answer = vdi_2700.pretension_needed(1e4, 0.8, 0.2, THREE_FOUR_FIVE, 1.5)
    assert answer == pytest.approx(1e5 / 3)
    assert vdi_2700.pretension_needed(1e4, 0.5, 0.5, UPRIGHT, 1.5) == 0.0


def test_lashings_of_the_2003_edition_with_reduced_downward_acceleration() -> None:
    """Hand-calculated: (0.5 - 0.2 * 0.5) * 10 kN / (2 * 0.2 * 5 kN) = 2."""
    number = en_12195_1_2003.friction_lashings_against_sliding(
        1e4, 0.5, 0.5, 0.2, 5e3, UPRIGHT, 2.0
    )
    assert number == pytest.approx(2.0)


def test_an_australian_lashing_square_to_the_movement_has_no_capacity_that_will_do() -> None:
    assert math.isnan(australia.lashing_capacity_needed(1e4, 0.8, 0.0, 2.0))
    assert math.isnan(australia.angle_effect(1.0, 0.0))


def test_no_tiedown_at_all_is_not_a_rating_of_nothing() -> None:
    assert math.isnan(new_zealand.strength_needed_per_tiedown(1e4, 2.0, 0.0))


@pytest.mark.parametrize(("base", "force"), [(0.9, 0.0), (0.8, 0.0), (0.7, 1000.0)])
def test_a_broad_package_does_not_lean_on_the_bag(base: float, force: float) -> None:
    """Hand-calculated: (0.8 - base / 1 m) * 10 kN."""
    answer = ctu_code.dunnage_bag_force_from_tipping(1e4, 0.8, 1.0, base, 1.0)
    assert answer == pytest.approx(force)


def test_a_package_at_sea_leans_more() -> None:
    """Hand-calculated: (0.3 - 0.5 * 0.4) * 10 kN = 1 kN."""
    answer = ctu_code.dunnage_bag_force_from_tipping(1e4, 0.3, 0.4, 0.5, 1.0)
    assert answer == pytest.approx(1000.0)


def test_battens_as_printed_in_centimetres() -> None:
    """Hand-calculated: 7 * (2 cm)^2 * 10 cm / (28 * 1 m) is 10 kN; half for twice the length."""
    forces = ctu_code.batten_strength(7.0, 0.02, 0.10, np.array([1.0, 2.0, 0.0]))
    assert forces == pytest.approx([10_000.0, 5000.0, NAN], nan_ok=True)


def test_a_package_without_height_is_not_known_to_stand() -> None:
    assert math.isnan(ctu_code.dunnage_bag_force_from_tipping(1e4, 0.8, 1.0, 1.0, 0.0))


# NSC Standard 10 section 22 (content from memory): 1.52 m, 500 kg, 3.04 m.
@pytest.mark.parametrize(
    ("length", "kilograms", "blocked", "fewest"),
    [
        (1.51, 500.0, 0.0, 1.0),
        (1.52, 500.0, 0.0, 1.0),
        (1.53, 500.0, 0.0, 2.0),
        (1.52, 499.0, 0.0, 1.0),
        (1.52, 501.0, 0.0, 2.0),
        (3.03, 900.0, 0.0, 2.0),
        (3.04, 900.0, 0.0, 2.0),
        (3.05, 900.0, 0.0, 3.0),
        (6.08, 900.0, 0.0, 3.0),
        (6.09, 900.0, 0.0, 4.0),
        (9.12, 900.0, 0.0, 4.0),
        (0.50, 100.0, 1.0, 1.0),
        (3.04, 900.0, 1.0, 1.0),
        (3.05, 900.0, 1.0, 2.0),
        (9.12, 900.0, 1.0, 3.0),
        (9.13, 900.0, 1.0, 4.0),
        # What does not matter need not be stated; what does, must.
        (3.05, NAN, 0.0, 3.0),
        (1.50, NAN, 0.0, NAN),
        (1.50, NAN, 1.0, 1.0),
        (NAN, 900.0, 0.0, NAN),
        (NAN, 900.0, 1.0, NAN),
        (3.05, 900.0, NAN, NAN),
    ],
)
def test_edges_of_the_fewest_tiedowns(
    length: float, kilograms: float, blocked: float, fewest: float
) -> None:
    number = fewest_tiedowns(length, KG * kilograms, blocked, 1.52, KG * 500, 3.04)
    assert number == pytest.approx(fewest, nan_ok=True)


# --- tables --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("tonnes", "kilonewtons"),
    [
        (3.499, NAN),
        (3.5, NAN),
        (3.501, 8.0),
        (7.499, 8.0),
        (7.5, 8.0),
        (7.501, 10.0),
        (12.0, 10.0),
        (12.001, 20.0),
        (60.0, 20.0),
        (NAN, NAN),
    ],
)
def test_edges_of_the_lashing_point_table(tonnes: float, kilonewtons: float) -> None:
    """EN 12640, from memory: above 3.5 t 8 kN, above 7.5 t 10 kN, above 12 t 20 kN."""
    strength = lashing_point_strength(1000 * KG * tonnes) / 1000
    assert strength == pytest.approx(kilonewtons, nan_ok=True)


# EN 12642, from memory: code, wall, strength for a payload of 100 kN, the most it bears.
WALLS = [
    ("L", "front", 40.0, 50.0),
    ("L", "rear", 25.0, 31.0),
    ("L", "side", 30.0, math.inf),
    ("XL", "front", 50.0, math.inf),
    ("XL", "rear", 30.0, math.inf),
    ("XL", "side", 40.0, math.inf),
]


@pytest.mark.parametrize(("code", "wall", "strength", "most"), WALLS)
def test_each_wall_of_a_body(code: str, wall: str, strength: float, most: float) -> None:
    assert wall_strength(code, wall, 1e5) == pytest.approx(1e3 * strength)
    # Ten times the payload: ten times the strength, up to the cap where there is one.
    assert wall_strength(code, wall, 1e6) == pytest.approx(1e3 * min(10 * strength, most))


def test_no_wall_is_missing_here() -> None:
    assert [(wall.code, wall.wall) for wall in BODY_WALLS] == [wall[:2] for wall in WALLS]


def test_the_cap_of_a_front_wall_at_just_below_and_just_above() -> None:
    """Hand-calculated: 0.4 of 125 kN is 50 kN."""
    strengths = wall_strength("L", "front", np.array([124.0, 125.0, 126.0]) * 1e3)
    assert strengths == pytest.approx([49_600.0, 50_000.0, 50_000.0])


def test_the_table_of_securing_loads() -> None:
    """CSS Code Annex 13 section 4 Table 1, percent of breaking strength in the print's order."""
    printed = [50, 33, 50, 80, 30, 70, 50]
    found = [maximum_securing_load(line.device, 100.0) for line in SECURING_LOADS]
    assert found == pytest.approx(printed)


# CTU Code Annex 7 Appendix 2, percent, dry then wet, in the print's order; None where not printed.
PRINTED_FRICTION = [
    (45, 45),
    (40, 40),
    (30, 30),
    (30, 30),
    (30, 30),
    (25, 25),
    (20, 20),
    (20, 20),
    (15, 15),
    (15, 15),
    (50, None),
    (50, None),
    (40, None),
    (40, None),
    (30, None),
    (20, None),
    (20, None),
    (45, 45),
    (30, 30),
    (20, 20),
    (70, 70),
    (55, 55),
    (60, 60),
]


def test_the_table_of_friction_in_either_order_of_the_surfaces() -> None:
    for pair, printed in zip(CTU_CODE_FRICTION, PRINTED_FRICTION, strict=True):
        for one, other in ((pair.one, pair.other), (pair.other, pair.one)):
            found = static_friction(one, other, np.array([0.0, 1.0, NAN]))
            expected = [NAN if percent is None else percent / 100 for percent in (*printed, None)]
            assert found == pytest.approx(expected, nan_ok=True)


def test_no_pair_of_surfaces_stands_twice() -> None:
    pairs = {frozenset((pair.one, pair.other)) for pair in CTU_CODE_FRICTION}
    assert len(pairs) == len(CTU_CODE_FRICTION)


def test_the_last_two_lines_are_marked_as_remembered() -> None:
    statuses = [pair.status for pair in CTU_CODE_FRICTION]
    assert statuses == ["text seen"] * 21 + ["from memory"] * 2


def test_a_pair_the_table_does_not_have_is_not_known() -> None:
    """A rubber tyre on steel or wood stands in no line."""
    assert math.isnan(static_friction("rubber tyre", "steel deck", 0.0))
    assert np.isnan(static_friction("rubber tyre", "steel deck", np.array([0.0, 1.0]))).all()


@pytest.mark.parametrize(("mu", "counted"), [(0.29, 0.29), (0.30, 0.30), (0.31, 0.30)])
def test_a_ceiling_on_friction_at_just_below_and_just_above(mu: float, counted: float) -> None:
    assert design_friction([mu, 0.6], 0.3, 1.0) == counted


def test_one_joint_not_known_leaves_the_stack_not_known() -> None:
    assert math.isnan(design_friction([0.3, NAN], math.inf, 0.75))
    assert math.isnan(design_friction([0.3], NAN, 0.75))
