"""Worked cases of the towing reference as whole loads: what a crew states, what the facts say.

The mechanics' own tests hold the formulas to these cases; here profile, units, facts and rules
are tried together. Each case names its origin in the file.
"""

import json
import re
from collections.abc import Callable, Mapping
from datetime import date
from typing import Any

import pytest

from checker.evaluation.check import Check, check
from checker.load.model import Load
from checker.rulebooks.model import Rulebooks
from checker.rulebooks.verdicts import Verdict
from tests.published import published_cases

LB = 4.4482216152605  # N, exact
IN = 0.0254  # m, exact
PER_UNIT = {"lb": LB, "in": IN, "%": 0.01, "1": 1.0}

CASES = published_cases("towing-cases")

Data = dict[str, Any]
Given = Mapping[str, str]
Held = Callable[[Data], Check]
Answers = dict[str, float | str]


@pytest.fixture
def held(books: Rulebooks, profile: Callable[[str], Load]) -> Held:
    def hold(data: Data) -> Check:
        load = profile(json.dumps({"kind": "load", **data}))
        return check(load, books, date(2026, 6, 1))

    return hold


def number(text: str) -> float:
    """The number of a given quantity, in the unit it is stated in."""
    return float(text.split()[0])


def fact(done: Check, name: str) -> float:
    return float(done.facts.value(name, None))


def fact_of_first(done: Check, name: str) -> float:
    """A fact of the first article or axle."""
    subject = done.facts.subjects("axle" if name.startswith("axle") else "article")[0]
    return float(done.facts.value(name, subject))


def machine_on_trailer(held: Held, given: Given) -> Answers:
    """The machine's front end lies 20 in ahead of its front axle; it overhangs 25 in behind."""
    wheelbase, weight = number(given["machine_wheelbase"]), number(given["machine_weight"])
    length = 20 + wheelbase + 25
    if "machine_front_axle_behind_ball" in given:
        placed = {"x": number(given["machine_front_axle_behind_ball"]) - 20, "facing": "forward"}
    else:
        placed = {"x": number(given["machine_rear_axle_behind_ball"]) - 25, "facing": "rearward"}
    empty = number(given["trailer_weight_empty"])
    shares = [number(given[f"machine_{end}_axle_share"]) / 100 for end in ("front", "rear")]
    done = held(
        {
            "trailer": {
                "empty_weight": f"{empty} lb",
                "empty_tongue_weight": f"{empty * number(given['empty_tongue_fraction']) / 100} lb",
                "suspension": "single",
                "axles": {"only": {"x": given["ball_to_axle_group_centre"]}},
            },
            "articles": [
                {
                    "weight": f"{weight} lb",
                    "length": f"{length} in",
                    "axles": {
                        "front": {"x": "20 in", "weight": f"{weight * shares[0]} lb"},
                        "rear": {"x": f"{20 + wheelbase} in", "weight": f"{weight * shares[1]} lb"},
                    },
                    "placed": {**placed, "x": f"{placed['x']} in"},
                }
            ],
            "tow_vehicle": {"front_restoration": "none"},
        }
    )
    return {
        "machine_cg_behind_ball": fact_of_first(done, "article.cg_position"),
        "tongue_load": fact(done, "hitch.tongue_weight"),
        "tongue_fraction": fact(done, "hitch.tongue_share"),
        "axle_group_load": fact(done, "trailer.axle_group_load"),
    }


def balanced(gross: float, tongue: float, **trailer: Any) -> Data:
    """A trailer of these weights in lb whose load stands right over its axles, at 150 in."""
    weight = gross / 2
    return {
        "trailer": {
            "empty_weight": f"{gross - weight} lb",
            "empty_tongue_weight": f"{tongue} lb",
            "suspension": "equalised",
            "axles": {"front": {"x": "133 in"}, "rear": {"x": "167 in"}},
            **trailer,
        },
        "articles": [
            {
                "weight": f"{weight} lb",
                "cg": {"x": "40 in", "y": "0 in"},
                "placed": {"x": "110 in", "y": "0 in", "facing": "forward"},
            }
        ],
        "tow_vehicle": {"front_restoration": "none"},
    }


