"""Whether a tiedown hooks to a point its maker made for it: as the profile names the part."""

import json
import math
from collections.abc import Callable
from datetime import date
from typing import Any

import pytest

from checker.facts.view import Facts
from checker.load.model import Load
from checker.rulebooks.model import Rulebooks

ARTICLE = {
    "attachments": {
        "eye": {"part": "tie-down point"},
        "rail": {"part": "frame"},
        "step": {"part": "accessory"},
        "unnamed": {"x": "10 in"},
    }
}


@pytest.fixture
def hooked(books: Rulebooks, profile: Callable[[str], Load]) -> Callable[[dict[str, Any]], float]:
    def answer(tiedown: dict[str, Any]) -> float:
        load = profile(json.dumps({"kind": "load", "articles": [ARTICLE], "tiedowns": [tiedown]}))
        facts = Facts(load, books.unmarked_on(date(2026, 6, 1)))
        (subject,) = facts.subjects("tiedown")
        return float(facts.value("tiedown.hooks_a_tie_down_point", subject))

    return answer


@pytest.mark.parametrize(
    ("point", "made_for_it"), [("eye", True), ("rail", False), ("step", False)]
)
def test_only_a_point_made_for_tying_down_is_one(
    hooked: Callable[[dict[str, Any]], float], point: str, made_for_it: bool
) -> None:
    assert hooked({"path": "direct", "attachment": point}) == made_for_it


@pytest.mark.parametrize("tiedown", [{"path": "direct", "attachment": "unnamed"}, {}])
def test_a_part_nobody_named_is_not_stated(
    hooked: Callable[[dict[str, Any]], float], tiedown: dict[str, Any]
) -> None:
    assert math.isnan(hooked(tiedown))


@pytest.mark.parametrize("path", ["same side", "other side"])
def test_a_tiedown_over_the_article_hooks_to_none_of_its_points(
    hooked: Callable[[dict[str, Any]], float], path: str
) -> None:
    assert hooked({"path": path}) == 0.0
