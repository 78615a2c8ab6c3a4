"""Limit analysis against closed forms, the standards' sums and the boundaries between motions.

Origins. "By hand": the balance of forces or moments written beside the test. Cases `intl-...`:
tests/reference/international-cases.yaml, which names source and status of each; they work with
g = 9.81 m/s2 and with friction already multiplied by their conversion factor.
"""

import math
import re
import subprocess
import sys

import numpy as np
import pytest
from msgspec.structs import replace

from checker.mechanics.restraint.held_set import (
    FORWARD,
    LEFT,
    REARWARD,
    RIGHT,
    UP,
    HeldSet,
    heading,
)
from tests.mechanics.articles import Block, Body, Contact, Pull, Tiedown, stack
from tests.mechanics.one_body import compass, largest_acceleration, largest_accelerations
from tests.published import published_cases

CASES = published_cases("international-cases")

W = 10_000.0  # N, the article unless a case brings its own
NEAR = 1e-9


def wheels(length=4.0, width=3.0, friction=0.5, centre=(0.0, 0.0)):
    """Four contacts on the deck, named by where they are."""
    return tuple(
        Contact(f"{end} {side}", (centre[0] + x, centre[1] + y, 0.0), friction)
        for end, x in (("front", -length / 2), ("rear", length / 2))
        for side, y in (("left", width / 2), ("right", -width / 2))
    )


def tiedown(name, limit, point, direction):
    length = math.hypot(*direction)
    return Tiedown(name, limit, (Pull(point, tuple(part / length for part in direction)),))


