"""Australian rulebooks on whole loads: every verdict worked out by hand beside it.

The arithmetic starts from the numbers the profiles state and from the coefficients of the
international reference, not from anything the program prints. W is the article's weight, c the
coefficient asked for, T a tension. Directions of a lashing are (x, y, down) per unit of its
length, x along the trailer, y across.
"""

from collections.abc import Callable, Mapping
from datetime import date
from typing import Any, NamedTuple

import pytest

from checker.documents.problems import DataPath
from checker.evaluation.check import Check
from checker.evaluation.dated_rule import evaluate_case
from checker.rulebooks.model import Rule
from checker.rulebooks.verdicts import Verdict

JURISDICTION = "AU"
ROAD: dict[DataPath, Any] = {("trip", "places"): ["AU-NSW"]}
DAY = date(2026, 6, 1)

MET, NOT_MET = Verdict.MET, Verdict.NOT_MET
OUTSIDE, UNKNOWN = Verdict.DOES_NOT_APPLY, Verdict.NOT_STATED
Texts = Mapping[DataPath, Any]
Hold = Callable[[str, Texts], Check]


def verdicts(done: Check) -> dict[str, Verdict]:
    """The rigs are over 4.5 t together, so the rules for light vehicles are left out."""
    light = [each for each in done.findings if each.rule.id.startswith("au-light-")]
    assert {each.verdict for each in light} <= {Verdict.DOES_NOT_APPLY, Verdict.NOT_STATED}
    return {each.rule.id: each.verdict for each in done.findings if each not in light}


def each_tiedown(count: int, **fields: str) -> dict[DataPath, str]:
    """The same text in a field of every tiedown."""
    return {
        ("tiedowns", number, field): text
        for number in range(count)
        for field, text in fields.items()
    }


def rated(capacity: str) -> dict[str, str]:
    """LC of a lashing and of its hooks and ratchet, which have working load limits too."""
    parts = ("", "hooks_", "tensioner_")
    return {f"{part}lashing_capacity": capacity for part in parts}


class Worked(NamedTuple):
    """A bundled load with some fields changed, and what each rule has to say of it."""

    load: str
    texts: Texts
    verdicts: Mapping[str, Verdict]


DIRECT = ("au-direct-forward", "au-direct-rearward", "au-direct-sideways")
TIE_DOWN = ("au-tie-down-forward", "au-tie-down-rearward", "au-tie-down-sideways")


def all_of(ids: tuple[str, ...], verdict: Verdict) -> dict[str, Verdict]:
    return dict.fromkeys(ids, verdict)


# W = 1420 lb, friction 0.3, brake set. Wheels at 52 + 14 = 66 and 52 + 90 = 142 in, centre of
# gravity at 109.35 in, 25 in up, half track 24.5 in. Straps of 3333 lb working load limit:
#   front, from (55, 14, 15) to (47, 24, 1): sqrt(360) = 18.97, (0.4216, 0.5270, 0.7379)
#   rear, from (153, 14, 16) to (164, 24, 1): sqrt(446) = 21.12, (0.5209, 0.4735, 0.7103)
# LC said to be 20 kN = 4496 lbf, 3.166 W.
IN_ORDER_HELD = {
    # c 0.8: both rear straps at T hold it where T (2 x 0.5209 + 0.3 x 2 x 0.7103) = 0.5 W,
    # T = 0.341 W = 484 lb < 3333 lb. Tipping: (109.35 - 66) / 25 = 1.73 > 0.8.
    "au-held-forward": MET,
    # c 0.5: front straps, T (0.8433 + 0.6 x 0.7379) = 0.2 W, T = 221 lb < 3333 lb.
    # Tipping: (142 - 109.35) / 25 = 1.31 > 0.5.
    "au-held-rearward": MET,
    # c 0.5 to the left, friction lent to turning only: a in the front right strap and b in the rear
    # right one, 0.4216 a = 0.5209 b and 0.5270 a + 0.4735 b = 0.5 W: a = 0.549 W = 780 lb,
    # b = 0.445 W. About the centre of gravity they turn it by (54.35 x 0.5270 - 14 x 0.4216) a
    # - (43.65 x 0.4735 - 14 x 0.5209) b = 12.5 - 6.0 = 6.5 W in; 0.086 W across at each axle, 76 in
    # apart, holds that, and each carries over 0.8 W with straps pressing 0.405 and 0.316 W:
    # friction of 0.24 W. Tipping: 24.5 / 25 = 0.98 > 0.5.
    "au-held-sideways": MET,
    # c 1.2 up: front straps at 0.247 W and rear ones at 0.2 W pull as hard forward as rearward and
    # press 0.649 W, 0.449 W more than the fifth; both axles still stand: the front pair
    # turns it by 2 x 0.7379 x 0.247 x 54.35 = 19.8, the rear by 2 x 0.7103 x 0.2 x 43.65 = 12.4 W
    # in, and 0.449 W on wheels 43.35 in before and 32.65 in behind balances the difference.
    "au-held-down": MET,
}
IN_ORDER = Worked(
    "side-by-side-in-order",
    each_tiedown(4, **rated("2000 daN")),
    {
        **IN_ORDER_HELD,
        "au-direct-forward": MET,  # 2 x 3.166 x 0.5209 = 3.30 > 0.8
        "au-direct-rearward": MET,  # 2 x 3.166 x 0.4216 = 2.67 > 0.5
        "au-direct-sideways": MET,  # 3.166 x (0.5270 + 0.4735) = 3.17 > 0.5
        **all_of(TIE_DOWN, OUTSIDE),  # direct lashings pull every way
        "au-two-lashings-each-way": MET,  # two pull each way
        # Tongue 105 + 1420 x (124 - 109.35) / 124 = 273 lb; 10 % of 2340 = 234 lb.
        "au-nose-weight": MET,
    },
)
# Straps as the profile has them, marked with a working load limit only: no LC, no sum.
WITHOUT_LC = Worked(
    "side-by-side-in-order",
    {},
    {
        **IN_ORDER_HELD,
        **all_of(DIRECT, UNKNOWN),
        **all_of(TIE_DOWN, UNKNOWN),
        "au-two-lashings-each-way": MET,
        "au-nose-weight": MET,
    },
)

