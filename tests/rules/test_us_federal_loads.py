"""Small loads put to single federal rules, where the facts of a load and the rule meet.

The expected verdicts come from the clause named in each test (49 CFR, 2015 annual edition; 390.5
as reprinted; 23 CFR 658.15), the arithmetic from the comment beside it.
"""

from collections.abc import Callable, Mapping
from typing import Any

import pytest

from checker.evaluation.check import Check
from checker.rulebooks.verdicts import Verdict

MET, NOT_MET = Verdict.MET, Verdict.NOT_MET
NOT_STATED, DOES_NOT_APPLY = Verdict.NOT_STATED, Verdict.DOES_NOT_APPLY

Data = dict[str, Any]
Held = Callable[[Mapping[str, Any]], Check]
Judge = Callable[..., Verdict]

ON_DECK = {"x": "100 in", "y": "0 in", "facing": "forward"}
CORNERS = {
    f"{end}-{side}": {"x": f"{x} in", "y": f"{y} in", "z": "20 in"}
    for end, x in (("front", 5), ("rear", 95))
    for side, y in (("left", 25), ("right", -25))
}
RINGS = {
    f"{end}-{side}": {"x": f"{x} in", "y": f"{y} in", "z": "0 in"}
    for end, x in (("front", 70), ("middle", 150), ("rear", 230))
    for side, y in (("left", 38), ("right", -38))
}


@pytest.fixture
def judge(held: Held) -> Judge:
    """The verdict of one rule on a load of a carrier that follows the federal rules."""

    def verdict(rule_id: str, **parts: Any) -> Verdict:
        trip = {"places": ["US-UT"], "public_road": "yes", **parts.pop("trip", {})}
        carrier = parts.pop("carrier", {"follows_federal_rules": "yes"})
        done = held({"carrier": carrier, "trip": trip, **parts})
        (found,) = [each for each in done.findings if each.rule.id == rule_id]
        return found.verdict

    return verdict


def cargo(kind: str, **more: Any) -> Data:
    return {
        "type": kind,
        "weight": "2000 lb",
        "length": "100 in",
        "width": "60 in",
        "height": "40 in",
        "placed": ON_DECK,
        "attachments": CORNERS,
        "fully_contained": "no",
        **more,
    }


def over(*places: str) -> list[Data]:
    """Straps over the load from one side to the other."""
    return [
        {
            "device": "webbing",
            "path": "other side",
            "anchor": f"{place}-left",
            "far_anchor": f"{place}-right",
            "pulls": ["down"],
        }
        for place in places
    ]


def direct(corner: str, ring: str, *ways: str) -> Data:
    return {
        "device": "chain",
        "path": "direct",
        "anchor": ring,
        "attachment": corner,
        "pulls": [*ways, "down"],
    }


REAR_PAIR = [
    direct("rear-left", "rear-left", "rearward", "left"),
    direct("rear-right", "rear-right", "rearward", "right"),
]
FRONT_PAIR = [
    direct("front-left", "front-left", "forward", "left"),
    direct("front-right", "front-right", "forward", "right"),
]


# --- 393.100(c), 393.102(c), 393.106(b): held every way -----------------------------------------


def test_goods_pressed_on_the_deck_need_no_cleats(judge: Judge) -> None:
    """393.102(c)(3): met where the tiedown rules are; none of them asks for cleats.

    Practice asks how hard it is pressed, which this profile does not state.
    """
    rig = {
        "trailer": {"anchors": RINGS},
        "articles": [cargo("palletised goods")],
        "tiedowns": over("front", "rear"),
    }
    assert judge("us-held-every-way", **rig) is MET
    for way in ("forward", "rearward", "left", "right"):
        assert judge(f"held-from-moving-{way}", **rig) is NOT_STATED
    assert judge("held-down", **rig) is MET


def test_goods_that_nothing_holds_are_not_held(judge: Judge) -> None:
    """393.106(b): weight and a rough deck secure nothing."""
    rig = {"articles": [cargo("palletised goods")], "tiedowns": []}
    assert judge("us-held-every-way", **rig) is NOT_MET
    assert judge("held-down", **rig) is NOT_MET


@pytest.mark.parametrize(
    ("tiedowns", "verdict"),
    [(REAR_PAIR, NOT_MET), ([*REAR_PAIR, *FRONT_PAIR], MET), (over("front", "rear"), NOT_MET)],
)
def test_a_machine_is_held_each_way_by_tiedowns_that_pull_back(
    judge: Judge, tiedowns: list[Data], verdict: Verdict
) -> None:
    """393.100(c): rear straps alone leave rearward open; straps over it only press it down."""
    rig = {"trailer": {"anchors": RINGS}, "articles": [cargo("wheeled machine")]}
    assert judge("us-held-every-way", tiedowns=tiedowns, **rig) is verdict