def holding_back(limit, *, up, plan, height=0.0, ahead=0.0, count=2):
    """Tiedowns that pull rearward and down, in pairs left and right, angles in degrees.

    They hold at `ahead` m in front of the centre of gravity and `height` m above the deck.
    """
    up, plan = math.radians(up), math.radians(plan)
    return tuple(
        tiedown(
            f"{side} {number}",
            limit,
            (-ahead, y, height),
            (math.cos(up) * math.cos(plan), y * math.cos(up) * math.sin(plan), -math.sin(up)),
        )
        for number in range(count // 2)
        for side, y in (("left", 1.0), ("right", -1.0))
    )


def low_body(**parts):
    """An article with its centre of gravity on the deck: it slides before it tips."""
    return Body(W, (0.0, 0.0, 0.0), **parts)


def of_case(case_id):
    """Split a case into its given and expected numbers in kN, t, m, degrees; words dropped."""
    case = CASES[case_id]
    numbers = {}
    for name, text in {**case["given"], **case["expect"]}.items():
        if isinstance(text, str) and text.split()[0].replace(".", "").replace("-", "").isdigit():
            numbers[name] = float(text.split()[0])
    return numbers


def newtons(tonnes):
    return tonnes * 1000.0 * 9.81


# --- closed forms -------------------------------------------------------------------------------


@pytest.mark.parametrize("direction", [FORWARD, REARWARD, LEFT, RIGHT])
def test_friction_alone_holds_its_coefficient(direction):
    # By hand: mu * W = a * W.
    held = largest_acceleration(low_body(contacts=wheels(friction=0.35)), direction)
    assert held.acceleration_g == pytest.approx(0.35, abs=NEAR)
    assert held.governs.kind == held.governs.motion == "sliding"
    assert held.governs.tiedowns == held.governs.blocks == ()


def test_pyramid_loses_most_midway_between_two_edges_and_nothing_on_them():
    # By hand: a 16-sided pyramid inside the cone has cos(pi/16) of it midway between edges.
    body = low_body(contacts=wheels(friction=0.4))
    edge, midway = largest_accelerations(body, [heading(math.pi / 8), heading(math.pi / 16)])
    assert edge == pytest.approx(0.4, abs=NEAR)
    assert midway == pytest.approx(0.4 * math.cos(math.pi / 16), abs=NEAR)


def test_without_friction_nothing_holds_an_untied_article():
    held = largest_acceleration(low_body(contacts=wheels()), FORWARD, friction=False)
    assert held.acceleration_g == pytest.approx(0.0, abs=NEAR)
    assert held.governs.kind == "sliding"
    assert held.frictions == ((0.0, 0.0),) * 4


@pytest.mark.parametrize(
    ("friction", "motion"), [(0.4999, "sliding"), (0.5, "sliding"), (0.5001, "tipping")]
)
def test_article_tips_once_friction_exceeds_its_stance_over_height(friction, motion):
    # By hand, I-5: tips over the front edge 1 m ahead at a = b/d = 1.0/2.0.
    body = Body(W, (0.0, 0.0, 2.0), contacts=wheels(length=2.0, friction=friction))
    held = largest_acceleration(body, FORWARD)
    assert held.acceleration_g == pytest.approx(min(friction, 0.5), abs=NEAR)
    assert held.governs.kind == motion
    if motion == "tipping":
        assert held.governs.carrying == ("front left", "front right")


def test_tipping_edge_is_where_the_article_goes():
    body = Body(W, (0.2, 0.0, 2.0), contacts=wheels(length=2.0, friction=5.0))
    forward, rearward = (largest_acceleration(body, way) for way in (FORWARD, REARWARD))
    # By hand: levers of the centre of gravity to the front and rear edge over its height.
    assert forward.acceleration_g == pytest.approx(1.2 / 2.0, abs=NEAR)
    assert rearward.acceleration_g == pytest.approx(0.8 / 2.0, abs=NEAR)
    assert rearward.governs.carrying == ("rear left", "rear right")


def test_standing_free_an_article_leaves_the_deck_at_one_g_upward():
    held = largest_acceleration(low_body(contacts=wheels()), UP)
    assert held.acceleration_g == pytest.approx(1.0, abs=NEAR)
    assert held.governs.kind == "lifting"
    assert held.governs.carrying == ()


def test_vertical_tiedowns_hold_it_down():
    # By hand: a * W = W + 4 * 1500.
    straps = tuple(
        tiedown(f"corner {x} {y}", 1500.0, (x, y, 1.0), (0.0, 0.0, -1.0))
        for x in (-1.0, 1.0)
        for y in (-1.0, 1.0)
    )
    held = largest_acceleration(low_body(contacts=wheels(), tiedowns=straps), UP)
    assert held.acceleration_g == pytest.approx(1.6, abs=NEAR)
    assert held.governs.kind == "tiedown full"
    assert held.governs.motion == "lifting"
    assert held.governs.tiedowns == tuple(strap.name for strap in straps)


@pytest.mark.parametrize("plan", [0.0, 20.0, 45.0, 70.0])
def test_flat_pair_at_an_angle_in_plan(plan):
    # By hand: both full, a * W = 2 * 3000 * cos(plan); the sideways parts cancel.
    body = low_body(contacts=wheels(), tiedowns=holding_back(3000.0, up=0.0, plan=plan))
    held = largest_acceleration(body, FORWARD, friction=False)
    assert held.acceleration_g == pytest.approx(0.6 * math.cos(math.radians(plan)), abs=NEAR)
    assert held.tensions == pytest.approx((3000.0, 3000.0))
    assert held.governs.kind == "tiedown full"
    assert held.governs.motion == "sliding"
    assert held.governs.tiedowns == ("left 0", "right 0")


def test_tiedowns_do_nothing_the_way_they_slacken():
    body = low_body(contacts=wheels(), tiedowns=holding_back(3000.0, up=0.0, plan=0.0))
    held = largest_acceleration(body, REARWARD, friction=False)
    assert held.acceleration_g == pytest.approx(0.0, abs=NEAR)
    assert held.tensions == pytest.approx((0.0, 0.0), abs=1e-6)


def test_block_adds_its_strength_to_friction():
    # By hand, I-7: a * W = mu * W + strength.
    block = Block("chock", 2000.0, (-2.0, 0.0, 0.0), (1.0, 0.0, 0.0))
    body = low_body(contacts=wheels(friction=0.3), blocks=(block,))
    held = largest_acceleration(body, FORWARD)
    assert held.acceleration_g == pytest.approx(0.5, abs=NEAR)
    assert held.pushes == pytest.approx((2000.0,))
    assert held.governs.kind == "block full"
    assert held.governs.blocks == ("chock",)
    assert largest_acceleration(body, REARWARD).acceleration_g == pytest.approx(0.3, abs=NEAR)


def test_of_two_blocks_the_one_pushed_against_is_named():
    idle = Block("tailboard", 2000.0, (2.0, 0.0, 0.0), (-1.0, 0.0, 0.0))
    chock = Block("chock", 2000.0, (-2.0, 0.0, 0.0), (1.0, 0.0, 0.0))
    body = low_body(contacts=wheels(friction=0.3), blocks=(idle, chock))
    assert largest_acceleration(body, FORWARD).governs.blocks == ("chock",)
    assert largest_acceleration(body, REARWARD).governs.blocks == ("tailboard",)


def test_unequal_levers_turn_the_article_before_both_tiedowns_are_full():
    # By hand: the pulls 1.0 m left and 0.5 m right must have equal moments, so the right one is
    # full and the left one half full: a * W = 1.5 * 2000.
    left = tiedown("left", 2000.0, (0.0, 1.0, 0.0), (1.0, 0.0, 0.0))
    right = tiedown("right", 2000.0, (0.0, -0.5, 0.0), (1.0, 0.0, 0.0))
    body = low_body(contacts=wheels(), tiedowns=(left, right))
    held = largest_acceleration(body, FORWARD, friction=False)
    assert held.acceleration_g == pytest.approx(0.3, abs=NEAR)
    assert held.tensions == pytest.approx((1000.0, 2000.0))
    assert held.governs.motion == "turning"
    assert held.governs.tiedowns == ("right",)


def test_a_flat_article_tied_on_one_side_turns_and_does_not_tip():
    # 1 in high on a stance of 4 m x 2 m, the strap at its left top edge: its push over the deck is
    # 0.0127 m up and 1.0 m to the side, so that it swings about the strap.
    strap = tiedown("strap", 2000.0, (1.5, 1.0, 0.0254), (1.0, 0.0, 0.0))
    body = Body(W, (0.0, 0.0, 0.0127), contacts=wheels(friction=0.05), tiedowns=(strap,))
    assert largest_acceleration(body, FORWARD).governs.motion == "turning"


def test_of_full_tiedowns_only_those_that_count_are_named():
    # A tiedown without any strength is always full and never missed.
    back = tiedown("back", 2000.0, (0.0, 0.0, 0.0), (1.0, 0.0, 0.0))
    idle = tiedown("idle", 0.0, (0.0, 0.0, 0.0), (1.0, 0.0, 0.0))
    for order in ((idle, back), (back, idle)):
        body = low_body(contacts=wheels(), tiedowns=order)
        assert largest_acceleration(body, FORWARD, friction=False).governs.tiedowns == ("back",)


def test_nearly_full_is_not_full():
    # By hand: as above the left one pulls half of 2,000 N; its limit is a twentieth of a percent
    # more than that, less than what limits are lowered by to see whether they count.
    left = tiedown("left", 1000.5, (0.0, 1.0, 0.0), (1.0, 0.0, 0.0))
    right = tiedown("right", 2000.0, (0.0, -0.5, 0.0), (1.0, 0.0, 0.0))
    body = low_body(contacts=wheels(), tiedowns=(left, right))
    assert largest_acceleration(body, FORWARD, friction=False).governs.tiedowns == ("right",)


# --- the standards' sums ------------------------------------------------------------------------


@pytest.mark.parametrize("case_id", [f"intl-direct-0{number}" for number in (1, 2, 3, 4)])
def test_direct_lashing_sum_where_both_sides_pull_alike(case_id):
    # I-15 turned round: with the published force as limit, c is held exactly. The sum and the
    # programme are equal here: the pair is symmetric, low, and there is no opposing pair.
    case = of_case(case_id)
    weight = newtons(case["mass"])
    pair = holding_back(
        case["force_per_lashing"] * 1000.0,
        up=case["vertical_angle"],
        plan=case["plan_angle_to_direction"],
    )
    friction = case["conversion_factor"] * case["friction_factor"]
    body = Body(weight, (0.0, 0.0, 0.0), pair, wheels(friction=friction))
    # The force is printed to 0.006 kN; two lashings of it are this much of the weight.
    printed = 2 * 6.0 / weight
    assert largest_acceleration(body, FORWARD).acceleration_g == pytest.approx(
        case["c"], abs=printed
    )


@pytest.mark.parametrize(("case_id", "component"), [("intl-direct-05", 0), ("intl-direct-06", 1)])
def test_coordinate_sum_is_never_exceeded_where_all_its_lashings_are_counted(case_id, component):
    # I-14 is one equation of the six with every lashing full, so it can only be more.
    case, given = of_case(case_id), CASES[case_id]["given"]
    sides = (1.0, -1.0) if component == 0 else (1.0, 1.0)
    lashings = tuple(
        tiedown(
            f"lashing {side}",
            float(lashing["LC"].split()[0]) * 1000.0,
            (0.0, 0.0, 0.0),
            (
                float(lashing["X"].split()[0]) * (1.0 if component == 0 else along),
                float(lashing["Y"].split()[0]) * side,
                -float(lashing["Z"].split()[0]),
            ),
        )
        for lashing, side, along in zip(given["lashings"], sides, (1.0, -1.0), strict=True)
    )
    weight = newtons(case["mass"])
    friction = case["conversion_factor"] * case["friction_factor"]
    body = Body(weight, (0.0, 0.0, 0.0), lashings, wheels(friction=friction))
    summed = case["c"] + case["margin"] * 1000.0 / weight
    direction = FORWARD if component == 0 else RIGHT
    held = largest_acceleration(body, direction).acceleration_g
    assert held <= summed + 6.0 / weight
    # The unequal other components cost a little: what the sum leaves out, not a slip of ours.
    assert held == pytest.approx(summed, abs=0.02)


@pytest.mark.parametrize("case_id", ["intl-dirtilt-01", "intl-dirtilt-02"])
def test_direct_lashing_against_tilting(case_id):
    # I-16: at the largest mass c is held exactly; friction enough that nothing slides first.
    case = of_case(case_id)
    weight = newtons(case["largest_mass"])
    pair = holding_back(
        case["force_per_lashing"] * 1000.0,
        up=case["vertical_angle"],
        plan=case["plan_angle_to_direction"],
        height=case["attachment_height"],
        ahead=case["lever_b"] - case["lever_w"],
    )
    stance = wheels(length=2.0 * case["lever_b"], friction=9.0)
    body = Body(weight, (0.0, 0.0, case["cog_height_d"]), pair, stance)
    held = largest_acceleration(body, FORWARD)
    assert held.acceleration_g == pytest.approx(case["c"], rel=0.001)
    assert held.governs.motion == "tipping"
    assert held.governs.tiedowns == ("left 0", "right 0")
    assert held.governs.carrying == ("front left", "front right")


def test_programme_holds_more_than_the_sum_where_lashings_across_press_the_article_down():
    # By hand: the sum of EN 12195-1 counts lashings that tighten; two straight across do not,
    # yet a balance exists in which both are full and press: a = mu * (1 + 2 * T * sin / W).
    across = tuple(
        tiedown(f"across {y}", 4000.0, (0.0, y, 0.0), (0.0, y, -1.0)) for y in (1.0, -1.0)
    )
    body = low_body(contacts=wheels(friction=0.4), tiedowns=across)
    pressed = 0.4 * (1.0 + 2.0 * 0.4 * math.sin(math.pi / 4))
    assert largest_acceleration(body, FORWARD).acceleration_g == pytest.approx(pressed, abs=NEAR)


def test_strap_over_the_article_presses_with_both_legs():
    # Case intl-frict-01, printed answer: one strap at 400 daN, mu 0.3, upright: 240 daN.
    case = of_case("intl-frict-01")
    down = (0.0, 0.0, -1.0)
    strap = Tiedown(
        "over the top",
        case["standard_tension_force"] * 10.0,
        (Pull((0.0, 1.0, 1.0), down), Pull((0.0, -1.0, 1.0), down)),
    )
    stance = wheels(friction=case["friction_factor"])
    without = largest_acceleration(low_body(contacts=stance), FORWARD).acceleration_g
    held = largest_acceleration(low_body(contacts=stance, tiedowns=(strap,)), FORWARD)
    gained = (held.acceleration_g - without) * W / 10.0
    assert gained == pytest.approx(case["securing_force"], abs=0.05)
    assert held.tensions == pytest.approx((4000.0,))


def test_half_loop_pulls_with_both_its_ends():
    # Case intl-loopspring-01, I-18 at 90 deg: one end pulls along, the other down.
    case = of_case("intl-loopspring-01")
    loop = Tiedown(
        "loop",
        case["lashing_capacity"] * 1000.0,
        (Pull((0.0, 0.0, 0.0), (0.0, 1.0, 0.0)), Pull((0.0, 0.0, 0.0), (0.0, 0.0, -1.0))),
    )
    stance = wheels(friction=case["conversion_factor"] * case["friction_factor"])
    body = Body(newtons(case["mass_per_pair"]), (0.0, 0.0, 0.0), (loop,), stance)
    held = largest_acceleration(body, RIGHT)
    assert held.acceleration_g == pytest.approx(case["c"], rel=0.001)


def test_blocking_capacity_of_the_standard():
    # Case intl-block-01, I-7.
    case = of_case("intl-block-01")
    strength = case["blocking_capacity"] * 1000.0
    board = Block("headboard", strength, (-2.0, 0.0, 0.0), (1.0, 0.0, 0.0))
    stance = wheels(friction=case["friction_factor"])
    body = Body(newtons(case["mass"]), (0.0, 0.0, 0.0), (), stance, (board,))
    assert largest_acceleration(body, FORWARD).acceleration_g == pytest.approx(case["c"], abs=1e-6)


# --- edges of the question ----------------------------------------------------------------------


@pytest.mark.parametrize(("ahead", "stands"), [(0.999, True), (1.0, True), (1.001, False)])
def test_centre_of_gravity_off_the_contacts_is_not_held_at_rest(ahead, stands):
    # By hand: the front contacts are 1 m ahead; over or behind them the article stands.
    body = Body(W, (-ahead, 0.0, 1.0), contacts=wheels(length=2.0))
    held = largest_acceleration(body, REARWARD)
    assert (held.governs.kind != "not held at rest") is stands
    if not stands:
        # Leaning back under acceleration would balance it. That is not standing.
        assert held.acceleration_g == 0.0
        assert held.governs.motion is None
        assert math.isnan(held.normals[0])
        around = compass(body, 4)
        assert around.up == 0.0
        assert not around.accelerations.any()


def test_nothing_under_the_article_is_not_held_at_rest():
    assert largest_acceleration(low_body(), FORWARD).governs.kind == "not held at rest"


@pytest.mark.parametrize("friction", [True, False])
def test_article_that_rests_on_blocks_alone(friction):
    # By hand: the cradle carries W, and the strap of 2,000 N holds it back.
    cradle = Block("cradle", 2 * W, (0.0, 0.0, 0.0), (0.0, 0.0, 1.0))
    strap = tiedown("strap", 2000.0, (0.0, 0.0, 0.0), (1.0, 0.0, 0.0))
    body = low_body(tiedowns=(strap,), blocks=(cradle,))
    held = largest_acceleration(body, FORWARD, friction=friction)
    assert held.acceleration_g == pytest.approx(0.2, abs=NEAR)
    assert held.pushes == pytest.approx((W,))
    assert held.normals == held.frictions == ()


def test_more_than_ten_g_is_not_asked():
    pair = holding_back(1e6, up=0.0, plan=0.0)
    held = largest_acceleration(low_body(contacts=wheels(), tiedowns=pair), FORWARD)
    assert held.acceleration_g == pytest.approx(10.0, abs=NEAR)
    assert held.capped
    assert held.governs is None


@pytest.mark.parametrize("limit", [49_990.0, 50_010.0])
def test_cap_is_said_only_when_reached(limit):
    # By hand: 2 * limit / W is just below and just above 10 g.
    pair = holding_back(limit, up=0.0, plan=0.0)
    body = low_body(contacts=wheels(), tiedowns=pair)
    held = largest_acceleration(body, FORWARD, friction=False)
    assert held.capped is (limit > 50_000.0)
    assert held.acceleration_g == pytest.approx(min(2.0 * limit / W, 10.0), abs=NEAR)


@pytest.mark.parametrize(
    "body",
    [
        low_body(contacts=wheels(friction=math.nan)),
        low_body(contacts=wheels(), tiedowns=holding_back(math.nan, up=30.0, plan=0.0)),
        replace(low_body(contacts=wheels()), weight=math.nan),
        replace(low_body(contacts=wheels()), centre_of_gravity=(0.0, 0.0, math.nan)),
        low_body(
            contacts=wheels(),
            blocks=(Block("chock", math.nan, (0.0, 0.0, 0.0), (1.0, 0.0, 0.0)),),
        ),
        low_body(
            contacts=wheels(),
            tiedowns=(Tiedown("t", 1.0, (Pull((0.0, 0.0, 0.0), (math.nan, 0.0, 0.0)),)),),
        ),
    ],
)
def test_number_not_stated_makes_the_answer_not_known(body):
    held = largest_acceleration(body, FORWARD)
    assert math.isnan(held.acceleration_g)
    assert held.governs is None
    assert not held.capped
    around = compass(body, 4)
    assert all(map(math.isnan, [*around.accelerations, around.up]))


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"weight": 0.0}, "weights are finite and positive, not 0"),
        ({"weight": math.inf}, "weights are finite and positive, not inf"),
        ({"contacts": wheels(friction=-0.1)}, "frictions are finite and not negative, not -0.1"),
        (
            {"tiedowns": holding_back(-1.0, up=30.0, plan=0.0)},
            "limits are finite and not negative, not -1",
        ),
        (
            {"tiedowns": holding_back(math.inf, up=30.0, plan=0.0)},
            "limits are finite and not negative, not inf",
        ),
        (
            {"tiedowns": (Tiedown("strap", 1.0, (Pull((0.0, 0.0, 0.0), (2.0, 0.0, 0.0)),)),)},
            "directions of pulls have length 1, not 2",
        ),
        (
            {"blocks": (Block("chock", 1.0, (0.0, 0.0, 0.0), (0.0, 0.0, 0.0)),)},
            "directions of blocks have length 1, not 0",
        ),
        (
            {"blocks": (Block("chock", math.inf, (0.0, 0.0, 0.0), (1.0, 0.0, 0.0)),)},
            "strengths are finite and not negative, not inf",
        ),
    ],
)
def test_impossible_numbers_are_refused(changes, said):
    with pytest.raises(ValueError, match=re.escape(said)):
        stack([replace(low_body(contacts=wheels()), **changes)])


