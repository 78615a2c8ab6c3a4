"""European rulebooks on whole loads: every verdict worked out by hand beside it.

The arithmetic starts from the numbers the profiles state and from the coefficients of the
international reference, not from anything the program prints. W is the article's weight, c the
coefficient asked for. Directions of a lashing are (x, y, down) per unit of its length, x along
the trailer, y across.
"""

from collections.abc import Callable, Mapping
from datetime import date
from typing import Any, NamedTuple

import pytest

from checker.documents.problems import DataPath
from checker.evaluation.check import Check
from checker.evaluation.dated_rule import evaluate_case
from checker.rulebooks.model import Rule, Rulebooks
from checker.rulebooks.verdicts import Verdict

JURISDICTION = "EU"
BESIDE = ("eu-light-vehicles",)  # guidance of Germany, where every trip here goes
ROAD: dict[DataPath, Any] = {("trip", "intermodal"): "yes"}  # each load says where it goes
DAY = date(2026, 6, 1)
KG = 9.80665  # N, weight of one kilogram

MET, NOT_MET, OUTSIDE = Verdict.MET, Verdict.NOT_MET, Verdict.DOES_NOT_APPLY
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


def rated(capacity: str) -> dict[str, str]:
    """LC of a lashing and of its hooks and tensioner, which have working load limits too."""
    parts = ("", "hooks_", "tensioner_")
    return {f"{part}lashing_capacity": capacity for part in parts}


class Worked(NamedTuple):
    """A bundled load with some fields changed, and what each rule has to say of it."""

    load: str
    texts: Texts
    verdicts: Mapping[str, Verdict]


DIRECTIVE = ("eu-held-forward", "eu-held-rearward", "eu-held-sideways")
EN_SLIDING = ("eu-sliding-forward", "eu-sliding-rearward", "eu-sliding-sideways")
EN_TIPPING = (
    "eu-tipping-forward",
    "eu-tipping-rearward",
    "eu-tipping-sideways",
    "eu-tipping-sideways-at-hand-tension",
)
EN = (*EN_SLIDING, *EN_TIPPING, "eu-stands-without-tiedowns", "eu-wheels-held")
UP_TO_2_T = ("eu-lightest-vehicle-forward", "eu-lightest-vehicle-sideways")
OVER_2_T = ("eu-light-vehicle-forward", "eu-light-vehicle-sideways")
LIGHT = (*UP_TO_2_T, *OVER_2_T, "eu-light-vehicle-rearward")
CTU = ("eu-ctu-code-forward", "eu-ctu-code-rearward", "eu-ctu-code-sideways")
OVER_THE_TOP = (
    "eu-standard-tension-enough",
    "eu-standard-tension-wire-rope",
    "eu-standard-tension-chain",
    "eu-standard-tension-large-chain",
    "eu-standard-tension-not-too-much",
    "eu-over-the-top-angle",
)
BAND = ("eu-standard-tension-enough", "eu-standard-tension-not-too-much")
MOST_ON_COUPLING = "eu-centre-axle-coupling-load"
LEAST_ON_COUPLING = "de-least-coupling-load"


def all_of(ids: tuple[str, ...], verdict: Verdict) -> dict[str, Verdict]:
    return dict.fromkeys(ids, verdict)


