"""Springs, weight distribution and ball drop as facts of whole loads.

Expected figures: the worked cases of the towing reference (own statics, solved a second time by
other means), and balances that must close whatever the figures are.
"""

from collections.abc import Callable, Mapping
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from checker.documents.problems import DataPath
from checker.documents.resources import shipped_folder
from checker.documents.schemas import definition
from checker.facts.view import Facts
from checker.load.build import Profile, read_profile
from checker.load.convert import quantities
from checker.rulebooks.model import Rulebooks
from checker.units.parsing import parse
from tests.published import published_cases

LB = 4.4482216152605  # N, exact
IN = 0.0254  # m, exact
PER_UNIT = {"lb": LB, "in": IN}
LOAD = definition("load")

CASES = published_cases("towing-cases")

Data = dict[str, Any]
Read = Callable[[Data], Facts]


def number(text: str) -> float:
    """The number of a given quantity, in the unit it is stated in."""
    return float(text.split()[0])


def of_load(facts: Facts, name: str) -> float:
    return float(facts.value(name, None))


def axle_loads(facts: Facts) -> list[float]:
    return [float(facts.value("axle.load", axle)) for axle in facts.subjects("axle")]


def assert_as_in_case(found: Mapping[str, float], case: Mapping[str, Any]) -> None:
    """Each figure found (SI) is the case's, within the case's tolerance."""
    kind, margin = case["tolerance"].split()
    assert kind == "abs"
    for name, value in found.items():
        amount, unit = case["expect"][name].split()
        assert value / PER_UNIT[unit] == pytest.approx(float(amount), abs=float(margin), rel=0.0), (
            name
        )


# --- tongue on independent springs ----------------------------------------------------------------


def on_springs(given: Mapping[str, str], **trailer: Any) -> Data:
    """The case's trailer: half its weight is empty trailer, half an article, both at the case's cg.

    The empty trailer's tongue weight is measured level, on axles that share equally then.
    """
    gross, cg = number(given["trailer_gross_weight"]), number(given["cg_behind_ball"])
    first, second = (number(given[f"axle_{each}_behind_ball"]) for each in (1, 2))
    middle = (first + second) / 2
    rate = given["spring_rate_per_axle"]
    return {
        "trailer": {
            "empty_weight": f"{gross / 2} lb",
            "empty_tongue_weight": f"{gross / 2 * (1 - cg / middle)!r} lb",
            "suspension": given["suspension"],
            "axles": {
                "front": {"x": f"{first} in", "spring_rate": rate},
                "rear": {"x": f"{second} in", "spring_rate": rate},
            },
            **trailer,
        },
        "articles": [
            {
                "weight": f"{gross / 2} lb",
                "cg": {"x": "30 in"},
                "placed": {"x": f"{cg - 30} in", "facing": "forward"},
            }
        ],
        "tow_vehicle": {"front_restoration": "none"},
    }


def test_independent_springs_under_a_level_deck_are_the_reference_case(read: Read) -> None:
    case = CASES["tow-tandem-02"]
    facts = read(on_springs(case["given"], deck_level="yes"))
    front, rear = axle_loads(facts)
    tongue = of_load(facts, "hitch.tongue_weight")
    assert_as_in_case({"axle_1_load": front, "axle_2_load": rear, "tongue_load": tongue}, case)


def test_a_low_ball_on_independent_springs_is_the_reference_case(read: Read) -> None:
    case = CASES["tow-tandem-03"]
    low = case["given"]["ball_below_level_deck_height"]
    facts = read(on_springs(case["given"], ball_below_level=low))
    front, rear = axle_loads(facts)
    tongue = of_load(facts, "hitch.tongue_weight")
    assert_as_in_case({"axle_1_load": front, "axle_2_load": rear, "tongue_load": tongue}, case)


def test_a_ball_at_level_height_is_the_same_as_a_level_deck(read: Read) -> None:
    given = CASES["tow-tandem-02"]["given"]
    springs = read(on_springs(given, ball_below_level="0 in"))
    level = read(on_springs(given, deck_level="yes"))
    assert of_load(springs, "hitch.tongue_weight") == pytest.approx(
        of_load(level, "hitch.tongue_weight"), rel=1e-12
    )
    assert axle_loads(springs) == pytest.approx(axle_loads(level), rel=1e-12)