@pytest.mark.parametrize("along_x", [0.5, math.nan])
def test_a_direction_of_acceleration_that_is_no_unit_is_refused(along_x):
    body = low_body(contacts=wheels())
    said = rf"direction of the acceleration has length 1, not {along_x:g}"
    for ask in (
        largest_acceleration,
        lambda body, way: largest_accelerations(body, [FORWARD, way]),
    ):
        with pytest.raises(ValueError, match=said):
            ask(body, (along_x, 0.0, 0.0))


def test_some_of_the_bodies_and_the_same_ones_without_friction():
    over = Tiedown(
        "over", 9.0, (Pull((0, 1, 1), (0, 0.6, -0.8)), Pull((0, -1, 1), (0, -0.6, -0.8)))
    )
    chock = Block("chock", 500.0, (0.5, 0.0, 0.1), (1.0, 0.0, 0.0))
    strong, weak = (
        low_body(contacts=wheels(friction=mu), tiedowns=(over,), blocks=(chock,))
        for mu in (0.6, 0.1)
    )
    both = stack([strong, weak])
    bare = low_body(contacts=wheels(friction=0.0), tiedowns=(over,), blocks=(chock,))
    assert np.array_equal(both.take(np.array([1])).numbers, stack([weak]).numbers)
    assert np.array_equal(both.frictionless().numbers, stack([bare, bare]).numbers)
    expected = stack([strong, weak, bare, bare]).numbers
    assert np.array_equal(both.then_frictionless().numbers, expected)
    assert np.array_equal(both.numbers, stack([strong, weak]).numbers)


