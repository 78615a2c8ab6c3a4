"""Braking and grades as facts of whole loads.

Expected figures: the worked cases of the towing reference (own statics, solved a second time by
other means), and equilibrium of the trailer as a free body.
"""

import math
from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
import pytest

from checker.facts.view import Facts
from tests.published import published_cases

LB = 4.4482216152605  # N, exact
PER_UNIT = {"lb": LB, "kN": 1000.0}
HIGHER = {"in": 12.0, "m": 0.3}

CASES = published_cases("towing-cases")

Data = dict[str, Any]
Read = Callable[[Data], Facts]


def number(text: str) -> float:
    return float(text.split()[0])


def of_load(facts: Facts, name: str) -> float:
    return float(facts.value(name, None))


def trailer_of(given: Mapping[str, str], **trailer: Any) -> Data:
    """The case's trailer, half empty trailer and half article, both at the case's cg behind the
    ball; the article's weight stands as much above the case's height as the trailer's below it.
    """
    gross, unit = given["trailer_gross_weight"].split()
    half = float(gross) / 2
    height, length = given["cg_height"].split()
    axle = number(given["ball_to_axle"])
    cg = number(given["cg_behind_ball"]) if "cg_behind_ball" in given else axle
    more = HIGHER[length]
    return {
        "trailer": {
            "empty_weight": f"{half} {unit}",
            "empty_tongue_weight": f"{half * (1 - cg / axle)!r} {unit}",
            "empty_cg_height": f"{float(height) - more!r} {length}",
            "suspension": "single",
            "axles": {"only": {"x": given["ball_to_axle"]}},
            "deck": {"height": f"{more!r} {length}"},
            **trailer,
        },
        "articles": [
            {
                "weight": f"{half} {unit}",
                "cg": {"x": f"0 {length}", "z": f"{height} {length}"},
                "placed": {"x": f"{cg!r} {length}", "facing": "forward"},
            }
        ],
    }


BRAKES = {"trailer brakes itself": "electric", "unbraked, held by the ball": "none"}


def braking(given: Mapping[str, str]) -> Data:
    data = trailer_of(given, brakes=BRAKES[given["trailer_brakes"]])
    if "ball_height" in given:
        data["trailer"]["ball_height"] = given["ball_height"]
    return data


@pytest.mark.parametrize("case_id", [f"tow-dynamic-0{each}" for each in (1, 2, 3, 4)])
def test_a_braking_case_as_a_whole_load(case_id: str, read: Read) -> None:
    case = CASES[case_id]
    facts = read(braking(case["given"]))
    change = of_load(facts, "hitch.tongue_change_per_g") * number(case["given"]["deceleration"])
    amount, unit = case["expect"]["tongue_load_change"].split()
    margin = number(case["tolerance"].removeprefix("abs "))
    assert change / PER_UNIT[unit] == pytest.approx(float(amount), abs=margin, rel=0.0)


def on_grade(given: Mapping[str, str]) -> Data:
    data = trailer_of(given, ball_height=given["ball_height"])
    return {**data, "trip": {"steepest_grade": given["grade"]}}


@pytest.mark.parametrize("case_id", ["tow-dynamic-05", "tow-dynamic-06"])
def test_a_grade_case_as_a_whole_load(case_id: str, read: Read) -> None:
    case = CASES[case_id]
    facts = read(on_grade(case["given"]))
    found = of_load(facts, f"hitch.tongue_weight_{case['given']['direction']}")
    expected = number(case["expect"]["tongue_load"])
    assert found / LB == pytest.approx(expected, abs=0.06, rel=0.0)


@pytest.mark.parametrize("grade", [0.0, 5.0, 12.0, 30.0])
@pytest.mark.parametrize(("way", "sign"), [("climbing", 1), ("descending", -1)])
def test_a_grade_agrees_with_the_trailer_as_a_free_body(
    read: Read, grade: float, way: str, sign: int
) -> None:
    """Unknown: push of the axle, push and pull of the ball, at right angles to and along the road.

    Solved as three equations, moments about the foot of the coordinate system under the ball.
    """
    given = CASES["tow-dynamic-05"]["given"]
    facts = read(on_grade({**given, "grade": f"{grade} %"}))
    weight, cg, high, ball, axle = 3000.0, 122.0, 36.0, 18.0, 140.0
    slope = math.atan(sign * grade / 100)
    down, along = weight * math.cos(slope), weight * math.sin(slope)
    # Ball up, ball forward, axle up; forces up, forces forward, moments (x behind, z up).
    equations = [[1.0, 0.0, 1.0], [0.0, 1.0, 0.0], [0.0, ball, axle]]
    tongue, _, _ = np.linalg.solve(equations, [down, along, down * cg + along * high])
    assert of_load(facts, f"hitch.tongue_weight_{way}") / LB == pytest.approx(tongue, abs=1e-6)


def test_on_the_level_a_grade_changes_nothing(read: Read) -> None:
    facts = read(on_grade({**CASES["tow-dynamic-05"]["given"], "grade": "0 %"}))
    level = of_load(facts, "hitch.tongue_weight")
    assert of_load(facts, "hitch.tongue_weight_climbing") == pytest.approx(level, rel=1e-12)
    assert of_load(facts, "hitch.tongue_weight_descending") == pytest.approx(level, rel=1e-12)


def test_the_height_of_trailer_and_load_is_the_mean_by_weight(read: Read) -> None:
    """Hand-calculated: 1000 lb at 20 in and 3000 lb at 22 + 30 in make 44 in."""
    facts = read(
        {
            "trailer": {
                "empty_weight": "1000 lb",
                "empty_cg_height": "20 in",
                "deck": {"height": "22 in"},
            },
            "articles": [{"weight": "3000 lb", "cg": {"z": "30 in"}}],
        }
    )
    assert of_load(facts, "trailer.cg_height") / 0.0254 == pytest.approx(44.0)


@pytest.mark.parametrize(
    ("left_out", "missing"),
    [
        ("brakes", "trailer.brakes"),
        ("ball_height", "trailer.ball_height"),
        ("empty_cg_height", "trailer.empty_cg_height"),
        ("deck", "trailer.deck.height"),
    ],
)
def test_what_braking_needs_is_named(read: Read, left_out: str, missing: str) -> None:
    data = braking(CASES["tow-dynamic-02"]["given"])
    del data["trailer"][left_out]
    facts = read(data)
    assert np.isnan(of_load(facts, "hitch.tongue_change_per_g"))
    assert facts.missing("hitch.tongue_change_per_g", None) == [missing]


def test_a_trailer_that_brakes_itself_needs_no_ball_height(read: Read) -> None:
    data = braking(CASES["tow-dynamic-01"]["given"])
    assert "ball_height" not in data["trailer"]
    assert not np.isnan(of_load(read(data), "hitch.tongue_change_per_g"))
