"""Length of tow vehicle and trailer together.

Expected figures: drawn by hand. The truck is 19 ft long.
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
    ("coupling", "ball", "article_ft", "feet"),
    [
        ("ball", "6 in", 10, 19 + 0.5 + 20),  # the article ends at 16 ft, on the deck
        ("pintle", "6 in", 14, 19 + 0.5 + 20),  # it ends at 20 ft, level with the trailer
        ("ball", "6 in", 17, 19 + 0.5 + 23),  # it ends at 23 ft, 3 ft behind the trailer
        ("gooseneck", "-4 ft", 10, 19 - 4 + 20),  # its ball stands 4 ft ahead of the bumper
        ("gooseneck", None, 10, math.nan),
    ],
)
def test_length_from_the_front_bumper_to_the_end(
    books: Rulebooks,
    profile: Callable[[str], Load],
    coupling: str,
    ball: str | None,
    article_ft: int,
    feet: float,
) -> None:
    data = {
        "kind": "load",
        "trailer": {
            "coupling": coupling,
            "overall_length": "20 ft",
            "deck": {"front": "4 ft", "rear": "19 ft"},
        },
        "tow_vehicle": {"overall_length": "19 ft"} | ({"ball_behind_body": ball} if ball else {}),
        "articles": [{"length": f"{article_ft} ft", "placed": {"x": "6 ft"}}],
    }
    facts = Facts(profile(json.dumps(data)), books.unmarked_on(date(2026, 6, 1)))
    assert float(facts.value("combination.overall_length", None)) == pytest.approx(
        feet * FOOT, nan_ok=True
    )