def test_bodies_with_other_parts_do_not_stack():
    with pytest.raises(ValueError, match="bodies to stack have the same numbers of parts"):
        stack([low_body(), low_body(contacts=wheels())])


# --- many questions -----------------------------------------------------------------------------


def test_compass_answers_each_heading_as_if_asked_alone():
    body = Body(W, (0.1, 0.05, 0.8), holding_back(2500.0, up=40.0, plan=35.0, height=0.6), wheels())
    around = compass(body, 12)
    alone = [largest_acceleration(body, heading(angle)).acceleration_g for angle in around.headings]
    assert around.accelerations == pytest.approx(alone, abs=1e-8)
    assert around.up == pytest.approx(largest_acceleration(body, UP).acceleration_g, abs=1e-8)
    assert around.headings[3] == pytest.approx(math.pi / 2)


def test_compass_starts_forward_and_turns_to_the_left():
    board = Block("left rail", 1000.0, (0.0, 0.0, 0.0), (0.0, -1.0, 0.0))
    around = compass(low_body(contacts=wheels(friction=0.2), blocks=(board,)), 4)
    # By hand: friction everywhere, and the rail where the article is pressed to the left.
    assert around.accelerations == pytest.approx([0.2, 0.3, 0.2, 0.2], abs=NEAR)


