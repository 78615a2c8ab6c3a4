"""New Zealand rulebooks on whole loads: every verdict worked out by hand beside it.

The arithmetic starts from the numbers the profiles state and from the figures of the references,
not from anything the program prints. W is the article's weight, c the coefficient asked for, T a
tension. Directions of a lashing are (x, y, down) per unit of its length, x along the trailer, y
across.
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

JURISDICTION = "NZ"
ROAD: dict[DataPath, Any] = {("trip", "places"): ["NZ"]}
DAY = date(2026, 6, 1)
KG = 9.80665  # N, weight of one kilogram

MET, NOT_MET = Verdict.MET, Verdict.NOT_MET
OUTSIDE, UNKNOWN = Verdict.DOES_NOT_APPLY, Verdict.NOT_STATED
Texts = Mapping[DataPath, Any]
Hold = Callable[[str, Texts], Check]


def verdicts(done: Check) -> dict[str, Verdict]:
    return {finding.rule.id: finding.verdict for finding in done.findings}


def each_tiedown(count: int, **fields: str) -> dict[DataPath, str]:
    """The same text in a field of every tiedown."""
    return {
        ("tiedowns", number, field): text
        for number in range(count)
        for field, text in fields.items()
    }


class Worked(NamedTuple):
    """A bundled load with some fields changed, and what each rule has to say of it."""

    load: str
    texts: Texts
    verdicts: Mapping[str, Verdict]


WITHOUT, LOW, FULL = (
    f"nz-strength-{headboard}"
    for headboard in ("without-headboard", "low-headboard", "full-headboard")
)
# A 2 in ball and coupler: 50.8 mm is neither 1-7/8 in nor 50 mm; coupler and ball are alike.
TWO_INCHES = {"nz-ball-size": NOT_MET, "nz-coupler-not-larger-than-ball": MET}
LEVEL = {"nz-drawbar-level": MET}  # answered
# Loaded 920 + 1420 = 2340 lb = 1061 kg. The truck alone 3420 + 2740 = 6160 lb with 640 lb of people
# and gear: 5520 lb unladen, three quarters 4140 lb.
LIGHT_AND_UNBRAKED = {"nz-unbraked-trailer-share": MET, "nz-brakes-from-2000-kg": MET}
BRAKED = {"nz-unbraked-trailer-share": OUTSIDE, "nz-brakes-from-2000-kg": MET}
RATED = {"nz-rating-within-breaking-strength": MET}  # a third of the breaking strength, or less

# W = 1420 lb, friction 0.3, brake set. Wheels at 52 + 14 = 66 and 52 + 90 = 142 in, centre of
# gravity at 109.35 in, 25 in up. Straps of 3333 lb working load limit, 10000 lb breaking strength:
#   front, from (55, 14, 15) to (47, 24, 1): sqrt(360) = 18.97, (0.4216, 0.5270, 0.7379)
#   rear, from (153, 14, 16) to (164, 24, 1): sqrt(446) = 21.12, (0.5209, 0.4735, 0.7103)
IN_ORDER = Worked(
    "side-by-side-in-order",
    {},
    {
        # c 1: both rear straps at T hold it where T (2 x 0.5209 + 0.3 x 2 x 0.7103) = 0.7 W,
        # T = 0.477 W = 677 lb < 3333 lb. Tipping: (109.35 - 66) / 25 = 1.73 > 1.
        "nz-held-forward": MET,
        # c 0.5: front straps, T (0.8433 + 0.6 x 0.7379) = 0.2 W, T = 221 lb < 3333 lb.
        # Tipping: (142 - 109.35) / 25 = 1.31 > 0.5.
        "nz-held-rearward": MET,
        # c 0.5 to the left, friction lent to turning only: a in the front right strap and b in the
        # rear right one, 0.4216 a = 0.5209 b and 0.5270 a + 0.4735 b = 0.5 W: a = 0.549 W = 780 lb,
        # b = 0.445 W. About the centre of gravity they turn it by (54.35 x 0.5270 - 14 x 0.4216) a
        # - (43.65 x 0.4735 - 14 x 0.5209) b = 6.5 W in; 0.086 W across at each axle, 76 in apart,
        # holds that, and each carries over 0.8 W: friction of 0.24 W. Tipping: 24.5 / 25 = 0.98.
        "nz-held-sideways": MET,
        # c 1.2 up: front straps at 0.247 W and rear ones at 0.2 W pull as hard forward as rearward
        # and press 0.649 W, 0.449 W more than the fifth, so both axles still stand.
        "nz-held-down": MET,
        WITHOUT: MET,  # webbing at half: 4 x 5000 / 1420 = 14.1 > 2
        LOW: OUTSIDE,  # stands off the rail
        FULL: OUTSIDE,
        **RATED,
        **LIGHT_AND_UNBRAKED,
        **LEVEL,
        **TWO_INCHES,
    },
)

# The same machine, 74 in high, against a rail of 24 in, two straps behind, on a wet deck: friction
# 0.2. Wheels at 60 and 136 in, centre of gravity at 103.35 in, 25 in up.
#   rear, from (147, 14, 16) to (164, 24, 1): sqrt(614) = 24.78, (0.6861, 0.4036, 0.6053)
REAR_STRAPS_ONLY = Worked(
    "rear-straps-only",
    {("articles", 0, "friction"): "0.2"},
    {
        # c 1: both straps, T (1.3721 + 0.4 x 0.6053) = 0.8 W, T = 0.496 W = 704 lb < 3333 lb.
        # Tipping: (103.35 - 60) / 25 = 1.73 > 1.
        "nz-held-forward": MET,
        # No strap pulls forward, nothing blocks it behind. Friction is 0.2, and a strap that
        # presses takes away more than it adds (0.2 x 0.6053 < 0.6861).
        "nz-held-rearward": NOT_MET,
        # c 0.5 to the left: the right strap alone pulls against it, and the front swings out. About
        # the strap's point (147, -14) the load turns it by 43.65 c W, the left strap adds to that,
        # and friction of 0.2 resists at the wheels (60 or 136, 24.5 or -24.5), 95.1, 87.6, 40.0 and
        # 15.2 in away. Carrying 0.43 W in front and 0.57 W behind they resist by no more than
        # 0.2 x (0.43 x 95.1 + 0.57 x 40.0) W = 12.7 W, and by 0.2 x 32.1 x 0.214 W = 1.4 W where
        # the strap presses as hard as friction along the deck lets it pull, 0.354 W. In all
        # 14.1 / 43.65 = 0.32 < 0.5.
        "nz-held-sideways": NOT_MET,
        # Nothing holds the front down: about the straps' points the fifth lifts it with an arm of
        # 43.65 in, and so does every push of the deck on wheels before them.
        "nz-held-down": NOT_MET,
        WITHOUT: OUTSIDE,  # touches the rail
        LOW: MET,  # 24 < 74 in; 2 x 5000 / 1420 = 7.04 > 1.5
        FULL: OUTSIDE,
        **RATED,
        **LIGHT_AND_UNBRAKED,
        **LEVEL,
        **TWO_INCHES,
    },
)

# Four straps said to be of 200 lb working load limit, 1200 lb breaking strength, on W = 2050 lb,
# friction 0.3: 0.0976 W each.
#   front, from (66, 15, 16) to (51, 39, 1): sqrt(1026) = 32.03, (0.4683, 0.7493, 0.4683)
#   rear, from (210, 15, 17) to (239, 39, 1): sqrt(1673) = 40.90, (0.7090, 0.5868, 0.3912)
# Straps that pull with the movement take away more than friction under them adds.
WEAK_STRAPS = Worked(
    "under-rated-straps",
    each_tiedown(4, marked_working_load_limit="200 lb", lashing_capacity="100 daN"),
    {
        "nz-held-forward": NOT_MET,  # at most 0.3 + 2 x 0.0976 x (0.7090 + 0.3 x 0.3912) = 0.46
        "nz-held-rearward": NOT_MET,  # at most 0.3 + 2 x 0.0976 x (0.4683 + 0.3 x 0.4683) = 0.42
        # At most 0.3 + 0.0976 x (0.7493 + 0.5868 + 0.3 x 0.8595) = 0.46 < 0.5
        "nz-held-sideways": NOT_MET,
        "nz-held-down": NOT_MET,  # at most 1 + 2 x 0.0976 x 0.8595 = 1.17 < 1.2
        WITHOUT: NOT_MET,  # 4 x 600 / 2050 = 1.17 < 2
        LOW: OUTSIDE,
        FULL: OUTSIDE,
        **RATED,
        **BRAKED,  # 3950 lb
        **LEVEL,
        **TWO_INCHES,
    },
)

# A pallet, W = 1800 lb, 34 in high, friction 0.3, under two straps of 10000 lb breaking strength
# drawn to 300 lb: from (132, 39, 1) up to (132, 22, 30), steep by 29 / 33.62 = 0.8627, the same on
# the other side. They press 4 x 300 x 0.8627 / 1800 = 0.575 W. Cleats of 2000 lb, 1.111 W.
PALLET = {
    "nz-held-down": MET,  # 1 + 0.575 = 1.575 > 1.2, straps 16 in before and behind its middle
    **RATED,
    **BRAKED,  # 3700 lb
    **LEVEL,
    **TWO_INCHES,
}
PALLET_BETWEEN_CLEATS = Worked(
    "pallet-of-attachments",
    {},
    {
        **PALLET,
        # 0.3 x 1.575 + 1.111 = 1.58. Tipping 24 / 14 = 1.71.
        "nz-held-forward": MET,
        "nz-held-rearward": MET,
        "nz-held-sideways": MET,
        WITHOUT: MET,  # 2 x 5000 / 1800 = 5.56 > 2; cleats are no headboard
        LOW: OUTSIDE,
        FULL: OUTSIDE,
    },
)
# Against a headboard as high as itself, with the weakest straps that are just enough for it: 1800
# lb breaking strength, 900 lb each.
PALLET_AT_A_FULL_HEADBOARD = Worked(
    "pallet-of-attachments",
    {
        **each_tiedown(2, breaking_strength="1800 lb", marked_working_load_limit="1801 lb"),
        ("articles", 0, "touches_front_structure"): "yes",
        ("trailer", "front_structure", "height"): "34 in",
        ("trailer", "coupler", "size"): "50 mm",
        ("tow_vehicle", "ball", "size"): "1 7/8 in",
        ("walkaround", "trailer_level"): "no",
    },
    {
        **PALLET,
        "nz-held-forward": MET,
        "nz-held-rearward": MET,
        "nz-held-sideways": MET,
        WITHOUT: OUTSIDE,
        LOW: OUTSIDE,  # 34 in is not lower than 34 in
        FULL: MET,  # 2 x 900 / 1800 = 1
        "nz-rating-within-breaking-strength": NOT_MET,  # 1801 > 1800 lb
        "nz-drawbar-level": NOT_MET,
        "nz-ball-size": MET,  # 1-7/8 in
        "nz-coupler-not-larger-than-ball": NOT_MET,  # 50 > 1.875 x 25.4 = 47.6 mm
    },
)
LOADS = {
    "in order": IN_ORDER,
    "rear straps only": REAR_STRAPS_ONLY,
    "weak straps": WEAK_STRAPS,
    "pallet between cleats": PALLET_BETWEEN_CLEATS,
    "pallet at a full headboard": PALLET_AT_A_FULL_HEADBOARD,
}


@pytest.mark.parametrize("name", LOADS)
def test_every_rule_says_what_the_hand_says(hold: Hold, name: str) -> None:
    worked = LOADS[name]
    assert verdicts(hold(worked.load, worked.texts)) == dict(worked.verdicts)


@pytest.mark.parametrize(
    ("name", "outcome"),
    [
        ("in order", "no rule broken"),
        ("weak straps", "hold"),  # the strength is counted, and too little
        ("pallet at a full headboard", "hold"),  # the coupler comes off the ball
    ],
)
def test_what_is_counted_holds_the_load(hold: Hold, name: str, outcome: str) -> None:
    worked = LOADS[name]
    assert hold(worked.load, worked.texts).outcome == outcome


def test_away_from_new_zealand_nothing_of_it_is_asked(hold: Hold) -> None:
    away = hold("rear-straps-only", {("trip", "places"): ["AU"]})
    assert verdicts(away) == {}


@pytest.mark.parametrize(
    ("headboard", "strength", "low", "full"),
    [
        ("33.9 in", "2700 lb", MET, OUTSIDE),  # 2 x 1350 / 1800 = 1.5
        ("33.9 in", "2699 lb", NOT_MET, OUTSIDE),  # 2 x 1349.5 / 1800 = 1.4994
        ("34 in", "1800 lb", OUTSIDE, MET),  # 2 x 900 / 1800 = 1
        ("34 in", "1799 lb", OUTSIDE, NOT_MET),  # 2 x 899.5 / 1800 = 0.9994
    ],
)
def test_height_of_the_headboard_decides_the_strength(
    hold: Hold, headboard: str, strength: str, low: Verdict, full: Verdict
) -> None:
    texts = {
        **each_tiedown(2, breaking_strength=strength),
        ("articles", 0, "touches_front_structure"): "yes",
        ("trailer", "front_structure", "height"): headboard,
    }
    found = verdicts(hold("pallet-of-attachments", texts))
    assert (found[WITHOUT], found[LOW], found[FULL]) == (OUTSIDE, low, full)


@pytest.mark.parametrize(
    ("device", "strength", "verdict"),
    [
        ("chain", "900 lb", MET),  # in full: 4 x 900 / 1800 = 2
        ("chain", "899 lb", NOT_MET),
        ("wire rope", "900 lb", MET),
        ("webbing", "1799 lb", NOT_MET),  # at half: 4 x 899.5 / 1800 = 1.9989
        ("webbing", "1800 lb", MET),
    ],
)
def test_chain_counts_in_full_and_webbing_at_half(
    hold: Hold, device: str, strength: str, verdict: Verdict
) -> None:
    # The mini excavator said to weigh 1800 lb, on four tiedowns.
    texts = {
        ("articles", 0, "weight"): "1800 lb",
        **each_tiedown(4, device=device, breaking_strength=strength),
    }
    assert verdicts(hold("mini-excavator-in-order", texts))[WITHOUT] == verdict


@pytest.mark.parametrize(
    ("front", "verdict"),
    [
        ("1020 lb", MET),  # 1020 + 2740 - 640 = 3120 lb unladen, 2340 lb
        ("1019 lb", NOT_MET),  # 3119 lb unladen, 2339.25 lb < 2340 lb
    ],
)
def test_people_and_gear_do_not_count_for_an_unbraked_trailer(
    hold: Hold, front: str, verdict: Verdict
) -> None:
    texts: Texts = {("tow_vehicle", "front_axle_weight"): front}
    assert verdicts(hold(IN_ORDER.load, texts))["nz-unbraked-trailer-share"] == verdict


@pytest.mark.parametrize(("empty", "verdict"), [("1355 kg", MET), ("1356 kg", NOT_MET)])
def test_two_tonnes_without_brakes(hold: Hold, empty: str, verdict: Verdict) -> None:
    # The machine weighs 1420 lb = 644.1 kg: 1999.1 and 2000.1 kg.
    found = verdicts(hold(IN_ORDER.load, {("trailer", "empty_weight"): empty}))
    assert found["nz-brakes-from-2000-kg"] == verdict


# --- the reference's own cases --------------------------------------------------------------------


def number(case: Mapping[str, Any], part: str, name: str) -> float:
    return float(case[part][name].split()[0])


@pytest.mark.parametrize(
    ("case_id", "rule_id"),
    [("intl-nz-01", WITHOUT), ("intl-nz-02", FULL), ("intl-nz-04", LOW)],
)
def test_strength_asked_is_that_of_the_cases(
    rules: Mapping[str, Rule], cases: Mapping[str, Any], case_id: str, rule_id: str
) -> None:
    case = cases[case_id]
    tonnes = number(case, "given", "mass")
    for more, verdict in ((0.0, MET), (0.001, MET), (-0.001, NOT_MET)):
        facts = {
            "article.fully_contained": 0.0,
            "article.touches_front_structure": 0.0 if rule_id == WITHOUT else 1.0,
            "article.height": 1.0,
            "front_structure.height": 1.0 if rule_id == FULL else 0.5,
            "article.new_zealand_strength_ratio": (
                (number(case, "expect", "total_strength") + more) / tonnes
            ),
        }
        assert evaluate_case(rules[rule_id], facts, DAY).verdict == verdict, case["source"]


@pytest.mark.parametrize("case_id", ["tow-brakes-10", "tow-brakes-11", "tow-brakes-12"])
def test_unbraked_trailers_are_those_of_the_cases(
    rules: Mapping[str, Rule], cases: Mapping[str, Any], case_id: str
) -> None:
    case = cases[case_id]
    allowed = case["expect"]["unbraked_allowed"] == "pass"
    facts = {
        "trailer.has_brakes": 0.0,
        "trailer.gross_weight": number(case, "given", "trailer_mass") * KG,
        "tow_vehicle.weight_alone": number(case, "given", "tow_vehicle_unladen_mass") * KG,
        "tow_vehicle.payload_used": 100 * KG,  # nothing aboard but the tongue weight
        "hitch.tongue_weight": 100 * KG,
    }
    found = {
        evaluate_case(rules[rule_id], facts, DAY).verdict
        for rule_id in ("nz-unbraked-trailer-share", "nz-brakes-from-2000-kg")
    }
    assert (found == {MET}) == allowed, case["source"]
    assert UNKNOWN not in found
