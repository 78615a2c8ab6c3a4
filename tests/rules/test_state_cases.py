"""The published cases of state law, each run as a whole load through a check.

A case names what its state asks at a boundary; `asked` and `breach` mean that a rule of the state
is not met by a load without it, `free` and `met` that none is.
"""

from collections.abc import Callable, Iterable, Mapping
from typing import Any

import pytest

from checker.evaluation.check import Check
from checker.rulebooks.verdicts import WORST_FIRST, Verdict
from tests.published import published_cases

CASES = published_cases("state-cases")
Held = Callable[[Mapping[str, Any]], Check]
Data = dict[str, Any]

ASKING_BRAKES = (
    "trailer-brakes",
    "heavy-trailer-brakes",
    "older-trailer-brakes",
    "brakes-with-breakaway",
)
BRAKES = tuple(name for name, case in CASES.items() if "brakes" in str(case["expect"].keys()))


def load_of(case: Mapping[str, Any]) -> Data:
    """A load with the figures of a case: everything on the trailer's one axle."""
    given = case["given"]
    gross = given.get("trailer_gross", given.get("trailer_empty", 2000))
    gross = given.get("trailer_weight_on_wheels", gross)
    carried = given.get("load_carried", gross - given.get("trailer_empty", gross))
    gvwr = given.get("trailer_gvwr", 16000)
    tow = given.get("tow_gross", given.get("tow_empty", 20000))
    return {
        "trailer": {
            "coupling": "ball",
            "gvwr": f"{gvwr} lb",
            "empty_weight": f"{gross - carried} lb",
            "empty_tongue_weight": "0 lb",
            "brakes": "none",
            "built": str(given.get("trailer_made", "2015-06-01")),
            "breakaway_fitted": "no",
            "axles": {"only": {"x": "150 in", "brakes": "no"}},
            "deck": {"front": "50 in", "height": "20 in"},
        },
        "articles": [
            {
                "weight": f"{carried} lb",
                "length": "20 in",
                "cg": {"x": "10 in", "z": "10 in"},
                "placed": {"x": "140 in"},
            }
        ]
        if carried
        else [],
        "tow_vehicle": {
            "front_axle_weight": f"{tow / 2} lb",
            "rear_axle_weight": f"{tow / 2} lb",
            "occupants_and_cargo": "0 lb",
            "front_restoration": "none",
        },
        "trip": {
            "places": [f"US-{case['state']}"],
            "public_road": "yes",
            "speed": f"{given.get('speed_mph', 55)} mph",
        },
        "walkaround": {"stops_in_legal_distance": "yes"} if "stops_in_time" in given else {},
        "carrier": {"personal_and_unpaid": "no"},
    }


def verdicts(done: Check, case: Mapping[str, Any], endings: Iterable[str]) -> set[Verdict]:
    """The verdicts of those rules of a case's state."""
    rules = {f"us-{case['state'].lower()}-{ending}" for ending in endings}
    return {each.verdict for each in done.findings if each.rule.id in rules}


def test_each_case_has_a_test() -> None:
    assert len(CASES) == 20
    assert set(BRAKES) <= set(CASES)


@pytest.mark.parametrize("name", BRAKES)
def test_brakes_are_asked_as_in_the_case(held: Held, name: str) -> None:
    case = CASES[name]
    found = verdicts(held(load_of(case)), case, ASKING_BRAKES)
    assert found <= {Verdict.MET, Verdict.NOT_MET}
    wanted = case["expect"].get("brakes") == "asked"
    assert (Verdict.NOT_MET in found) == wanted


@pytest.mark.parametrize("name", [n for n in BRAKES if CASES[n]["expect"].get("wheels") == "all"])
def test_a_braked_axle_of_two_is_not_enough_where_all_wheels_count(held: Held, name: str) -> None:
    case = CASES[name]
    load = load_of(case)
    axles = {"front": {"x": "140 in", "brakes": "yes"}, "rear": {"x": "160 in", "brakes": "no"}}
    load["trailer"] |= {"brakes": "electric", "axles": axles, "suspension": "equalised"}
    ends = ("trailer-brakes", "trailer-brakes-every-axle")
    assert Verdict.NOT_MET in verdicts(held(load), case, ends)


@pytest.mark.parametrize("name", [n for n in BRAKES if "from_cab" in CASES[n]["expect"]])
def test_brakes_worked_from_the_cab_are_no_surge_brakes(held: Held, name: str) -> None:
    case = CASES[name]
    load = load_of(case)
    load["trailer"] |= {"brakes": "surge"}
    assert verdicts(held(load), case, ["surge-brakes"]) == {Verdict.NOT_MET}