def test_how_hard_it_is_held_is_advice(held: Held) -> None:
    """393.102(c): the section is met by other routes too, so the figures hold no load up."""
    done = held({"articles": [cargo("wheeled machine")]})
    levels = {each.rule.id: each.rule.level for each in done.findings}
    assert levels["us-held-every-way"] == "must"
    assert levels["us-held-to-breaking-strength"] == "should"
    assert levels["us-held-to-working-load-limit"] == "should"


# --- 393.128(b)(2): points made for tying down --------------------------------------------------


@pytest.mark.parametrize(
    ("part", "verdict"),
    [("tie-down point", MET), ("frame", NOT_MET), ("axle", NOT_MET), ("accessory", NOT_MET)],
)
def test_a_van_is_tied_by_the_points_made_for_it(judge: Judge, part: str, verdict: Verdict) -> None:
    points = {name: {**place, "part": part} for name, place in CORNERS.items()}
    found = judge(
        "us-road-vehicle-mounting-points",
        trailer={"anchors": RINGS},
        articles=[cargo("road vehicle", attachments=points)],
        tiedowns=[{**each, "over_wheel": "no"} for each in FRONT_PAIR],
    )
    assert found is verdict


def test_straps_over_the_wheels_need_no_point(judge: Judge) -> None:
    """393.128(b)(3) is the paragraph that speaks of them."""
    points = {name: {**place, "part": "wheel"} for name, place in CORNERS.items()}
    found = judge(
        "us-road-vehicle-mounting-points",
        trailer={"anchors": RINGS},
        articles=[cargo("road vehicle", attachments=points)],
        tiedowns=[{**each, "over_wheel": "yes"} for each in FRONT_PAIR],
    )
    assert found is DOES_NOT_APPLY


# --- 393.106(c)(1): what can roll ---------------------------------------------------------------


@pytest.mark.parametrize(
    ("more", "verdict"),
    [
        ({"round": "yes", "chocked": "no"}, NOT_MET),
        ({"round": "yes", "chocked": "no", "parking_brake_set": "yes"}, NOT_MET),  # it has none
        ({"round": "yes", "chocked": "yes"}, MET),
        ({"round": "no"}, DOES_NOT_APPLY),
        ({}, NOT_STATED),
    ],
)
def test_a_reel_is_wedged_and_a_crate_is_not_asked(
    judge: Judge, more: Data, verdict: Verdict
) -> None:
    found = judge("us-rolling-cargo-stopped", articles=[cargo("palletised goods", **more)])
    assert found is verdict


# --- 393.106(a): commodities with rules of their own --------------------------------------------


@pytest.mark.parametrize(
    ("kind", "more", "verdict"),
    [
        ("palletised goods", {}, NOT_STATED),
        ("palletised goods", {"of_no_special_commodity": "no"}, NOT_MET),
        ("palletised goods", {"of_no_special_commodity": "yes"}, MET),
        ("tracked machine", {}, DOES_NOT_APPLY),
        ("road vehicle", {}, DOES_NOT_APPLY),
    ],
)
def test_a_commodity_nobody_ruled_out_is_never_a_pass(
    judge: Judge, kind: str, more: Data, verdict: Verdict
) -> None:
    assert judge("us-commodity-rules", articles=[cargo(kind, **more)]) is verdict


# --- 390.5: whom the rules bind -----------------------------------------------------------------


@pytest.mark.parametrize("book", ["us-federal-securement", "us-federal-vehicle"])
@pytest.mark.parametrize(
    ("seats", "placards", "pay", "verdict"),
    [
        (5, "no", None, DOES_NOT_APPLY),
        (5, "yes", None, MET),  # (4), whatever it weighs
        (8, "no", "yes", DOES_NOT_APPLY),
        (9, "no", "yes", MET),  # (2): more than 8, for pay
        (9, "no", None, NOT_STATED),
        (15, "no", "no", DOES_NOT_APPLY),
        (16, "no", "no", MET),  # (3): more than 15
        (16, "no", None, MET),
        (5, None, None, NOT_STATED),
        (None, "no", "no", NOT_STATED),
    ],
)
def test_a_light_rig_is_bound_by_its_seats_or_its_placards(
    held: Held,
    book: str,
    seats: int | None,
    placards: str | None,
    pay: str | None,
    verdict: Verdict,
) -> None:
    tow: Data = {"gcwr": "9000 lb", "gcwr_on_label": "yes", "gvwr": "5000 lb"}
    tow |= {"front_axle_weight": "2000 lb", "rear_axle_weight": "2000 lb"}
    tow |= {"front_restoration": "none"}
    trip: Data = {"places": ["US-UT"], "interstate": "yes"}
    trip |= {} if placards is None else {"placarded_cargo": placards}
    trip |= {} if pay is None else {"people_for_pay": pay}
    load = {
        "carrier": {
            "follows_federal_rules": "no",
            "government": "no",
            "personal_and_unpaid": "no",
        },
        "trailer": {"gvwr": "3000 lb", "empty_weight": "1000 lb", "empty_tongue_weight": "100 lb"},
        "tow_vehicle": tow if seats is None else {**tow, "seats": seats},
        "articles": [cargo("wheeled machine", weight="1000 lb", cg={"x": "50 in"})],
        "trip": trip,
    }
    load["trailer"]["axles"] = {"axle": {"x": "150 in"}}
    (found,) = [each for each in held(load).in_force if each.book.id == book]
    assert found.verdict is verdict


