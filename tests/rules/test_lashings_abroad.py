"""Lashings with the labels of their place, through `check`: what decides, and the figure it shows.

A 1.5 t excavator stands on a tandem trailer under four chains from its corners, marked with LC and
STF alone, on rings of a stated force. Figures in the tests are of the arithmetic in `HELD`.
"""

import copy
from collections.abc import Callable, Mapping
from typing import Any

import pytest

from checker.evaluation.finding import Finding
from checker.facts.catalogue import catalogue
from checker.rulebooks.model import Rulebooks
from checker.rulebooks.selection import select_rulebooks
from checker.rulebooks.verdicts import Verdict
from tests.lashed_goods import Data, metres
from tests.rules.conftest import Held

MET, NOT_MET = Verdict.MET, Verdict.NOT_MET
OUTSIDE, UNKNOWN = Verdict.DOES_NOT_APPLY, Verdict.NOT_STATED
BOOKS = (
    "eu-roadside-directive",
    "eu-lashing-forces",
    "eu-light-vehicles",
    "eu-ctu-code",
    "eu-lashings",
    "gb-securement",
    "australia-performance",
    "australia-light-vehicles",
    "new-zealand-load-securing",
)
CORNERS = {"fl": (0.4, 0.4), "fr": (0.4, -0.4), "rl": (1.8, 0.4), "rr": (1.8, -0.4)}
WAYS = ("forward", "rearward", "sideways")

# W = 1500 kg = 14710 N, friction 0.3, parking brake set. Chains from 0.4 m up, 0.6 m out along and
# across, to the deck: sqrt(0.36 + 0.36 + 0.16) = 0.938 m, (0.6396, 0.6396, 0.4264). Rings of
# 1500 daN are the weakest part: 1.0197 W each. Two pull against each way.
#   EN 12195-1: 0.225 + 2 x 1.0197 x (0.6396 + 0.225 x 0.4264) = 1.725
#   Load Restraint Guide: 2 x 1.0197 x 0.6396 = 1.304
HELD = {"EN 12195-1": 1.725, "guide": 1.304}
RING = "1500 daN"


def excavator(place: str, rated: str = "2700 kg", ring: str = RING) -> Data:
    """The load with local labels alone."""
    free = {"working_load_limit": "no rating exists"}
    anchors = {
        corner: metres(2.1 + x + (-0.6 if x < 1 else 0.6), y * 2.5, 0.0)
        | {"lashing_capacity": ring}
        for corner, (x, y) in CORNERS.items()
    }
    chain = {"device": "chain", "size": "8 mm", "path": "direct"}
    label = {"lashing_capacity": "2000 daN", "standard_tension": "500 daN"}
    return {
        "trip": {"places": [place], "public_road": "yes"},
        "tow_vehicle": {
            "gvwr": "1800 kg",
            "front_axle_weight": "800 kg",
            "rear_axle_weight": "700 kg",
            "gcwr_on_label": "no",
        },
        "trailer": {
            "gvwr": rated,
            "empty_weight": "650 kg",
            "empty_tongue_weight": "60 kg",
            "full_trailer": "no",
            "anchors": anchors,
        },
        "articles": [
            {
                "type": "tracked machine",
                "weight": "1500 kg",
                "length": "2.2 m",
                "width": "1 m",
                "height": "2.2 m",
                "cg": metres(1.1, 0.0, 0.6),
                "axles": {
                    "front": {"x": "0.4 m", "track": "0.85 m"},
                    "rear": {"x": "1.8 m", "track": "0.85 m"},
                },
                "placed": {"x": "2.1 m", "y": "0 m", "facing": "forward"},
                "friction": 0.3,
                "parking_brake_set": "yes",
                "in_park": "no",
                "chocked": "no",
                "fully_contained": "no",
                "attachments": {
                    corner: metres(x, y, 0.4) | free for corner, (x, y) in CORNERS.items()
                },
            }
        ],
        "tiedowns": [chain | label | {"anchor": each, "attachment": each} for each in CORNERS],
    }


PLACES: Mapping[str, tuple[str, str, tuple[str, ...]]] = {
    "heavy trailer in Germany": ("DE", "4 t", tuple(f"eu-held-{way}" for way in WAYS)),
    "light trailer in Germany": ("DE", "2700 kg", tuple(f"eu-light-vehicle-{way}" for way in WAYS)),
    "Britain": ("GB", "2700 kg", tuple(f"gb-held-{way}" for way in WAYS)),
    "Australia, light": ("AU", "2000 kg", tuple(f"au-light-held-{way}" for way in WAYS)),
    "New Zealand": ("NZ", "2700 kg", tuple(f"nz-held-{way}" for way in WAYS)),
}