# Trailer rated 2990 lb = 1356 kg: below 3.5 t, so neither directive nor EN 12195-1, and up to 2 t.
# W = 1420 lb, friction 0.3, brake set. Wheels at 52 + 14 = 66 and 52 + 90 = 142 in, centre of
# gravity at 109.35 in, 25 in up. Straps of 3333 lb working load limit, 10000 lb breaking strength:
#   front, from (55, 14, 15) to (47, 24, 1): sqrt(360) = 18.97, (0.4216, 0.5270, 0.7379)
#   rear, from (153, 14, 16) to (164, 24, 1): sqrt(446) = 21.12, (0.5209, 0.4735, 0.7103)
IN_ORDER = Worked(
    "side-by-side-in-order",
    {("trip", "places"): ["DE"]},
    {
        **all_of(DIRECTIVE, OUTSIDE),
        **all_of(EN, OUTSIDE),
        **all_of(OVER_2_T, OUTSIDE),
        # c 0.9: both rear straps at T hold it where 2 x 0.5209 T + 0.3 (W + 2 x 0.7103 T) = 0.9 W,
        # T = 0.409 W = 580 lb < 3333 lb. Tipping: (109.35 - 66) / 25 = 1.73 > 0.9.
        "eu-lightest-vehicle-forward": MET,
        # c 0.5: front straps, T (0.8433 + 0.6 x 0.7379) = 0.2 W, T = 0.156 W = 221 lb < 3333 lb.
        # Tipping: (142 - 109.35) / 25 = 1.31 > 0.5.
        "eu-light-vehicle-rearward": MET,
        # c 0.7: 0.35 W in the front strap and 0.40 W = 568 lb in the rear one of a side pull
        # 0.1845 + 0.1894 = 0.3739 W and press 0.2583 + 0.2841 = 0.5424 W, so that the axles carry
        # 0.684 and 0.858 W. Friction has 0.326 W left to hold; about the rear axle the front one
        # takes (0.7 x 32.65 - 0.1845 x 87 + 0.1894 x 11) / 76 = 0.117 W of 0.3 x 0.684 = 0.205,
        # the rear one 0.209 across and 0.061 along, 0.218 W together, of 0.3 x 0.858 = 0.257.
        # Tipping: half the track over the height, 24.5 / 25 = 0.98 > 0.7.
        "eu-lightest-vehicle-sideways": MET,
        # Half of 10000 lb counts. 0.225 + 2 x 5000 / 1420 x (0.5209 + 0.225 x 0.7103) = 5.02
        "eu-ctu-code-forward": MET,
        # 0.225 + 2 x 5000 / 1420 x (0.4216 + 0.225 x 0.7379) = 4.36 > 0.5
        "eu-ctu-code-rearward": MET,
        # 0.225 + 5000 / 1420 x (0.5270 + 0.4735 + 0.225 x (0.7379 + 0.7103)) = 4.89 > 0.5
        "eu-ctu-code-sideways": MET,
        "eu-lashings-by-weight": MET,  # 4 x 4 t = 16 t for 644 kg
        "eu-two-lashings": MET,  # 4
        "eu-two-pairs": MET,  # 4
        **all_of(OVER_THE_TOP, OUTSIDE),  # all four are direct
        "eu-no-knots": MET,  # answered
        "eu-lashings-undamaged": MET,  # answered
        # Tongue 105 + 1420 x (124 - 109.35) / 124 = 273 lb; 10 % of 2990 = 299 lb, 1000 kg is more.
        MOST_ON_COUPLING: MET,
        "eu-car-coupling-rating": MET,  # 750 lb; 4 % of 9000 = 360 lb, 25 kg = 55 lb
    },
)