# --- 23 CFR 658.15: width -----------------------------------------------------------------------


def width(judge: Judge, rule_id: str, inches: int, **trip: Any) -> Verdict:
    return judge(
        rule_id,
        trailer={"overall_width": "80 in"},
        articles=[cargo("wheeled machine", width=f"{inches} in")],
        trip={"over_width_permit": "no", **trip},
    )


@pytest.mark.parametrize(
    ("inches", "network", "verdict", "off_network"),
    [
        (102, None, MET, MET),
        (103, None, NOT_STATED, NOT_STATED),
        (103, "national network", NOT_MET, DOES_NOT_APPLY),
        (103, "other roads", DOES_NOT_APPLY, NOT_MET),
    ],
)
def test_a_wide_load_goes_by_the_road_it_is_on(
    judge: Judge, inches: int, network: str | None, verdict: Verdict, off_network: Verdict
) -> None:
    road = {} if network is None else {"network": network}
    assert width(judge, "us-width", inches, **road) is verdict
    assert width(judge, "wide-load-off-network", inches, **road) is off_network


def test_hawaii_goes_by_its_own_width(judge: Judge) -> None:
    island = {"places": ["US-HI"], "network": "national network"}
    assert width(judge, "us-width", 105, **island) is DOES_NOT_APPLY
    assert width(judge, "us-width-hawaii", 105, **island) is MET
    assert width(judge, "us-width-hawaii", 109, **island) is NOT_MET


def test_a_load_out_on_one_side_is_that_much_wider(judge: Judge) -> None:
    """80 in of trailer; a machine of 60 in whose left side is 60 in out: 40 + 60 = 100 in."""
    to_the_left = {**ON_DECK, "y": "30 in"}
    found = judge(
        "us-width",
        trailer={"overall_width": "80 in"},
        articles=[cargo("wheeled machine", placed=to_the_left)],
        trip={"over_width_permit": "no", "network": "national network"},
    )
    assert found is MET


# --- 393.75(f): the heavier side's tyres --------------------------------------------------------


@pytest.mark.parametrize(
    ("y", "rating", "verdict"),
    [
        ("0 in", "1000 lb", MET),  # 4,000 lb on four tyres
        ("0 in", "999 lb", NOT_MET),
        ("12 in", "1000 lb", NOT_MET),  # 0.5 + 3,000 x 12 / (4,000 x 80) = 61.25 %
        ("12 in", "1225 lb", MET),  # 2 x 61.25 % x 1,000 = 1,225
        ("12 in", "1224 lb", NOT_MET),
    ],
)
def test_the_tyres_of_the_heavier_side_decide(
    judge: Judge, y: str, rating: str, verdict: Verdict
) -> None:
    found = judge(
        "us-tyre-load",
        trailer={
            "empty_weight": "1000 lb",
            "empty_tongue_weight": "0 lb",
            "track": "80 in",
            "suspension": "single",
            "axles": {"axle": {"x": "150 in", "tyres": 4, "tyre_rating": rating}},
        },
        articles=[
            cargo(
                "wheeled machine",
                weight="3000 lb",
                cg={"x": "50 in", "y": "0 in"},
                placed={**ON_DECK, "y": y},
            )
        ],
        tow_vehicle={"front_restoration": "none"},
        trip={"tyre_overload_permit": "no"},
    )
    assert found is verdict


# --- 392.9(b)(2): the first stop ----------------------------------------------------------------


@pytest.mark.parametrize(
    ("stops", "verdict"),
    [(["40 mi"], MET), (["0 mi"], NOT_MET), (["0 mi", "50 mi"], MET), (["0 mi", "51 mi"], NOT_MET)],
)
def test_a_look_before_leaving_is_no_stop(judge: Judge, stops: list[str], verdict: Verdict) -> None:
    trip = {"distance": "120 mi", "load_checks": stops}
    assert judge("us-first-load-check", trip=trip) is verdict