@pytest.mark.parametrize("low", ["-1 in", "0 in", "0.5 in", "2 in"])
def test_a_low_ball_takes_weight_off_the_tongue_and_moves_it_to_the_front_axle(
    read: Read, low: str
) -> None:
    """Hand-calculated: per inch, with k = 1800 lb/in at 160 and 194 in, the tongue changes by
    k * (354**2 / (160**2 + 194**2) - 2) = -32.9 lb and the front axle by
    k * (1 - 160 * 354 / (160**2 + 194**2)) = +187.8 lb.
    """
    given = CASES["tow-tandem-02"]["given"]
    level, facts = (read(on_springs(given, ball_below_level=at)) for at in ("0 in", low))
    inches, squares = number(low), 160**2 + 194**2
    tongue = of_load(facts, "hitch.tongue_weight") - of_load(level, "hitch.tongue_weight")
    front = axle_loads(facts)[0] - axle_loads(level)[0]
    assert tongue / LB == pytest.approx(inches * 1800 * (354**2 / squares - 2), abs=1e-6)
    assert front / LB == pytest.approx(inches * 1800 * (1 - 160 * 354 / squares), abs=1e-6)


def test_unequal_springs_under_a_level_deck_carry_by_their_rates(read: Read) -> None:
    """Hand-calculated: 1,000 and 3,000 lb/in at 160 and 194 in act as one at
    (160 + 3 * 194) / 4 = 185.5 in; the rear axle carries three quarters of what both do.
    """
    data = on_springs(CASES["tow-tandem-02"]["given"], deck_level="yes")
    front, rear = data["trailer"]["axles"].values()
    front["spring_rate"], rear["spring_rate"] = "1000 lb/in", "3000 lb/in"
    data["trailer"]["empty_tongue_weight"] = "300 lb"
    facts = read(data)
    gross, cg = (
        number(CASES["tow-tandem-02"]["given"][each])
        for each in ("trailer_gross_weight", "cg_behind_ball")
    )
    on_axles = (gross / 2 - 300) + gross / 2 * cg / 185.5
    loads = [load / LB for load in axle_loads(facts)]
    assert of_load(facts, "trailer.axle_group_position") / IN == pytest.approx(185.5)
    assert of_load(facts, "hitch.tongue_weight") / LB == pytest.approx(gross - on_axles)
    assert loads == pytest.approx([on_axles / 4, on_axles * 3 / 4])


@pytest.mark.parametrize("low", ["0 in", "1.5 in"])
def test_a_distributing_hitch_presses_independent_axles_down_by_their_rates(
    read: Read, low: str
) -> None:
    """Statics: the levelling moment over the group's place is what the axles gain, whatever the
    height of the ball, and each gains its part by its rate. Ball 48 in behind the rear axle,
    group at 185.5 in: of a tongue of T, all restored, 48 T / (185.5 + 48) moves.
    """
    data = on_springs(CASES["tow-tandem-02"]["given"], ball_below_level=low)
    front, rear = data["trailer"]["axles"].values()
    front["spring_rate"], rear["spring_rate"] = "1000 lb/in", "3000 lb/in"
    plain = read(data)
    levers = {"wheelbase": "140 in", "ball_behind_rear_axle": "48 in"}
    hitched = read({**data, "tow_vehicle": {"front_restoration": "100 %", **levers}})
    tongue = of_load(plain, "hitch.tongue_weight")
    moved = of_load(hitched, "hitch.load_moved_to_trailer")
    assert of_load(hitched, "hitch.tongue_weight") == tongue
    assert moved == pytest.approx(tongue * 48 / (185.5 + 48))
    gained = np.subtract(axle_loads(hitched), axle_loads(plain))
    assert gained == pytest.approx([moved / 4, moved * 3 / 4])