# The same machine against the rail of a trailer said to be rated 4 t, two straps behind, LC 25 kN
# on rings of 5000 lb = 22.24 kN, which count, on a wet deck: friction 0.2, 0.15 in the sums of
# direct lashings.
# W = 1420 lb = 6316 N. Wheels at 60 and 136 in, centre of gravity at 103.35 in, 25 in up.
#   rear, from (147, 14, 16) to (164, 24, 1): sqrt(614) = 24.78, (0.6861, 0.4036, 0.6053)
REAR_STRAPS_ONLY = Worked(
    "rear-straps-only",
    {
        ("trip", "places"): ["DE"],
        ("trailer", "gvwr"): "4 t",
        ("articles", 0, "friction"): "0.2",
        **each_tiedown(2, **rated("2500 daN")),
    },
    {
        # c 0.8: both straps at T, T (1.3721 + 0.4 x 0.6053) = 0.6 W, T = 528 lb < 3333 lb.
        # Tipping: (103.35 - 60) / 25 = 1.73 > 0.8.
        "eu-held-forward": MET,
        # No strap pulls forward, nothing blocks it behind. Limit analysis: friction 0.2, and a
        # strap that presses takes away more than it adds (0.2 x 0.6053 < 0.6861). Sums: 0.15, or
        # 0.2 with full friction. All less than 0.5.
        "eu-held-rearward": NOT_MET,
        # c 0.5 to the left: the right strap alone pulls against it, and the front swings out. About
        # the strap's point (147, -14) the load turns it by 43.65 c W, the left strap adds to that,
        # and friction of 0.2 resists at the wheels (60 or 136, 24.5 or -24.5), 95.1, 87.6, 40.0 and
        # 15.2 in away. Carrying 0.43 W in front and 0.57 W behind they resist by no more than
        # 0.2 x (0.43 x 95.1 + 0.57 x 40.0) W = 12.7 W, and by 0.2 x 32.1 x 0.214 W = 1.4 W where
        # the strap presses as hard as friction along the deck lets it pull, 0.354 W. In all
        # 14.1 / 43.65 = 0.32 < 0.5. The sums: one lashing each way is none, friction 0.2.
        "eu-held-sideways": NOT_MET,
        "eu-sliding-forward": MET,  # 0.15 + 2 x 22241 / 6316 x (0.6861 + 0.15 x 0.6053) = 5.62
        "eu-sliding-rearward": NOT_MET,  # 0.15 and 0.2 < 0.5
        # 0.15 + 22241 / 6316 x (0.4036 + 0.15 x 0.6053) = 1.89, but of one lashing each way; 0.2
        "eu-sliding-sideways": NOT_MET,
        "eu-tipping-forward": MET,  # 1.73 > 0.8 without straps
        "eu-tipping-rearward": MET,  # (136 - 103.35) / 25 = 1.31 > 0.5 without straps
        "eu-tipping-sideways": MET,  # half the track over the height, 24.5 / 25 = 0.98 > 0.6
        "eu-tipping-sideways-at-hand-tension": MET,
        "eu-stands-without-tiedowns": OUTSIDE,  # it has two
        "eu-wheels-held": MET,  # brake set
        **all_of(LIGHT, OUTSIDE),  # 4 t
        "eu-ctu-code-forward": MET,  # 0.15 + 2 x 5000 / 1420 x 0.7769 = 5.62 > 0.8
        "eu-ctu-code-rearward": NOT_MET,  # 0.15 and 0.2 < 0.5
        "eu-ctu-code-sideways": NOT_MET,  # one lashing each way; 0.2
        "eu-lashings-by-weight": MET,  # 2 x 4 t = 8 t for 644 kg
        "eu-two-lashings": MET,  # 2
        "eu-two-pairs": NOT_MET,  # 2 < 4
        **all_of(OVER_THE_TOP, OUTSIDE),
        "eu-no-knots": MET,
        "eu-lashings-undamaged": MET,
        # Tongue 105 + 1420 x (124 - 103.35) / 124 = 341 lb; 10 % of 4 t = 400 kg = 882 lb.
        MOST_ON_COUPLING: MET,
        "eu-car-coupling-rating": MET,  # 750 lb; 360 lb, 55 lb
    },
)

# Trailer rated 7000 lb = 3175 kg: light, over 2 t. Four straps of 400 lb working load limit and
# 1200 lb breaking strength, said to have an LC of 250 daN = 562 lb, hooks and ratchets too.
# W = 2050 lb, friction 0.3, brake set. Wheels at 81 and 196 in, centre of gravity at 145.5 in,
# 28 in up, half track 25 in.
#   front, from (66, 15, 16) to (51, 39, 1): sqrt(1026) = 32.03, (0.4683, 0.7493, 0.4683)
#   rear, from (210, 15, 17) to (239, 39, 1): sqrt(1673) = 40.90, (0.7090, 0.5868, 0.3912)
WEAK_STRAPS = Worked(
    "under-rated-straps",
    {("trip", "places"): ["DE"], **each_tiedown(4, **rated("250 daN"))},
    {
        **all_of(DIRECTIVE, OUTSIDE),
        **all_of(EN, OUTSIDE),
        **all_of(UP_TO_2_T, OUTSIDE),
        # At most 0.3 + 2 x 400 / 2050 x (0.7090 + 0.3 x 0.3912) = 0.62 by limit analysis: the front
        # straps take away more than they add. By the sum 0.225 + 2 x 562 / 2050 x (0.7090 + 0.225
        # x 0.3912) = 0.66. Both less than 0.8.
        "eu-light-vehicle-forward": NOT_MET,
        # 0.225 + 2 x 562 / 2050 x 0.4683 x 1.225 = 0.54 > 0.5; tipping (196 - 145.5) / 28 = 1.80.
        "eu-light-vehicle-rearward": MET,
        # 0.225 + 562 / 2050 x (0.7493 + 0.5868 + 0.225 x (0.4683 + 0.3912)) = 0.644 > 0.6;
        # tipping 25 / 28 = 0.89 without straps.
        "eu-light-vehicle-sideways": MET,
        "eu-ctu-code-forward": NOT_MET,  # 0.225 + 2 x 600 / 2050 x 0.7970 = 0.69 < 0.8
        "eu-ctu-code-rearward": MET,  # 0.225 + 2 x 600 / 2050 x 0.5737 = 0.56 > 0.5
        "eu-ctu-code-sideways": MET,  # 0.225 + 600 / 2050 x 1.5294 = 0.67 > 0.5
        "eu-lashings-by-weight": MET,  # 16 t for 930 kg
        "eu-two-lashings": MET,
        "eu-two-pairs": MET,  # 4
        **all_of(OVER_THE_TOP, OUTSIDE),
        "eu-no-knots": MET,
        "eu-lashings-undamaged": MET,
        MOST_ON_COUPLING: MET,  # 494 lb; 10 % of 7000 = 700 lb
        "eu-car-coupling-rating": MET,  # 750 lb; 360 lb, 55 lb
    },
)

