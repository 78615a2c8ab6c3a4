"""Length of tow vehicle and trailer together.

Expected figures: drawn by hand. The truck is 19 ft long with the ball 6 in behind its bumper.
"""

import json
import math
from collections.abc import Callable
from datetime import date

import pytest

from checker.facts.view import Facts
from checker.load.model import Load
from checker.rulebooks.model import Rulebooks

FOOT = 0.3048  # m, exact


@pytest.mark.parametrize(
    ("coupling", "article_ft", "feet", "at_most"),
    [
        ("ball", 10, 19 + 0.5 + 20, None),  # the article ends at 16 ft, on the deck
        ("pintle", 14, 19 + 0.5 + 20, None),  # it ends at 20 ft, level with the trailer
        ("ball", 17, 19 + 0.5 + 23, None),  # it ends at 23 ft, 3 ft behind the trailer
        ("gooseneck", 10, math.nan, 19 + 20),  # where its ball stands in the bed is not stated
    ],
)
def test_length_from_the_front_bumper_to_the_end(
    books: Rulebooks,
    profile: Callable[[str], Load],
    coupling: str,
    article_ft: int,
    feet: float,
    at_most: float | None,
) -> None:
    data = {
        "kind": "load",
        "trailer": {
            "coupling": coupling,
            "overall_length": "20 ft",
            "deck": {"front": "4 ft", "rear": "19 ft"},
        },
        "tow_vehicle": {"overall_length": "19 ft", "ball_behind_body": "6 in"},
        "articles": [{"length": f"{article_ft} ft", "placed": {"x": "6 ft"}}],
    }
    if coupling == "gooseneck":
        data["tow_vehicle"] = {"overall_length": "19 ft"}
    facts = Facts(profile(json.dumps(data)), books.unmarked_on(date(2026, 6, 1)))
    assert float(facts.value("combination.overall_length", None)) == pytest.approx(
        feet * FOOT, nan_ok=True
    )
    longest = feet if at_most is None else at_most
    found = float(facts.value("combination.overall_length_at_most", None))
    assert found == pytest.approx(longest * FOOT)