@pytest.mark.parametrize("left_out", ["ball_below_level", "spring_rate", "deck_level"])
def test_springs_not_stated_leave_the_axles_and_the_tongue_open(read: Read, left_out: str) -> None:
    given = CASES["tow-tandem-03"]["given"]
    data = on_springs(given, ball_below_level="0.5 in")
    if left_out == "deck_level":
        data["trailer"] |= {"deck_level": "no"}
        del data["trailer"]["ball_below_level"]
    elif left_out == "spring_rate":
        del data["trailer"]["axles"]["rear"]["spring_rate"]
    else:
        del data["trailer"]["ball_below_level"]
    facts = read(data)
    assert np.isnan([of_load(facts, "hitch.tongue_weight"), *axle_loads(facts)]).all()


def test_an_equaliser_does_not_mind_how_high_the_ball_stands(read: Read) -> None:
    given = {**CASES["tow-tandem-02"]["given"], "suspension": "equalised"}
    level = read(on_springs(given, deck_level="yes"))
    low = read(on_springs(given, deck_level="no", ball_below_level="2 in"))
    assert axle_loads(low) == axle_loads(level)
    assert of_load(low, "hitch.tongue_weight") == of_load(level, "hitch.tongue_weight")


# --- weight distribution --------------------------------------------------------------------------


def coupled(tongue: float = 500.0, **tow_vehicle: Any) -> Data:
    """The trailer of the levelling cases: axle at 150 in, its load right over the axle."""
    return {
        "trailer": {
            "empty_weight": "2000 lb",
            "empty_tongue_weight": f"{tongue} lb",
            "suspension": "single",
            "axles": {"only": {"x": "150 in"}},
        },
        "articles": [
            {
                "weight": "2000 lb",
                "cg": {"x": "40 in"},
                "placed": {"x": "110 in", "facing": "forward"},
            }
        ],
        "tow_vehicle": {
            "wheelbase": "140 in",
            "ball_behind_rear_axle": "48 in",
            "front_axle_weight": "3300 lb",
            "rear_axle_weight": "2600 lb",
            "front_restoration": "none",
            **tow_vehicle,
        },
    }


FULL_RESTORATION = number(CASES["tow-level-01"]["expect"]["levelling_moment"])


def restoration(case: Mapping[str, Any]) -> str:
    """The case's levelling, as the share of the front axle's loss it gives back.

    Levelling is linear: the moment over the one of the case that restores all of it.
    """
    given = case["given"]
    if "front_axle_restoration" in given:
        return str(given["front_axle_restoration"])
    moment = given.get("levelling_moment", case["expect"].get("levelling_moment"))
    return f"{number(moment) / FULL_RESTORATION * 100!r} %"


@pytest.mark.parametrize(
    "case_id", ["tow-level-01", "tow-level-02", "tow-level-03", "tow-level-04"]
)
def test_a_levelling_case_as_a_whole_load(case_id: str, read: Read) -> None:
    case = CASES[case_id]
    given = case["given"]
    assert (given["ball_to_axle"], given["wheelbase"]) == ("150 in", "140 in")
    assert given["ball_behind_rear_axle"] == "48 in"
    tongue = number(given["tongue_load_without_levelling"])
    facts = read(coupled(tongue, front_restoration=restoration(case)))
    assert_as_in_case(
        {
            "front_axle_net_change": of_load(facts, "tow_vehicle.front_axle_change"),
            "rear_axle_net_change": of_load(facts, "tow_vehicle.rear_axle_change"),
            "trailer_axle_change": of_load(facts, "hitch.load_moved_to_trailer"),
        },
        case,
    )


def test_a_hitch_that_distributes_nothing_is_none(read: Read) -> None:
    names = (
        "tow_vehicle.front_axle_change",
        "tow_vehicle.rear_axle_change",
        "hitch.load_moved_to_trailer",
        "trailer.axle_group_load",
        "tow_vehicle.gross_weight",
    )
    without, idle = read(coupled()), read(coupled(front_restoration="0 %"))
    assert [of_load(idle, each) for each in names] == pytest.approx(
        [of_load(without, each) for each in names], rel=1e-12
    )