def test_compass_without_friction():
    around = compass(low_body(contacts=wheels()), 4, friction=False)
    assert around.accelerations == pytest.approx([0.0] * 4, abs=NEAR)


def test_bodies_among_others_are_answered_in_place():
    strong, weak = (low_body(contacts=wheels(friction=mu)) for mu in (0.6, 0.2))
    unknown = low_body(contacts=wheels(friction=math.nan))
    # Upside down: nothing carries it at rest.
    hanging = replace(strong, centre_of_gravity=(50.0, 0.0, 1.0))
    every = HeldSet(stack([strong, weak, unknown, hanging, strong]))
    expected = [0.6, 0.2, math.nan, 0.0, 0.6]
    assert every.largest([FORWARD])[0] == pytest.approx(expected, nan_ok=True)
    # Friction alone is least midway between two edges of the pyramid.
    midway = math.cos(math.pi / 16)
    expected = [0.6 * midway, 0.2 * midway, math.nan, 0.0, 0.6 * midway]
    assert every.least_around == pytest.approx(expected, nan_ok=True)


def test_solver_prints_nothing():
    # Standard output belongs to the report.
    code = (
        "import numpy as np\n"
        "from checker.mechanics.restraint.second_opinion import ask\n"
        "columns = np.zeros((6, 2))\n"
        "columns[2] = [1.0, 1.0]\n"
        "amounts, _ = ask(columns, np.array([10.0, np.inf]))\n"
        "assert abs(amounts[0] - 1.0) < 1e-9\n"
    )
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, check=True, text=True)
    assert ran.stdout + ran.stderr == ""


def test_solver_is_not_imported_before_it_is_needed():
    code = "import sys, checker.mechanics.restraint.governs; assert 'highspy' not in sys.modules"
    subprocess.run([sys.executable, "-c", code], check=True)