@pytest.mark.parametrize(
    ("name", "built", "asked"),
    [
        # SDCL 32-18-17 asks brakes over 3,000 lb of trailers made after 1 July 1967.
        ("us-sd-01", "1967-07-01", False),
        ("us-sd-01", "1967-07-02", True),
        ("us-sd-01", "1974-07-01", True),  # SDCL 32-18-3: 7,000 lb only before that day
        ("us-wa-01", "1965-07-01", True),  # RCW 46.37.340(3)(a): 2,000 > 40 % of 3,000 lb
        ("us-ca-of-5000-lb", "1966-01-01", False),  # Cal. Veh. Code 26302(b): after that day
        ("us-ca-of-5000-lb", "1966-01-02", True),
        ("us-nv-of-2000-lb", "1975-07-01", False),  # NRS 484D.250(2)(b): older ones over 3,000 lb
        ("us-nv-of-2000-lb", "1975-07-02", True),  # NRS 484D.250(9)(a): from 1,500 lb
        ("us-sd-01", None, None),
    ],
)
def test_the_day_a_trailer_was_built_decides(
    held: Held, name: str, built: str | None, *, asked: bool | None
) -> None:
    of_no_case = {
        "us-ca-of-5000-lb": {"state": "CA", "given": {"trailer_gross": 5000}},
        "us-nv-of-2000-lb": {"state": "NV", "given": {"trailer_gross": 2000}},
    }
    case = CASES.get(name) or of_no_case[name]
    load = load_of(case)
    load["walkaround"] = {"stops_in_legal_distance": "yes"}
    if built is None:
        del load["trailer"]["built"]
    else:
        load["trailer"]["built"] = built
    found = verdicts(held(load), case, ASKING_BRAKES)
    if asked is None:
        assert min(found, key=WORST_FIRST.index) is Verdict.NOT_STATED
    else:
        assert (Verdict.NOT_MET in found) == asked
        assert Verdict.NOT_STATED not in found


@pytest.mark.parametrize(("answer", "wanted"), [("no", Verdict.NOT_MET), ("yes", Verdict.MET)])
def test_a_light_trailer_goes_without_brakes_only_if_the_rig_stops_in_time(
    held: Held, answer: str, wanted: Verdict
) -> None:
    case = CASES["us-fl-01"]
    load = load_of(case) | {"walkaround": {"stops_in_legal_distance": answer}}
    assert verdicts(held(load), case, ["trailer-brakes"]) == {wanted}
    assert verdicts(held(load | {"walkaround": {}}), case, ["trailer-brakes"]) == {
        Verdict.NOT_STATED
    }


BREAKAWAY = [name for name in CASES if str(CASES[name]["expect"]).count("breakaway")]


@pytest.mark.parametrize("name", BREAKAWAY)
def test_a_breakaway_device_is_asked_as_in_the_case(held: Held, name: str) -> None:
    case = CASES[name]
    load = load_of(case)
    shortest = case["expect"].get("breakaway_minutes_at_least")
    assert verdicts(held(load), case, ["breakaway"]) == {Verdict.NOT_MET}
    load["trailer"] |= {"brakes": "electric", "breakaway_fitted": "yes"}
    load["trailer"] |= {"breakaway_hold_time": f"{shortest or 1} min"}
    assert verdicts(held(load), case, ["breakaway"]) == {Verdict.MET}
    if shortest:
        load["trailer"] |= {"breakaway_hold_time": f"{shortest - 0.1} min"}
        assert verdicts(held(load), case, ["breakaway"]) == {Verdict.NOT_MET}


COUPLINGS = {"ball": "ball", "ball_gooseneck": "gooseneck", "gooseneck": "gooseneck"}
CHAINS = [name for name, case in CASES.items() if "chains" in case["expect"]]


@pytest.mark.parametrize("name", CHAINS)
def test_safety_chains_are_asked_as_in_the_case(held: Held, name: str) -> None:
    case = CASES[name]
    given = case["given"]
    load = load_of(case)
    chains = {"count": given["chains"]}
    if "each_strength" in given:
        chains["breaking_strength"] = f"{given['each_strength']} lb"
    coupling = COUPLINGS.get(given["coupling"], "fifth wheel")
    load["trailer"] |= {"coupling": coupling, "safety_chains": chains}
    if given["chains"]:
        load["walkaround"] = {"chains_connected": "yes", "chains_crossed": "yes"}
    found = verdicts(held(load), case, ["safety-chains", "chain-strength", "chains-crossed"])
    assert Verdict.NOT_STATED not in found
    assert (Verdict.NOT_MET in found) == (case["expect"]["chains"] == "breach")


FLAGS = [name for name, case in CASES.items() if "flag" in case["expect"]]


@pytest.mark.parametrize("name", FLAGS)
def test_a_flag_is_asked_as_in_the_case(held: Held, name: str) -> None:
    case = CASES[name]
    load = load_of(case)
    behind = case["given"]["load_behind_ft"]
    load["trailer"]["deck"] |= {"rear": "200 in"}
    load["articles"] = [
        {"weight": "500 lb", "length": f"{behind + 5} ft", "placed": {"x": "140 in"}}
    ]
    size = case["expect"].get("size_in", 12)
    load["walkaround"] = {"flags_fitted": "no", "flag_size": f"{size} in"}
    bare = verdicts(held(load), case, ["rear-flag"])
    assert bare == {Verdict.NOT_MET if case["expect"]["flag"] == "asked" else Verdict.MET}
    load["walkaround"] = {"flags_fitted": "yes", "flag_size": f"{size} in"}
    assert verdicts(held(load), case, ["rear-flag"]) == {Verdict.MET}