def test_the_tongue_weight_is_the_one_without_levelling(read: Read) -> None:
    facts = read(coupled(500.0, front_restoration="100 %"))
    assert of_load(facts, "hitch.tongue_weight") / LB == pytest.approx(500.0)


@pytest.mark.parametrize(
    ("stated", "rating", "tongue_rating"),
    [
        ({"front_restoration": "none"}, 5000.0, 500.0),
        ({"front_restoration": "50 %"}, 10000.0, 1000.0),
        ({"front_restoration": "0 %"}, 10000.0, 1000.0),
    ],
)
def test_the_receiver_counts_as_it_is_used(
    read: Read, stated: Data, rating: float, tongue_rating: float
) -> None:
    """Stated: 5000 and 500 lb carrying weight, 10000 and 1000 lb with a distributing hitch."""
    receiver = {
        "rating": "5000 lb",
        "tongue_rating": "500 lb",
        "distributing_rating": "10000 lb",
        "distributing_tongue_rating": "1000 lb",
    }
    facts = read({"tow_vehicle": {"receiver": receiver, **stated}})
    assert of_load(facts, "hitch.receiver_rating") / LB == pytest.approx(rating)
    assert of_load(facts, "hitch.receiver_tongue_rating") / LB == pytest.approx(tongue_rating)


def test_a_distributing_hitch_does_not_fall_back_to_the_other_rating(read: Read) -> None:
    receiver = {"rating": "5000 lb", "tongue_rating": "500 lb"}
    facts = read({"tow_vehicle": {"receiver": receiver, "front_restoration": "50 %"}})
    assert np.isnan(of_load(facts, "hitch.receiver_rating"))
    assert np.isnan(of_load(facts, "hitch.receiver_tongue_rating"))


@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    tongue=st.integers(50, 1200),
    share=st.none() | st.integers(0, 150),
    suspension=st.sampled_from(["single", "equalised", "level springs", "springs"]),
)
def test_every_pound_stands_on_some_axle(
    read: Read, tongue: int, share: int | None, suspension: str
) -> None:
    """Statics: front, rear and trailer axles together carry tow vehicle and trailer."""
    levelling = {} if share is None else {"front_restoration": f"{share} %"}
    data = coupled(float(tongue), **levelling)
    if suspension != "single":
        axles = {"front": {"x": "133 in"}, "rear": {"x": "167 in"}}
        data["trailer"] |= {"suspension": suspension, "axles": axles}
    if suspension.endswith("springs"):
        level = {"deck_level": "yes"} if "level" in suspension else {"ball_below_level": "1 in"}
        data["trailer"] |= {"suspension": "independent", **level}
        for axle in data["trailer"]["axles"].values():
            axle["spring_rate"] = "1500 lb/in"
    facts = read(data)
    front, rear, vehicle, group, weight = (
        of_load(facts, name)
        for name in (
            "tow_vehicle.front_axle_load",
            "tow_vehicle.rear_axle_load",
            "tow_vehicle.gross_weight",
            "trailer.axle_group_load",
            "combination.weight",
        )
    )
    assert front + rear == pytest.approx(vehicle, rel=1e-12)
    assert vehicle + group == pytest.approx(weight, rel=1e-12)
    assert sum(axle_loads(facts)) == pytest.approx(group, rel=1e-12)
    assert weight / LB == pytest.approx(3300 + 2600 + 4000)


# --- ball drop ------------------------------------------------------------------------------------


def test_the_ball_drop_is_the_reference_case(read: Read) -> None:
    case = CASES["tow-towveh-07"]
    given = case["given"]
    facts = read(
        coupled(
            number(given["tongue_load"]),
            wheelbase=given["wheelbase"],
            ball_behind_rear_axle=given["ball_behind_rear_axle"],
            front_spring_rate=given["front_axle_rate"],
            rear_spring_rate=given["rear_axle_rate"],
        )
    )
    assert_as_in_case({"ball_drop": of_load(facts, "hitch.ball_drop")}, case)