def equalised_tandem(held: Held, given: Given) -> Answers:
    assert given["axles"] == "2 1"
    gross, tongue = number(given["trailer_gross_weight"]), number(given["tongue_load"])
    done = held(balanced(gross, tongue, suspension=given["suspension"]))
    loads = [float(done.facts.value("axle.load", axle)) for axle in done.facts.subjects("axle")]
    assert loads == pytest.approx([loads[0]] * 2, rel=1e-15)
    return {"load_per_axle": loads[0]}


def off_centre(held: Held, given: Given, tongue: float) -> Check:
    """Half the weight is the article's: it has to stand twice as far out as the whole does."""
    data = balanced(number(given["trailer_gross_weight"]), tongue, track=given["track"])
    out = 2 * number(given["cg_off_centre"])
    data["articles"][0]["placed"]["y"] = f"{out} in"
    done = held(data)
    assert fact(done, "trailer.lateral_cg") == pytest.approx(out / 2 * IN, rel=1e-12)
    return done


def side_difference(held: Held, given: Given) -> Answers:
    """All of the weight on the axles, as the case has it."""
    done = off_centre(held, given, 0.0)
    carried = fact(done, "trailer.axle_group_load")
    heavier = fact(done, "trailer.heavier_side_share")
    return {"side_difference": (2 * heavier - 1) * carried}


def tandem_wheels(held: Held, given: Given) -> Answers:
    assert given["axles"] == "2 1"
    done = off_centre(held, given, number(given["tongue_load"]))
    heavier = fact(done, "trailer.heavier_side_share")
    on_axle = fact_of_first(done, "axle.load")
    return {"heavier_wheel": heavier * on_axle, "lighter_wheel": (1 - heavier) * on_axle}


def coupled_axles(held: Held, given: Given) -> Answers:
    behind = (
        given["ball_behind_rear_axle"]
        if "ball_behind_rear_axle" in given
        else f"-{given['coupling_ahead_of_rear_axle']}"
    )
    data = balanced(20000.0, number(given["coupling_load"]))
    data["tow_vehicle"] |= {"wheelbase": given["wheelbase"], "ball_behind_rear_axle": behind}
    done = held(data)
    return {
        "rear_axle_change": fact(done, "tow_vehicle.rear_axle_change"),
        "front_axle_change": fact(done, "tow_vehicle.front_axle_change"),
    }


PASS_OR_FAIL = {Verdict.MET: "pass", Verdict.NOT_MET: "fail"}


def light_tongue(held: Held, given: Given) -> Answers:
    gross, axle_ratings = number(given["trailer_gross_weight"]), number(given["sum_of_gawr"])
    axles = {
        end: {"x": x, "rating": f"{axle_ratings / 2} lb"}
        for end, x in (("front", "133 in"), ("rear", "167 in"))
    }
    tongue = gross * number(given["tongue_fraction"]) / 100
    done = held(balanced(gross, tongue, gvwr=given["gvwr"], axles=axles))
    verdicts = {each.rule.id: each.verdict for each in done.findings}
    assert verdicts["axle-within-rating"] is verdicts["axle-group-within-ratings"]
    return {
        "axle_group_load": fact(done, "trailer.axle_group_load"),
        "gvwr_check": PASS_OR_FAIL[verdicts["trailer-within-gvwr"]],
        "axle_check": PASS_OR_FAIL[verdicts["axle-group-within-ratings"]],
    }


RUN: dict[str, Callable[[Held, Given], Answers]] = {
    "tow-tongue-05": machine_on_trailer,
    "tow-tongue-06": machine_on_trailer,
    "tow-tandem-01": equalised_tandem,
    "tow-lateral-01": side_difference,
    "tow-lateral-03": tandem_wheels,
    "tow-towveh-02": coupled_axles,
    "tow-towveh-03": coupled_axles,
    "tow-rating-02": light_tongue,
}


@pytest.mark.parametrize("case_id", RUN)
def test_a_worked_case_as_a_whole_load(case_id: str, held: Held) -> None:
    case = CASES[case_id]
    answers = RUN[case_id](held, case["given"])
    assert answers.keys() == case["expect"].keys()
    kind, margin = case["tolerance"].split()
    assert kind == "abs"
    for name, text in case["expect"].items():
        if not re.match(r"-?\d", text):
            assert answers[name] == text, name
            continue
        unit = text.split()[1]
        found = answers[name] / PER_UNIT[unit]
        assert found == pytest.approx(number(text), abs=float(margin), rel=0.0), name