# A pallet under two straps, W = 1800 lb = 8007 N, friction 0.3, on a trailer said to be rated 4 t.
# Straps up from (132, 39, 1) to (132, 22, 30): sqrt(1130) = 33.62, steep by 29 / 33.62 = 0.8627
# or 59.6 degrees, the same on the other side. Centre of gravity 24 in from every edge, 14 in up.
# Each strap at STF 300 daN holds 2 x 0.3 x 3000 x 0.8627 = 1553 N; two 3106 N, 0.388 W.
STF_AND_LC = each_tiedown(2, lashing_capacity="2500 daN", standard_tension="300 daN")
ON_4_T = {("trip", "places"): ["DE"], ("trailer", "gvwr"): "4 t", **STF_AND_LC}
PALLET_ALWAYS = {
    **all_of(EN_TIPPING, OUTSIDE),  # on a light trailer
    "eu-stands-without-tiedowns": OUTSIDE,  # it has two
    "eu-wheels-held": OUTSIDE,  # it has no wheels
    **all_of(UP_TO_2_T, OUTSIDE),
    "eu-lashings-by-weight": MET,  # 8 t for 816 kg
    "eu-two-lashings": MET,  # 2
    "eu-two-pairs": OUTSIDE,  # it cannot roll
    "eu-standard-tension-enough": MET,  # 300; a tenth of 2500 = 250 daN
    "eu-standard-tension-wire-rope": OUTSIDE,  # webbing
    "eu-standard-tension-chain": OUTSIDE,
    "eu-standard-tension-large-chain": OUTSIDE,
    "eu-standard-tension-not-too-much": MET,  # 300; half of 2500 = 1250 daN
    "eu-over-the-top-angle": MET,  # 59.6 > 30 degrees
    "eu-no-knots": MET,
    "eu-lashings-undamaged": MET,
    MOST_ON_COUPLING: MET,  # 435 lb; 10 % of 4 t = 882 lb, of 7000 lb = 700 lb
    "eu-car-coupling-rating": MET,  # 1500 lb; 4 % of 14000 = 560 lb, 55 lb
}
PALLET_BETWEEN_CLEATS = Worked(
    "pallet-of-attachments",
    ON_4_T,
    {
        **PALLET_ALWAYS,
        # Cleats of 2000 lb each way, 1.111 W: forward 0.3 + 0.388 / 1.25 + 1.111 = 1.72 > 0.8, the
        # others 0.3 + 0.388 / 1.1 + 1.111 = 1.76 > 0.5. Tipping 24 / 14 = 1.71 > 0.8.
        **all_of(DIRECTIVE, MET),
        **all_of(EN_TIPPING, MET),  # 1.71 > 0.8 and > 0.6 by its own weight
        **all_of(EN_SLIDING, MET),
        **all_of(OVER_2_T, OUTSIDE),  # 4 t
        "eu-light-vehicle-rearward": OUTSIDE,  # 4 t
        **all_of(CTU, MET),  # 0.225 + 1.111 = 1.34 > 0.8 without the straps
    },
)
PALLET_WITHOUT_CLEATS = Worked(
    "pallet-of-attachments",
    {
        **ON_4_T,
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
        **all_of(EN_TIPPING, MET),  # as above
        # 0.3 + 0.388 / 1.25 = 0.61 < 0.8 by the sum; limit analysis with straps drawn to 300 lb:
        # 0.3 x (1 + 2 x 2 x 300 x 0.8627 / 1800) = 0.47 < 0.8.
        "eu-held-forward": NOT_MET,
        "eu-sliding-forward": NOT_MET,
        "eu-ctu-code-forward": NOT_MET,
        # 0.3 + 0.388 / 1.1 = 0.65 > 0.5; tipping 24 / 14 = 1.71 > 0.5.
        "eu-held-rearward": MET,
        "eu-held-sideways": MET,
        "eu-sliding-rearward": MET,
        "eu-sliding-sideways": MET,
        "eu-ctu-code-rearward": MET,
        "eu-ctu-code-sideways": MET,
        **all_of(OVER_2_T, OUTSIDE),
        "eu-light-vehicle-rearward": OUTSIDE,
    },
)
PALLET_ON_A_LIGHT_TRAILER = Worked(
    "pallet-of-attachments",
    {("trip", "places"): ["DE"], **STF_AND_LC},
    {
        **PALLET_ALWAYS,
        # Rated 7000 lb = 3175 kg, over 2 t. The sums above: 1.72 > 0.8, 1.76 > 0.6 and > 0.5.
        **all_of(DIRECTIVE, OUTSIDE),
        **all_of(EN_SLIDING, OUTSIDE),
        **all_of(OVER_2_T, MET),
        "eu-light-vehicle-rearward": MET,
        **all_of(CTU, MET),
    },
)
LOADS = {
    "in order": IN_ORDER,
    "rear straps only": REAR_STRAPS_ONLY,
    "weak straps": WEAK_STRAPS,
    "pallet between cleats": PALLET_BETWEEN_CLEATS,
    "pallet without cleats": PALLET_WITHOUT_CLEATS,
    "pallet on a light trailer": PALLET_ON_A_LIGHT_TRAILER,
}