# The same machine against the rail, two straps behind, LC 25 kN on rings of 5000 lb, which
# count, on a wet deck: friction 0.2. Wheels at 60 and 136 in, centre of gravity at 103.35 in,
# 25 in up.
#   rear, from (147, 14, 16) to (164, 24, 1): sqrt(614) = 24.78, (0.6861, 0.4036, 0.6053)
REAR_STRAPS_ONLY = Worked(
    "rear-straps-only",
    {("articles", 0, "friction"): "0.2", **each_tiedown(2, **rated("2500 daN"))},
    {
        # c 0.8: both straps, T (1.3721 + 0.4 x 0.6053) = 0.6 W, T = 0.372 W = 528 lb < 3333 lb.
        # Tipping: (103.35 - 60) / 25 = 1.73 > 0.8.
        "au-held-forward": MET,
        # No strap pulls forward, nothing blocks it behind. Friction is 0.2, and a strap that
        # presses takes away more than it adds (0.2 x 0.6053 < 0.6861). The direct sum is none.
        "au-held-rearward": NOT_MET,
        # c 0.5 to the left: the right strap alone pulls against it, and the front swings out. About
        # the strap's point (147, -14) the load turns it by 43.65 c W, the left strap adds to that,
        # and friction of 0.2 resists at the wheels (60 or 136, 24.5 or -24.5), 95.1, 87.6, 40.0 and
        # 15.2 in away. Carrying 0.43 W in front and 0.57 W behind they resist by no more than
        # 0.2 x (0.43 x 95.1 + 0.57 x 40.0) W = 12.7 W, and by 0.2 x 32.1 x 0.214 W = 1.4 W where
        # the strap presses as hard as friction along the deck lets it pull, 0.354 W. In all
        # 14.1 / 43.65 = 0.32 < 0.5. The direct sum, 1.42, is of one lashing each way.
        "au-held-sideways": NOT_MET,
        # Nothing holds the front down: about the straps' points the fifth lifts it with an arm of
        # 43.65 in, and so does every push of the deck on wheels before them.
        "au-held-down": NOT_MET,
        "au-direct-forward": OUTSIDE,  # said to be blocked by the rail
        "au-direct-rearward": OUTSIDE,  # no lashing pulls forward
        "au-direct-sideways": MET,  # 5000 / 1420 x 0.4036 = 1.42 > 0.5; the sum knows no turning
        "au-tie-down-forward": OUTSIDE,  # blocked
        "au-tie-down-rearward": NOT_MET,  # 0.2 < 0.5, no lashing over it
        "au-tie-down-sideways": OUTSIDE,  # direct lashings pull across
        "au-two-lashings-each-way": NOT_MET,  # none pulls forward, one to each side
        # Tongue 105 + 1420 x (124 - 103.35) / 124 = 341 lb; 10 % of 2340 = 234 lb.
        "au-nose-weight": MET,
    },
)