@pytest.fixture
def found(
    books: Rulebooks, held_by: Callable[[Rulebooks], Held]
) -> Callable[[Data], dict[str, Finding]]:
    """What each rule of these places says of a load."""
    hold = held_by(select_rulebooks(books, BOOKS))
    return lambda data: {each.rule.id: each for each in hold(data).findings}


Found = Callable[[Data], dict[str, Finding]]


def shown(finding: Finding) -> float:
    """The g held that a finding shows as its deciding figure."""
    assert finding.governing is not None
    assert catalogue()[finding.governing.left].kind == "gravities"
    return finding.governing.left_value


@pytest.mark.parametrize("name", PLACES)
def test_lc_and_stf_alone_decide_and_the_g_held_is_shown(found: Found, name: str) -> None:
    place, rated, rules = PLACES[name]
    findings = found(excavator(place, rated))
    assert {findings[rule].verdict for rule in rules} == {MET}
    held = HELD["guide" if place in ("AU", "NZ") else "EN 12195-1"]
    assert shown(findings[rules[0]]) == pytest.approx(held, abs=0.001)


@pytest.mark.parametrize("name", PLACES)
def test_weak_rings_are_not_met(found: Found, name: str) -> None:
    """Rings of 100 daN: 0.225 + 2 x 0.068 x 0.7355 = 0.325, and less by the guide."""
    place, rated, rules = PLACES[name]
    verdicts = found(excavator(place, rated, ring="100 daN"))
    assert {verdicts[rule].verdict for rule in rules} == {NOT_MET}


PARTS: Mapping[str, Callable[[Data], Any]] = {
    "ring": lambda data: data["trailer"]["anchors"]["rl"].update(lashing_capacity="50 daN"),
    "point": lambda data: data["articles"][0]["attachments"]["rl"].update(
        working_load_limit="50 daN"
    ),
    "hook": lambda data: data["tiedowns"][2].update(hooks_working_load_limit="50 daN"),
    "tensioner": lambda data: data["tiedowns"][2].update(tensioner_lashing_capacity="50 daN"),
}


@pytest.mark.parametrize("part", PARTS)
@pytest.mark.parametrize("name", PLACES)
def test_each_part_limits_the_figure_shown(found: Found, name: str, part: str) -> None:
    place, rated, rules = PLACES[name]
    strong, weak = excavator(place, rated), excavator(place, rated)
    PARTS[part](weak)
    before, after = (found(data)[rules[0]] for data in (strong, weak))
    # One of the two chains that hold it forward is left with a thirtieth.
    lost = {"DE": 1.0197 * 29 / 30 * 0.7355, "GB": 1.0197 * 29 / 30 * 0.7355}
    guide = 1.0197 * 29 / 30 * 0.6396
    assert shown(before) - shown(after) == pytest.approx(lost.get(place, guide), abs=0.002)


@pytest.mark.parametrize("name", PLACES)
def test_a_lone_lashing_is_told_by_the_g_held(found: Found, name: str) -> None:
    """One chain rearward: friction alone is left, 0.3 by the sum of lashings over it; no friction
    in the guide.
    """
    place, rated, rules = PLACES[name]
    data = excavator(place, rated)
    del data["tiedowns"][2]
    finding = found(data)[rules[0]]
    assert finding.verdict is NOT_MET
    assert shown(finding) == pytest.approx(0.0 if place in ("AU", "NZ") else 0.3, abs=0.001)


@pytest.mark.parametrize("name", PLACES)
def test_no_label_leaves_it_open(found: Found, name: str) -> None:
    place, rated, rules = PLACES[name]
    data = excavator(place, rated)
    for tiedown in data["tiedowns"]:
        del tiedown["lashing_capacity"]
    findings = found(data)
    assert {findings[rule].verdict for rule in rules} == {UNKNOWN}
    assert "tiedowns.3.lashing_capacity" in findings[rules[0]].missing


@pytest.mark.parametrize("place", ["AU", "NZ"])
def test_held_down_by_lc_alone(found: Found, place: str) -> None:
    """Every chain at 0.149 W presses 4 x 0.149 x 0.4264 = 0.254 W and pulls no way: over 1.2."""
    rule = {"AU": "au-light-held-down", "NZ": "nz-held-down"}[place]
    assert found(excavator(place, "2000 kg"))[rule].verdict is MET
    # 4 x 0.068 x 0.4264 = 0.116 W at most.
    assert found(excavator(place, "2000 kg", ring="100 daN"))[rule].verdict is NOT_MET


def test_more_load_is_never_held_more(found: Found) -> None:
    for place, rated, rules in PLACES.values():
        figures = []
        for weight in ("1200 kg", "1500 kg", "1900 kg"):
            data = excavator(place, rated)
            data["articles"][0]["weight"] = weight
            figures.append(shown(found(data)[rules[0]]))
        assert figures == sorted(figures, reverse=True), place