@pytest.mark.parametrize("name", LOADS)
def test_every_rule_says_what_the_hand_says(hold: Hold, name: str) -> None:
    worked = LOADS[name]
    assert verdicts(hold(worked.load, worked.texts)) == dict(worked.verdicts)


@pytest.mark.parametrize(
    ("name", "outcome"),
    [
        ("rear straps only", "hold"),  # the directive is law
        ("pallet without cleats", "hold"),
        ("pallet between cleats", "no rule broken"),
        ("weak straps", "open"),  # advice is not followed, and no law was there to be kept
    ],
)
def test_a_broken_law_holds_the_load_and_advice_does_not(
    hold: Hold, name: str, outcome: str
) -> None:
    worked = LOADS[name]
    assert hold(worked.load, worked.texts).outcome == outcome


def test_the_figures_of_light_vehicles_are_those_of_germany(hold: Hold) -> None:
    """None were read for other countries of the Union, whose other rules stay."""
    texts = {**IN_ORDER.texts, ("trip", "places"): ["FR"]}
    found = verdicts(hold(IN_ORDER.load, texts))
    assert found == {name: each for name, each in IN_ORDER.verdicts.items() if name not in LIGHT}


def test_away_from_europe_nothing_of_it_is_asked(hold: Hold) -> None:
    away = hold("rear-straps-only", {("trip", "places"): ["GB"]})
    assert verdicts(away) == {}


@pytest.mark.parametrize(
    ("rated", "directive", "standard", "light"),
    [
        ("3499 kg", OUTSIDE, OUTSIDE, MET),  # under 3.5 t
        ("3500 kg", OUTSIDE, OUTSIDE, MET),  # not over 3.5 t; in "2.0 to 3.5 t"
        ("3501 kg", MET, MET, OUTSIDE),  # over 3.5 t
    ],
)
def test_the_trailer_rating_decides_which_figures_count(
    hold: Hold, rated: str, directive: Verdict, standard: Verdict, light: Verdict
) -> None:
    # As `in order`, with an LC of 10 kN: forward 0.225 + 2 x 10000 / 6316 x 0.6807 = 2.38 > 0.8.
    texts = {**IN_ORDER.texts, ("trailer", "gvwr"): rated}
    found = verdicts(hold(IN_ORDER.load, {**texts, **each_tiedown(4, lashing_capacity="10 kN")}))
    assert found["eu-held-forward"] == directive
    assert found["eu-sliding-forward"] == standard
    assert found["eu-light-vehicle-forward"] == light