# Four straps said to be of 200 lb working load limit and LC 1.5 kN = 337 lbf, on W = 2050 lb,
# friction 0.3: 0.0976 W and 0.1645 W.
#   front, from (66, 15, 16) to (51, 39, 1): sqrt(1026) = 32.03, (0.4683, 0.7493, 0.4683)
#   rear, from (210, 15, 17) to (239, 39, 1): sqrt(1673) = 40.90, (0.7090, 0.5868, 0.3912)
# Straps that pull with the movement take away more than friction under them adds.
WEAK_STRAPS = Worked(
    "under-rated-straps",
    each_tiedown(4, marked_working_load_limit="200 lb", lashing_capacity="150 daN"),
    {
        # At most 0.3 + 2 x 0.0976 x (0.7090 + 0.3 x 0.3912) = 0.46; by the sum 0.233. Both < 0.8.
        "au-held-forward": NOT_MET,
        # At most 0.3 + 2 x 0.0976 x (0.4683 + 0.3 x 0.4683) = 0.42; by the sum 0.154. Both < 0.5.
        "au-held-rearward": NOT_MET,
        # At most 0.3 + 0.0976 x (0.7493 + 0.5868 + 0.3 x 0.8595) = 0.46; by the sum 0.220.
        "au-held-sideways": NOT_MET,
        "au-held-down": NOT_MET,  # at most 1 + 2 x 0.0976 x 0.8595 = 1.17 < 1.2
        "au-direct-forward": NOT_MET,  # 2 x 0.1645 x 0.7090 = 0.233 < 0.8
        "au-direct-rearward": NOT_MET,  # 2 x 0.1645 x 0.4683 = 0.154 < 0.5
        "au-direct-sideways": NOT_MET,  # 0.1645 x (0.7493 + 0.5868) = 0.220 < 0.5
        **all_of(TIE_DOWN, OUTSIDE),
        "au-two-lashings-each-way": MET,  # two pull each way
        # Tongue 230 + 2050 x (167 - 145.5) / 167 = 494 lb; 10 % of 3950 = 395 lb.
        "au-nose-weight": MET,
    },
)

# A pallet under two straps, W = 1800 lb = 8007 N, friction 0.3, the straps drawn to 300 lb and STF
# said to be 300 daN. Straps up from (132, 39, 1) to (132, 22, 30): sqrt(1130) = 33.62, steep by
# 29 / 33.62 = 0.8627, the same on the other side. They press 4 x 300 x 0.8627 / 1800 = 0.575 W by
# pre-tension, 4 x 3000 x 0.8627 / 8007 = 1.293 W by STF.
STF = each_tiedown(2, standard_tension="300 daN")
PALLET_ALWAYS = {
    "au-held-down": MET,  # 1 + 0.575 = 1.575 > 1.2, straps 16 in before and behind its middle
    **all_of(DIRECT, OUTSIDE),  # both straps go over it
    "au-two-lashings-each-way": OUTSIDE,
    # Tongue 230 + 1800 x (167 - 148) / 167 = 435 lb; 10 % of 3700 = 370 lb.
    "au-nose-weight": MET,
}
PALLET_BETWEEN_CLEATS = Worked(
    "pallet-of-attachments",
    STF,
    {
        **PALLET_ALWAYS,
        # Cleats of 2000 lb, 1.111 W each way: 0.3 x 1.575 + 1.111 = 1.58. Tipping 24 / 14 = 1.71.
        "au-held-forward": MET,
        "au-held-rearward": MET,
        "au-held-sideways": MET,
        "au-tie-down-forward": OUTSIDE,  # blocked
        "au-tie-down-rearward": OUTSIDE,  # blocked
        "au-tie-down-sideways": MET,  # blocked on both sides
    },
)
PALLET_WITHOUT_CLEATS = Worked(
    "pallet-of-attachments",
    {
        **STF,
        **{
            ("articles", 0, "blocking", way): "no"
            for way in ("forward", "rearward", "left", "right")
        },
        **{
            ("articles", 0, "blocks", f"{side} cleat", "strength"): "0 lbf"
            for side in ("front", "rear", "left", "right")
        },
    },
    {
        **PALLET_ALWAYS,
        # 0.3 x 1.575 = 0.47 < 0.5, and no direct lashing.
        "au-held-forward": NOT_MET,
        "au-held-rearward": NOT_MET,
        "au-held-sideways": NOT_MET,
        # 0.3 x (1 + 1.293) = 0.688: the guide's remembered sum counts STF, not the pre-tension.
        "au-tie-down-forward": NOT_MET,
        "au-tie-down-rearward": MET,
        "au-tie-down-sideways": MET,
    },
)
LOADS = {
    "in order": IN_ORDER,
    "without LC": WITHOUT_LC,
    "rear straps only": REAR_STRAPS_ONLY,
    "weak straps": WEAK_STRAPS,
    "pallet between cleats": PALLET_BETWEEN_CLEATS,
    "pallet without cleats": PALLET_WITHOUT_CLEATS,
}


