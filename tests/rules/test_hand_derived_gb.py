"""British rulebooks on whole loads: every verdict worked out by hand beside it.

The arithmetic starts from the numbers the profiles state and from the figures of the reference:
1 g forward, 0.5 g rearward and sideways (remembered), a 50 mm ball (secondary copy), 5-7 % on the
nose (text seen). W is an article's weight. Directions of a strap are (x, y, down) per unit of its
length, x along the trailer, y outward.

Where an article is held, one balance of forces is written out that holds it: straps within their
limits (3333 lb where nothing else is said), axles that press down, friction of at most 0.3 times
that. Where it is not, a bound no balance can pass.
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

JURISDICTION = "GB"
ROAD: dict[DataPath, Any] = {}  # each load here says where it goes
DAY = date(2026, 6, 1)
KG = 9.80665  # N, weight of one kilogram
MPH = 0.44704  # m/s, exact

MET, NOT_MET = Verdict.MET, Verdict.NOT_MET
OUTSIDE, UNKNOWN = Verdict.DOES_NOT_APPLY, Verdict.NOT_STATED
Texts = Mapping[DataPath, Any]
Hold = Callable[[str, Texts], Check]

PLACES: DataPath = ("trip", "places")
IN_BRITAIN: Texts = {PLACES: ["GB"]}
SIZE_50_MM: Texts = {
    ("tow_vehicle", "ball", "size"): "50 mm",
    ("trailer", "coupler", "size"): "50 mm",
}


class Worked(NamedTuple):
    """A bundled load with some fields changed, and what each rule has to say of it."""

    load: str
    texts: Texts
    verdicts: Mapping[str, Verdict]


# W = 1420 lb. Wheels at 52 + 14 = 66 and 52 + 90 = 142 in, 24.5 in to each side; centre of gravity
# at 52 + 57.35 = 109.35 in, 25 in up: 43.35 behind the front axle, 32.65 ahead of the rear one.
#   front straps, from (55, 14, 15) to (47, 24, 1): sqrt(360) = 18.97, (0.4216, 0.5270, 0.7379)
#   rear straps, from (153, 14, 16) to (164, 24, 1): sqrt(446) = 21.12, (0.5209, 0.4735, 0.7103)
IN_ORDER = Worked(
    "side-by-side-in-order",
    IN_BRITAIN,
    {
        # 1 g: both rear straps at 1420 / (2 x 0.5209) = 1363 lb, pressing with 1936 lb. The rear
        # axle carries (1420 x 43.35 + 1936 x 87 - 1420 x (25 - 16)) / 76 = 2858 lb, the front
        # one 1420 + 1936 - 2858 = 498 lb. No friction wanted.
        "gb-held-forward": MET,
        # 0.5 g: both front straps at 710 / (2 x 0.4216) = 842 lb, pressing with 1243 lb. Rear axle
        # (1420 x 43.35 - 1243 x 11 + 710 x (25 - 15)) / 76 = 723 lb, front one 1940 lb.
        "gb-held-rearward": MET,
        # 0.5 g: 316 lb across in the front strap of one side and 394 lb in the rear one are 710 lb
        # and do not turn it: 316 x 54.35 = 394 x 43.65. Tensions 600 and 832 lb. Along, 433 - 253
        # = 180 lb is left at the side; friction takes it: 141 lb of 0.3 x 1387 under that side's
        # wheels and 39 lb of 0.3 x 1067 under the other's. Axles: rear (61557 - 443 x 11
        # + 591 x 87 + 433 x 16 - 253 x 15) / 76 = 1464 lb, front 1420 + 1034 - 1464 = 990 lb.
        "gb-held-sideways": MET,
        "gb-ball-size": NOT_MET,  # 2 in = 50.8 mm
        "gb-coupler-size": NOT_MET,  # 2 in = 50.8 mm
        "gb-trailer-brakes": NOT_MET,  # 2990 lb = 1356 kg > 750 kg, no brakes
        "gb-secondary-coupling-fitted": MET,  # no brakes, two chains
        "gb-secondary-coupling-strength": NOT_MET,  # each 5000 lb < 2 x 2990 lb
        "gb-secondary-coupling-connected": MET,  # answered
        "gb-breakaway-fitted": OUTSIDE,  # no brakes
        "gb-breakaway-puts-brake-on": OUTSIDE,
        "gb-breakaway-clipped": OUTSIDE,  # none fitted
        # Nose 105 + 1420 x (124 - 109.35) / 124 = 273 lb of 920 + 1420 = 2340 lb: 11.7 %.
        "gb-nose-weight": MET,
        "gb-nose-weight-above-band": MET,  # over 164 lb, within 525 lb and 750 lb
        "gb-light-nose-speed": MET,  # 55 mph, enough on the nose
    },
)

WEAK_COUPLER_NO_CHAINS = Worked(
    "side-by-side-in-order",
    {
        **IN_BRITAIN,
        **SIZE_50_MM,
        ("trailer", "safety_chains", "count"): "0",
        ("walkaround", "chains_connected"): "no",
        ("trailer", "coupler", "tongue_rating"): "270 lb",
    },
    {
        **IN_ORDER.verdicts,
        "gb-ball-size": MET,
        "gb-coupler-size": MET,
        "gb-secondary-coupling-fitted": NOT_MET,  # none, and no brakes
        "gb-secondary-coupling-strength": OUTSIDE,
        "gb-secondary-coupling-connected": NOT_MET,
        "gb-nose-weight-above-band": NOT_MET,  # 273 lb: over 7 %, 164 lb, and over 270 lb
    },
)

IN_THE_YARD = Worked(
    "side-by-side-in-order",
    {**WEAK_COUPLER_NO_CHAINS.texts, ("trip", "public_road"): "no"},
    {
        **WEAK_COUPLER_NO_CHAINS.verdicts,
        "gb-ball-size": OUTSIDE,
        "gb-coupler-size": OUTSIDE,
        "gb-trailer-brakes": OUTSIDE,
        "gb-secondary-coupling-fitted": OUTSIDE,
        "gb-secondary-coupling-connected": OUTSIDE,
    },
)

WEAK_REAR_STRAPS = Worked(
    "side-by-side-in-order",
    {
        **IN_BRITAIN,
        ("tiedowns", 2, "marked_working_load_limit"): "400 lb",
        ("tiedowns", 3, "marked_working_load_limit"): "400 lb",
    },
    {
        **IN_ORDER.verdicts,
        # Forces along: friction under W, and of each rear strap 400 x (0.5209 + 0.3 x 0.7103); a
        # front strap takes 0.4216 and gives 0.3 x 0.7379. At most 426 + 587 = 1013 lb, 0.71 g.
        "gb-held-forward": NOT_MET,
        "gb-held-rearward": MET,  # the front straps alone, as above
        # 0.5 g: 189 lb across in a rear strap at its 400 lb, 290 lb in a front one at 551 lb and
        # 231 lb in the rear wheels: 710 lb, and 290 x 54.35 = 189 x 43.65 + 231 x 32.65. Along,
        # 232 - 208 = 24 lb is left. Axles: rear (61557 - 407 x 11 + 284 x 87 + 208 x 16 - 232 x
        # 15) / 76 = 1074 lb, whose friction goes up to 322 lb; front 1420 + 691 - 1074 = 1037 lb.
        "gb-held-sideways": MET,
    },
)

# The same machine 6 in further forward, at 103.35 in, wheels at 60 and 136 in, and two rear straps
# only, from (147, 14, 16) to (164, 24, 1): sqrt(614) = 24.78, (0.6861, 0.4036, 0.6053).
REAR_STRAPS_ONLY = Worked(
    "rear-straps-only",
    IN_BRITAIN,
    {
        **IN_ORDER.verdicts,
        # 1 g without the rail: both straps at 1420 / (2 x 0.6861) = 1035 lb, pressing with
        # 1253 lb. Rear axle (61557 + 1253 x 87 - 1420 x 9) / 76 = 2076 lb, front one 597 lb.
        "gb-held-forward": MET,
        # Friction alone, 0.3 g: a pound of pull takes 0.6861 lb and gives 0.3 x 0.6053 lb.
        "gb-held-rearward": NOT_MET,
        # Turning about the rear attachment of the side away from which it slides: 0.5 g turns it
        # with 710 x 43.65 = 30992 in lb and the other strap helps. Friction at most 0.3 x (95.1 in
        # x front axle + 40.0 in x rear axle). Both straps together at t: their pull rearward is
        # friction's to hold, 0.6861 t at most 0.3 (1420 + 0.6053 t), so t at most 844 lb.
        # t = 0: 0.3 (95.1 x 610 + 40.0 x 810) = 27123 in lb. t = 844: front axle (46363 - 511 x 11
        # - 579 x 16) / 76 = 414 lb, rear one 1517 lb, 30015 in lb. Straight between: never 30992.
        "gb-held-sideways": NOT_MET,
        # Nose 105 + 1420 x (124 - 103.35) / 124 = 341.5 lb of 2340 lb: 14.6 %.
        "gb-nose-weight": MET,
        "gb-nose-weight-above-band": MET,  # within 525 lb and 750 lb
        "gb-light-nose-speed": MET,
    },
)

# On the flatbed: wheels at 113 + 14 = 127 and 113 + 90 = 203 in, centre of gravity at 170.35 in.
#   front straps, from (116, 14, 15) to (90, 39, 1): sqrt(1497) = 38.69, (0.6720, 0.6461, 0.3618)
#   rear straps, from (214, 14, 16) to (239, 39, 1): sqrt(1475) = 38.41, (0.6509, 0.6509, 0.3906)
WITH_BRAKES = Worked(
    "too-far-back",
    {**IN_BRITAIN, **SIZE_50_MM},
    {
        # 1 g: rear straps at 1420 / (2 x 0.6509) = 1091 lb, pressing with 852 lb. Rear axle
        # (61557 + 852 x 87 - 1420 x 9) / 76 = 1617 lb, front one 655 lb.
        "gb-held-forward": MET,
        # 0.5 g: front straps at 710 / (2 x 0.6720) = 528 lb, pressing with 382 lb. Rear axle
        # (61557 - 382 x 11 + 710 x 10) / 76 = 848 lb, front one 954 lb.
        "gb-held-rearward": MET,
        # 0.5 g: 316 and 394 lb across again, tensions 489 and 605 lb, pressing with 177 and 236 lb.
        # Along, 394 - 329 = 65 lb is left for friction. Axles 1072 lb at the rear, 761 in front.
        # Over the side 710 x 25 - 316 x 15 - 394 x 16 - 413 x 14 = 924 in lb moves what they carry
        # by 924 / 1833 = 0.5 in of 24.5.
        "gb-held-sideways": MET,
        "gb-ball-size": MET,
        "gb-coupler-size": MET,
        "gb-trailer-brakes": MET,  # electric brakes
        "gb-secondary-coupling-fitted": OUTSIDE,
        "gb-secondary-coupling-strength": OUTSIDE,  # a breakaway cable is fitted
        "gb-secondary-coupling-connected": OUTSIDE,
        "gb-breakaway-fitted": MET,  # answered
        "gb-breakaway-puts-brake-on": MET,
        "gb-breakaway-clipped": MET,
        # Nose 230 + 1420 x (167 - 170.35) / 167 = 201.5 lb of 1900 + 1420 = 3320 lb: 6.07 %.
        "gb-nose-weight": MET,
        "gb-nose-weight-above-band": MET,  # below 7 %
        "gb-light-nose-speed": MET,
    },
)

LIGHT_NOSE_LOOSE_CABLE = Worked(
    "too-far-back",
    {
        **WITH_BRAKES.texts,
        ("trailer", "empty_tongue_weight"): "180 lb",
        ("walkaround", "breakaway_works_all_brakes"): "no",
        ("walkaround", "breakaway_connected"): "no",
    },
    {
        **WITH_BRAKES.verdicts,
        "gb-breakaway-puts-brake-on": NOT_MET,
        "gb-breakaway-clipped": NOT_MET,
        # Nose 180 - 28.5 = 151.5 lb of 3320 lb: 4.56 %, below 166 lb.
        "gb-nose-weight": NOT_MET,
        "gb-light-nose-speed": NOT_MET,  # 55 mph
    },
)

SLOW_WITHOUT_CABLE = Worked(
    "too-far-back",
    {
        **LIGHT_NOSE_LOOSE_CABLE.texts,
        ("trailer", "breakaway_fitted"): "no",
        ("trip", "speed"): "50 mph",
    },
    {
        **LIGHT_NOSE_LOOSE_CABLE.verdicts,
        "gb-breakaway-fitted": NOT_MET,
        "gb-secondary-coupling-strength": NOT_MET,  # each 11700 lb < 2 x 7000 lb
        "gb-breakaway-clipped": OUTSIDE,  # nothing to clip
        "gb-light-nose-speed": MET,  # 4.56 %, but not above 50 mph
    },
)

# Neither place nor contents of the deck, nor kind of road are stated; the trailer is known.
HARDLY_STATED = Worked(
    "missing-information",
    IN_BRITAIN,
    {
        "gb-held-forward": UNKNOWN,
        "gb-held-rearward": UNKNOWN,
        "gb-held-sideways": UNKNOWN,
        "gb-ball-size": UNKNOWN,  # may be no public road
        "gb-coupler-size": UNKNOWN,
        "gb-trailer-brakes": UNKNOWN,  # rated 1356 kg, no brakes: a road decides
        "gb-secondary-coupling-fitted": UNKNOWN,
        "gb-secondary-coupling-strength": UNKNOWN,
        "gb-secondary-coupling-connected": UNKNOWN,
        "gb-breakaway-fitted": OUTSIDE,  # no brakes on any road
        "gb-breakaway-puts-brake-on": OUTSIDE,
        "gb-breakaway-clipped": OUTSIDE,  # none fitted
        "gb-nose-weight": UNKNOWN,  # where the mower stands is not stated
        "gb-nose-weight-above-band": UNKNOWN,
        "gb-light-nose-speed": UNKNOWN,
    },
)

LOADS = {
    "in order": IN_ORDER,
    "weak coupler, no chains": WEAK_COUPLER_NO_CHAINS,
    "in the yard": IN_THE_YARD,
    "weak rear straps": WEAK_REAR_STRAPS,
    "rear straps only": REAR_STRAPS_ONLY,
    "with brakes": WITH_BRAKES,
    "light nose, loose cable": LIGHT_NOSE_LOOSE_CABLE,
    "slow, without a cable": SLOW_WITHOUT_CABLE,
    "hardly anything stated": HARDLY_STATED,
}


@pytest.mark.parametrize("worked", LOADS.values(), ids=LOADS.keys())
def test_every_rule_says_what_was_worked_out_by_hand(hold: Hold, worked: Worked) -> None:
    done = hold(worked.load, worked.texts)
    found = {finding.rule.id: finding.verdict for finding in done.findings}
    assert found == dict(worked.verdicts)


def test_every_rule_is_worked_out(rules: Mapping[str, Rule]) -> None:
    assert set(rules) == set(IN_ORDER.verdicts)


def test_every_rule_is_broken_by_some_load() -> None:
    broken = {
        rule_id
        for worked in LOADS.values()
        for rule_id, verdict in worked.verdicts.items()
        if verdict is NOT_MET
    }
    assert broken == set(IN_ORDER.verdicts)


@pytest.mark.parametrize("places", [["GB"], ["GB-SCT"]])
def test_in_force_where_the_trip_touches_the_kingdom(hold: Hold, places: list[str]) -> None:
    done = hold("side-by-side-in-order", {PLACES: places})
    assert {each.book.id: each.verdict for each in done.in_force} == {
        "gb-securement": MET,
        "gb-towing": MET,
    }


@pytest.mark.parametrize("places", [["US-UT"], ["IE"]])
def test_not_in_force_elsewhere(hold: Hold, places: list[str]) -> None:
    done = hold("side-by-side-in-order", {PLACES: places})
    assert {each.book.id: each.elsewhere for each in done.in_force} == {
        "gb-securement": True,
        "gb-towing": True,
    }
    assert {finding.verdict for finding in done.findings} <= {OUTSIDE}


def test_band_of_nose_weight_is_that_of_the_published_figures(
    rules: Mapping[str, Rule], cases: Mapping[str, Any]
) -> None:
    """A caravan of 1200 kg: 60 to 84 kg, 5 to 7 % (towing guide p. 11; own arithmetic)."""
    case = cases["tow-tongue-11"]
    low, high = (
        float(case["expect"][name].removesuffix(" kg")) * KG
        for name in ("nose_load_low", "nose_load_high")
    )
    ids = ("gb-nose-weight", "gb-light-nose-speed", "gb-nose-weight-above-band")
    for nose, *wanted in (
        (low - 1, NOT_MET, NOT_MET, MET),
        (low, MET, MET, MET),
        (low + 1, MET, MET, MET),
        (high - 1, MET, MET, MET),
        (high, MET, MET, MET),
        (high + 1, MET, MET, NOT_MET),
    ):
        facts = {
            "hitch.is_ball": 1.0,
            "hitch.tongue_weight": nose,
            "hitch.coupler_tongue_rating": low,
            "hitch.receiver_tongue_rating": low,
            "trailer.gross_weight": 1200 * KG,
            "trip.speed": 60 * MPH,
        }
        assert [evaluate_case(rules[each], facts, DAY).verdict for each in ids] == wanted, nose