@pytest.mark.parametrize(("capacity", "verdict"), [("2668 N", MET), ("2667 N", NOT_MET)])
def test_lashing_capacity_at_the_edge(hold: Hold, capacity: str, verdict: Verdict) -> None:
    # 0.8 asked, 0.225 by friction: 2 LC (0.52087 + 0.225 x 0.71027) = 0.575 x 6316.47 N,
    # LC = 3631.97 / 1.36135 = 2667.9 N.
    texts = {**IN_ORDER.texts, ("trailer", "gvwr"): "4 t"}
    done = hold(IN_ORDER.load, {**texts, **each_tiedown(4, lashing_capacity=capacity)})
    assert verdicts(done)["eu-sliding-forward"] == verdict


@pytest.mark.parametrize(("tension", "verdict"), [("4834 N", MET), ("4833 N", NOT_MET)])
def test_standard_tension_at_the_edge(hold: Hold, tension: str, verdict: Verdict) -> None:
    # 0.8 asked, 0.3 by friction: 2 x 2 x 0.3 x STF x 0.862698 / 1.25 = 0.5 x 8006.80 N,
    # STF = 5004.25 / 1.035238 = 4833.9 N.
    texts = {**PALLET_WITHOUT_CLEATS.texts, **each_tiedown(2, standard_tension=tension)}
    assert verdicts(hold("pallet-of-attachments", texts))["eu-sliding-forward"] == verdict


def test_free_wheels_have_no_friction_to_count(hold: Hold) -> None:
    # As `in order`, rated 4 t, LC 10 kN, and brake off, not in park, no chocks. The sums along the
    # deck fall away and the wheels are told. Across: 0.225 + 10000 / 6316 x (0.5270 + 0.4735
    # + 0.225 x 1.4482) = 2.33 > 0.5. The straps alone: 2 x 0.5209 T = 0.8 W, T = 1091 lb < 3333 lb.
    loose: Texts = {
        **IN_ORDER.texts,
        ("trailer", "gvwr"): "4 t",
        **each_tiedown(4, lashing_capacity="10 kN"),
        **{("articles", 0, field): "no" for field in ("parking_brake_set", "in_park", "chocked")},
    }
    found = verdicts(hold(IN_ORDER.load, loose))
    assert found["eu-wheels-held"] == NOT_MET
    assert found["eu-sliding-forward"] == found["eu-ctu-code-rearward"] == OUTSIDE
    assert found["eu-sliding-sideways"] == MET
    assert found["eu-held-forward"] == MET


# --- the reference's own cases --------------------------------------------------------------------


def case_number(case: Mapping[str, Any], name: str) -> float:
    return float(case["expect"][name].split()[0])


@pytest.mark.parametrize(
    ("case_id", "forward", "rearward", "sideways"),
    [
        ("intl-coef-03", UP_TO_2_T[0], "eu-light-vehicle-rearward", UP_TO_2_T[1]),
        ("intl-coef-05", UP_TO_2_T[0], "eu-light-vehicle-rearward", UP_TO_2_T[1]),
        ("intl-coef-06", OVER_2_T[0], "eu-light-vehicle-rearward", OVER_2_T[1]),
        ("intl-coef-04", *EN_SLIDING),
    ],
)
def test_coefficients_by_vehicle_mass_are_those_of_the_cases(
    rules: Mapping[str, Rule],
    cases: Mapping[str, Any],
    case_id: str,
    forward: str,
    rearward: str,
    sideways: str,
) -> None:
    case = cases[case_id]
    for way, rule_id, name in (
        ("forward", forward, "braking"),
        ("rearward", rearward, "starting"),
        ("sideways", sideways, "cornering"),
    ):
        value = rules[rule_id].thresholds[name].on(DAY)
        assert value is not None
        assert value.value(metric=False) == pytest.approx(case_number(case, way)), case["source"]


@pytest.mark.parametrize(
    ("case_id", "rule_id", "name"),
    [
        ("intl-coef-01", "eu-sliding-forward", "braking"),
        ("intl-coef-02", "eu-tipping-sideways", "cornering"),
    ],
)
def test_coefficients_of_the_standard_are_those_of_the_cases(
    rules: Mapping[str, Rule], cases: Mapping[str, Any], case_id: str, rule_id: str, name: str
) -> None:
    case = cases[case_id]
    value = rules[rule_id].thresholds[name].on(DAY)
    assert value is not None
    assert value.value(metric=False) == pytest.approx(case_number(case, "c")), case["source"]