@pytest.mark.parametrize("name", LOADS)
def test_every_rule_says_what_the_hand_says(hold: Hold, name: str) -> None:
    worked = LOADS[name]
    assert verdicts(hold(worked.load, worked.texts)) == dict(worked.verdicts)


@pytest.mark.parametrize(
    ("name", "outcome"),
    [
        ("in order", "no rule broken"),
        ("without LC", "no rule broken"),  # only advice waits for the LC
        ("rear straps only", "hold"),  # schedule 7 is law
        ("weak straps", "hold"),
        ("pallet without cleats", "hold"),
    ],
)
def test_a_broken_law_holds_the_load(hold: Hold, name: str, outcome: str) -> None:
    worked = LOADS[name]
    assert hold(worked.load, worked.texts).outcome == outcome


def test_away_from_australia_nothing_of_it_is_asked(hold: Hold) -> None:
    away = hold("rear-straps-only", {("trip", "places"): ["NZ"]})
    assert verdicts(away) == {}


@pytest.mark.parametrize(("capacity", "verdict"), [("4851 N", MET), ("4850 N", NOT_MET)])
def test_lashing_capacity_at_the_edge(hold: Hold, capacity: str, verdict: Verdict) -> None:
    # 2 LC x 11 / sqrt(446) = 0.8 x 6316.47 N, LC = 5053.18 / 1.041730 = 4850.8 N.
    done = hold(IN_ORDER.load, each_tiedown(4, lashing_capacity=capacity))
    assert verdicts(done)["au-direct-forward"] == verdict


@pytest.mark.parametrize(("tension", "verdict"), [("1547 N", MET), ("1546 N", NOT_MET)])
def test_standard_tension_at_the_edge(hold: Hold, tension: str, verdict: Verdict) -> None:
    # 0.3 x (1 + 4 STF x 0.862698 / 8006.80) = 0.5: STF = 8006.80 x 2/3 / 3.450792 = 1546.8 N.
    texts = {**PALLET_WITHOUT_CLEATS.texts, **each_tiedown(2, standard_tension=tension)}
    assert verdicts(hold("pallet-of-attachments", texts))["au-tie-down-rearward"] == verdict


@pytest.mark.parametrize(
    ("capacity", "rearward"),
    [
        ("6 kN", MET),  # 2 x 6000 x 0.4683 / 9118.9 = 0.616 > 0.5; tipping 50.5 / 28 = 1.80 > 0.5
        ("4 kN", NOT_MET),  # 2 x 4000 x 0.4683 / 9118.9 = 0.411, and 0.42 by limit analysis
    ],
)
def test_the_guides_sum_will_do_where_limit_analysis_does_not(
    hold: Hold, capacity: str, rearward: Verdict
) -> None:
    # W = 2050 lb = 9118.9 N. LC counts where the working load limit of 200 lb is too little.
    texts = {**WEAK_STRAPS.texts, **each_tiedown(4, **rated(capacity))}
    assert verdicts(hold(WEAK_STRAPS.load, texts))["au-held-rearward"] == rearward


def test_a_load_held_too_little_waits_for_the_lc_where_lashings_pull(hold: Hold) -> None:
    # LC not stated: the guide's sum could still come out, so nothing is known; never a pass.
    texts = each_tiedown(4, marked_working_load_limit="200 lb")
    found = verdicts(hold(WEAK_STRAPS.load, texts))
    assert found["au-held-forward"] == found["au-held-rearward"] == UNKNOWN
    # Nor is it known whether the load relies on friction, which alone asks it to be held down.
    assert found["au-held-down"] == UNKNOWN