@pytest.mark.parametrize(
    ("capacity", "ring"),
    [("2000 daN", "1500 daN"), ("20 kN", "15 kN"), ("2039.4324 kg", "1529.5743 kg")],
)
def test_the_unit_on_the_label_does_not_matter(found: Found, capacity: str, ring: str) -> None:
    """1 kg on an Australian label stands for 9.80665 N."""
    data = excavator("NZ", ring=ring)
    for tiedown in data["tiedowns"]:
        tiedown["lashing_capacity"] = capacity
    assert shown(found(data)["nz-held-forward"]) == pytest.approx(HELD["guide"], abs=0.001)


@pytest.mark.parametrize(
    ("intermodal", "verdict"), [("yes", UNKNOWN), ("no", OUTSIDE), (None, UNKNOWN)]
)
def test_the_ctu_code_asks_intermodal_trips_alone(
    found: Found, intermodal: str | None, verdict: Verdict
) -> None:
    """Its own sum waits for a breaking strength, so that a trip by ferry is undecided here."""
    data = excavator("FR", "4 t")
    if intermodal:
        data["trip"]["intermodal"] = intermodal
    findings = found(data)
    assert findings["eu-ctu-code-forward"].verdict is verdict
    by_weight = {"yes": MET, "no": OUTSIDE, None: UNKNOWN}[intermodal]
    assert findings["eu-lashings-by-weight"].verdict is by_weight


def under_a_strap(*, reverse: bool) -> Data:
    """The excavator under one strap, one leg at 45 degrees and one at 22."""
    data = excavator("FR", "4 t")
    article = data["articles"][0]
    free = {"working_load_limit": "no rating exists"}
    article["attachments"] |= {
        "left": metres(1.1, 0.4, 1.0) | free,
        "right": metres(1.1, -0.4, 1.0) | free,
    }
    ends = {"near": metres(3.2, 1.4, 0.0), "far": metres(3.2, -2.9, 0.0)}
    data["trailer"]["anchors"] |= {
        name: place | {"lashing_capacity": RING} for name, place in ends.items()
    }
    strap = {"device": "webbing", "path": "other side", "anchor": "near", "far_anchor": "far"}
    over = ["left", "right"]
    if reverse:
        strap |= {"anchor": "far", "far_anchor": "near"}
        over.reverse()
    label = {"lashing_capacity": "2500 daN", "standard_tension": "350 daN"}
    data["tiedowns"].append(strap | label | {"over": over})
    return data


def test_the_flatter_leg_decides_from_whichever_end_a_strap_is_named(found: Found) -> None:
    """atan(1 / 2.5) = 21.8 degrees < 30, the other leg atan(1 / 1) = 45."""
    first, second = (found(under_a_strap(reverse=each)) for each in (False, True))
    assert first["eu-over-the-top-angle"].verdict is NOT_MET
    governing = first["eu-over-the-top-angle"].governing
    assert governing is not None
    assert governing.left_value == pytest.approx(0.3805, abs=1e-4)
    assert {rule: each.verdict for rule, each in first.items()} == {
        rule: each.verdict for rule, each in second.items()
    }


def test_what_tips_by_itself_is_held_by_a_strap_over_it(found: Found) -> None:
    """A crate 1 m wide, its middle 1 m up: 0.5 by itself. Straps of STF 350 daN, both legs nearly
    upright, add 2 x 3500 x 1 x 0.995 / (1.1 x 10000 x 1) = 0.633 at the far edge of 1 m.
    """
    data = excavator("FR", "4 t")
    free = {"working_load_limit": "no rating exists"}
    crate = {"type": "palletised goods", "weight": "10000 N", "cg": metres(1.1, 0.0, 1.0)}
    article = data["articles"][0] | crate
    del article["axles"]
    data["articles"], data["tiedowns"] = [article], []
    bare = found(copy.deepcopy(data))
    assert bare["eu-tipping-sideways"].verdict is NOT_MET
    for index, x in enumerate((0.5, 1.7)):
        for side, y in (("left", 0.5), ("right", -0.5)):
            article["attachments"][f"{side}-{index}"] = metres(x, y, 2.0) | free
            data["trailer"]["anchors"][f"{side}-{index}"] = metres(2.1 + x, 1.4 * y, 0.0) | {
                "lashing_capacity": RING
            }
        data["tiedowns"].append(
            {
                "device": "webbing",
                "path": "other side",
                "anchor": f"left-{index}",
                "far_anchor": f"right-{index}",
                "over": [f"left-{index}", f"right-{index}"],
                "lashing_capacity": "2500 daN",
                "standard_tension": "350 daN",
            }
        )
    findings = found(data)
    assert findings["eu-tipping-sideways"].verdict is MET  # at half of LC, more
    hand = findings["eu-tipping-sideways-at-hand-tension"]
    assert hand.verdict is MET
    assert shown(hand) == pytest.approx(0.5 + 0.633, abs=0.002)