def test_band_of_standard_tension_is_that_of_the_case(
    rules: Mapping[str, Rule], cases: Mapping[str, Any]
) -> None:
    case = cases["intl-strength-01"]
    low, high = (case_number(case, name) for name in ("stf_low", "stf_high"))
    for tension, enough, not_too_much in (
        (low, MET, MET),
        (low - 1, NOT_MET, MET),
        (low + 1, MET, MET),
        (high - 1, MET, MET),
        (high, MET, MET),
        (high + 1, MET, NOT_MET),
    ):
        facts = {
            "tiedown.is_direct": 0.0,
            "tiedown.is_winch_line": 0.0,
            "tiedown.is_steel_strapping": 0.0,
            "tiedown.is_chain": 0.0,
            "tiedown.is_wire_rope": 0.0,
            "tiedown.lashing_capacity": 2500.0,
            "tiedown.standard_tension": tension,
        }
        found = [evaluate_case(rules[rule_id], facts, DAY).verdict for rule_id in BAND]
        assert found == [enough, not_too_much], tension


@pytest.mark.parametrize("case_id", ["tow-r55-07", "tow-r55-08", "tow-r55-09"])
def test_rating_of_the_tow_vehicle_is_that_of_the_cases(
    rules: Mapping[str, Rule], cases: Mapping[str, Any], case_id: str
) -> None:
    case = cases[case_id]
    towable = float(case["given"]["max_towable_mass"].split()[0]) * KG
    least = case_number(case, "min_coupling_rating") * KG
    for rating, verdict in ((least, MET), (least + 1, MET), (least - 1, NOT_MET)):
        facts = {
            "hitch.is_ball": 1.0,
            "hitch.receiver_tongue_rating": rating,
            "tow_vehicle.largest_trailer_weight": towable,
        }
        found = evaluate_case(rules["eu-car-coupling-rating"], facts, DAY).verdict
        assert found == verdict, case["source"]


@pytest.mark.parametrize(
    ("case_id", "rated", "expected", "rule_id", "heavier"),
    [
        ("tow-tongue-13", "trailer_max_mass", "max_vertical_load", MOST_ON_COUPLING, NOT_MET),
        ("tow-r55-10", "max_laden_mass", "min_coupling_mass", LEAST_ON_COUPLING, MET),
    ],
)
def test_coupling_loads_are_those_of_the_cases(
    books: Rulebooks,
    cases: Mapping[str, Any],
    case_id: str,
    rated: str,
    expected: str,
    rule_id: str,
    heavier: Verdict,
) -> None:
    case = cases[case_id]
    (rule,) = [rule for book in books.books for rule in book.rules if rule.id == rule_id]
    limit = case_number(case, expected) * KG
    mass = float(case["given"][rated].split()[0]) * KG
    lighter = MET if heavier is NOT_MET else NOT_MET
    for tongue, verdict in ((limit, MET), (limit + 1, heavier), (limit - 1, lighter)):
        facts = {
            "hitch.is_ball": 1.0,
            "trailer.is_full_trailer": 0.0,
            "trailer.gvwr": mass,
            "trailer.gross_weight": mass,
            "tow_vehicle.largest_trailer_weight": 3500 * KG,
            "hitch.tongue_weight": tongue,
        }
        assert evaluate_case(rule, facts, DAY).verdict == verdict, case["source"]


def test_least_coupling_load_departs_from_its_case(
    rules: Mapping[str, Rule], cases: Mapping[str, Any]
) -> None:
    """tow-r55-10 asks it in the whole EU; here German law alone does, of the actual mass.

    The case is a secondary copy of a rule of type approval, of the largest laden mass. The law
    that was read is StVZO 44 (3): 4 % of the actual mass, no more than 25 kg. What was read of EU
    law (Regulation (EU) 1230/2012) asks for a rating of the tow vehicle, not for a load.
    """
    assert cases["tow-r55-10"]["status"] == "secondary copy"
    asked = [rule.id for rule in rules.values() if rule.about == "least-coupling-load"]
    assert asked == ["eu-car-coupling-rating"]