def test_a_load_that_relies_on_no_friction_need_not_be_held_down(hold: Hold) -> None:
    # Schedule 7 asks 0.2 upward only if friction is relied on. By the guide's sum without friction
    # 2 x 8000 x 0.4683 / 9118.9 = 0.82 forward; at 400 N it is 0.04, so friction is relied on.
    enough = {**WEAK_STRAPS.texts, **each_tiedown(4, **rated("8 kN"))}
    found = verdicts(hold(WEAK_STRAPS.load, enough))
    assert found["au-held-forward"] == found["au-held-down"] == MET
    less = {**WEAK_STRAPS.texts, **each_tiedown(4, **rated("400 N"))}
    assert verdicts(hold(WEAK_STRAPS.load, less))["au-held-down"] == NOT_MET


def test_nose_weight_is_a_tenth_of_the_whole_trailer(hold: Hold) -> None:
    # Placed at 59 in: centre of gravity 116.35 in, tongue 105 + 1420 x 7.65 / 124 = 192.6 lb, less
    # than 234 lb. At 55 in: 112.35 in, 238.4 lb.
    place = ("articles", 0, "placed", "x")
    assert verdicts(hold(IN_ORDER.load, {place: "59 in"}))["au-nose-weight"] == NOT_MET
    assert verdicts(hold(IN_ORDER.load, {place: "55 in"}))["au-nose-weight"] == MET


# --- the reference's own cases --------------------------------------------------------------------


def number(case: Mapping[str, Any], part: str, name: str) -> float:
    return float(case[part][name].split()[0])


@pytest.mark.parametrize("case_id", ["intl-au-02", "intl-au-04"])
def test_lashing_capacity_asked_is_that_of_the_cases(
    rules: Mapping[str, Rule], cases: Mapping[str, Any], case_id: str
) -> None:
    case = cases[case_id]
    if "angle_effect" in case["given"]:
        effect = number(case, "given", "angle_effect")
    else:
        effect = number(case, "given", "forward_distance_F1") / number(
            case, "given", "lashing_length_L1"
        )
    for capacity, verdict in ((1.0, MET), (-1.0, NOT_MET)):
        held = (number(case, "expect", "required_LC") + capacity) * 2 * effect
        facts = {
            "article.fully_contained": 0.0,
            "article.blocked_forward": 0.0,
            "article.australia_direct_forward": held / number(case, "given", "mass"),
        }
        assert evaluate_case(rules["au-direct-forward"], facts, DAY).verdict == verdict, case[
            "source"
        ]


@pytest.mark.parametrize(
    ("case_id", "sine"),
    [("intl-au-05", 1.0), ("intl-au-06", 0.707107), ("intl-au-07", 0.258819)],
)
def test_mass_under_a_strap_is_that_of_the_cases(
    rules: Mapping[str, Rule], cases: Mapping[str, Any], case_id: str, sine: float
) -> None:
    case = cases[case_id]
    pressed = 2 * number(case, "given", "pretension") * sine
    friction = number(case, "given", "friction_factor")
    for way, mass in (("forward", "mass_unblocked"), ("rearward", "mass_blocked")):
        for more, verdict in ((-1.0, MET), (1.0, NOT_MET)):
            held = friction * (1 + pressed / (number(case, "expect", mass) + more))
            facts = {
                "article.fully_contained": 0.0,
                f"article.blocked_{way}": 0.0,
                f"article.australia_direct_{way}": 0.0,
                f"article.australia_tie_down_{way}": held,
                "article.can_roll": 0.0,
                "article.held_against_rolling": 0.0,
                "article.chocked": 0.0,
            }
            found = evaluate_case(rules[f"au-tie-down-{way}"], facts, DAY).verdict
            assert found == verdict, case["source"]


@pytest.mark.parametrize(
    ("rule_id", "name", "force"),
    [
        ("au-held-forward", "braking", "forward"),
        ("au-held-rearward", "starting", "rearward"),
        ("au-held-sideways", "cornering", "sideways"),
        ("au-held-down", "share", "upward"),
    ],
)
def test_forces_on_twelve_tonnes_are_those_of_the_case(
    rules: Mapping[str, Rule], cases: Mapping[str, Any], rule_id: str, name: str, force: str
) -> None:
    case = cases["intl-au-08"]
    value = rules[rule_id].thresholds[name].on(DAY)
    assert value is not None
    # The case counts 9.81 m/s2 and prints kilonewtons to two places.
    kilonewtons = value.value(metric=False) * number(case, "given", "mass") * 9.81
    assert kilonewtons == pytest.approx(number(case, "expect", force), abs=0.006)