@pytest.mark.parametrize("rate", ["front_spring_rate", "rear_spring_rate"])
def test_the_ball_drop_wants_both_spring_rates(read: Read, rate: str) -> None:
    rates = {"front_spring_rate": "900 lb/in", "rear_spring_rate": "1000 lb/in"}
    del rates[rate]
    facts = read(coupled(**rates))
    assert np.isnan(of_load(facts, "hitch.ball_drop"))
    assert facts.missing("hitch.ball_drop", None) == [f"tow_vehicle.{rate}"]


# --- what is missing is named ---------------------------------------------------------------------


@pytest.mark.parametrize(
    ("deck", "rates", "missing"),
    [
        (
            {"deck_level": "yes"},
            False,
            ["trailer.axles.front.spring_rate", "trailer.axles.rear.spring_rate"],
        ),
        ({}, True, ["trailer.deck_level", "trailer.ball_below_level"]),
        ({"deck_level": "no"}, True, ["trailer.ball_below_level"]),
    ],
)
@pytest.mark.parametrize("name", ["hitch.tongue_weight", "axle.load"])
def test_independent_axles_name_what_would_settle_them(
    read: Read, name: str, deck: Data, rates: bool, missing: list[str]
) -> None:
    data = on_springs(CASES["tow-tandem-03"]["given"], **deck)
    for axle in [] if rates else data["trailer"]["axles"].values():
        del axle["spring_rate"]
    facts = read(data)
    subject = facts.subjects("axle")[0] if name.startswith("axle") else None
    assert np.isnan(facts.value(name, subject))
    assert facts.missing(name, subject) == missing


# --- nothing to divide by -------------------------------------------------------------------------

AXLES: tuple[DataPath, ...] = (
    ("trailer", "axles", "front", "x"),
    ("trailer", "axles", "rear", "x"),
)
WEIGHTS: tuple[DataPath, ...] = (("trailer", "empty_weight"), ("articles", 0, "weight"))

NOTHING: dict[str, tuple[DataPath, ...]] = {
    "axle.tyre_load": (("trailer", "axles", "front", "tyres"),),
    "trip.average_speed": (("trip", "driving_time"),),
    "trip.longest_stretch_time": (("trip", "distance"),),
    "hitch.tongue_weight": AXLES,
    "hitch.tongue_share": WEIGHTS,
    "cargo.share_on_tongue": (("articles", 0, "weight"),),
    "trailer.cg_position": WEIGHTS,
    "trailer.lateral_cg": WEIGHTS,
    "trailer.heavier_side_share": WEIGHTS,
    "tow_vehicle.front_axle_unloading": (("tow_vehicle", "front_axle_weight"),),
    "tow_vehicle.front_axle_gain": (("tow_vehicle", "front_axle_weight"),),
}


@pytest.mark.parametrize("name", NOTHING)
def test_a_share_of_nothing_is_not_known(name: str, books: Rulebooks) -> None:
    """Not known, as one value and as one of many rows; the rows beside it stay what they are."""
    profile = read_profile(Path(str(shipped_folder("profiles") / "loads" / "too-far-forward.yaml")))

    def worked_out(times: float | NDArray[np.float64] | None) -> NDArray[np.float64]:
        stated = Facts(profile.load({}), books.unmarked_on(date(2026, 6, 1)))
        values = {path: stated_number(profile, path) for path in NOTHING[name]}
        changed = {} if times is None else {path: v * times for path, v in values.items()}
        facts = Facts(profile.load(changed), stated.unmarked)
        subject = facts.subjects("axle")[0] if name.startswith("axle") else None
        return np.atleast_1d(facts.value(name, subject))

    (today,) = worked_out(None)
    assert np.isfinite(today)
    assert np.isnan(worked_out(0.0)).all()
    assert worked_out(np.array([0.0, 1.0])) == pytest.approx([np.nan, today], nan_ok=True)


def stated_number(profile: Profile, path: DataPath) -> float:
    """What the profile states there, in SI."""
    found = {at: (text, kind) for at, text, kind in quantities(profile.merged.data, LOAD, ())}
    text, kind = found[path]
    return parse(text, kind).value
