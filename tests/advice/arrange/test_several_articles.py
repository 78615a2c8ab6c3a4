"""Two articles that want the same anchor, arranged in either order."""

import json
from collections.abc import Callable
from math import atan2, degrees, hypot
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace

from checker.advice.arrange.arrangement import arrange
from checker.advice.arrange.choices import choices_of
from checker.advice.arrange.with_blocks import best_plan
from checker.load.build import Profile, read_profile
from checker.rulebooks.model import Rulebooks
from tests.exhaustive_plans import DAY, chocks

Rules = Callable[..., Rulebooks]

RULES = {
    "tongue": "hitch.tongue_share >= limit; 9 %",
    "steep": "tiedown.angle_above_deck >= limit; 30 deg",
    "flat": "tiedown.angle_above_deck <= limit; 42 deg; should",
    "held": "article.tiedown_count >= limit; 1",
}


def article(name: str, weight: int, length: int) -> dict[str, Any]:
    point = {"x": f"{length // 2} in", "y": "0 in", "z": "30 in", "part": "frame"}
    return {
        "title": name,
        "name": name,
        "type": "other",
        "weight": f"{weight} lb",
        "length": f"{length} in",
        "width": "48 in",
        "height": "40 in",
        "cg": {"x": f"{length // 2} in", "y": "0 in", "z": "20 in"},
        "attachments": {"top": {**point, "working_load_limit": "no rating exists"}},
    }


def two_on_a_full_deck(folder: Path) -> Profile:
    """A crate and a box on a deck as long as both, and two anchors on its left."""
    anchors = {
        name: {"x": f"{x} in", "y": "24 in", "z": "0 in", "working_load_limit": "2000 lb"}
        for name, x in (("ahead", 45), ("behind", 95))
    }
    strap = {"title": "strap", "device": "webbing", "marked_working_load_limit": "1000 lb"}
    straps = [{**strap, "article": name} for name in ("crate", "box")]
    data = {
        "kind": "load",
        "trailer": {
            "coupling": "ball",
            "empty_weight": "1000 lb",
            "empty_tongue_weight": "130 lb",
            "axles": {"only": {"x": "90 in", "rating": "5000 lb"}},
            "deck": {"front": "40 in", "rear": "120 in", "width": "50 in"},
            "anchors": anchors,
        },
        "articles": [article("crate", 2000, 50), article("box", 300, 30)],
        "tiedowns": straps,
    }
    (folder / "load.yaml").write_text(json.dumps(data))
    return read_profile(folder / "load.yaml")


def test_the_lightest_goes_first_where_the_heaviest_takes_its_anchor(
    rules: Rules, tmp_path: Path
) -> None:
    """By hand, the crate ahead for the tongue: its point 65 in, that of the box 105 in behind.

    30 in above the deck and 24 in across, the strap of the crate rises at 38 deg to the anchor
    behind and at 44 deg to that ahead, so it wants the one behind; that of the box rises at 49 deg
    and at 25 deg, so it needs that one.
    """
    found = arrange(two_on_a_full_deck(tmp_path), rules(**RULES), DAY)
    assert found is not None
    ends = {course.article: course.anchor for course, _ in found.tiedowns}
    assert ends == {0: "ahead", 1: "behind"}
    assert (found.figures.broken, found.figures.pieces, found.proved) == (0, 2, False)


def test_what_is_tied_down_moves_to_where_its_straps_are_better(
    rules: Rules, tmp_path: Path
) -> None:
    """By hand: the deck has 1 in on each side, and the strap of the crate rises steeper so."""
    books = rules(**RULES | {"tongue": "hitch.tongue_share >= limit; 5 %"})
    found = arrange(two_on_a_full_deck(tmp_path), books, DAY, order=("margin",))
    assert found is not None
    assert float(found.profile.stated.articles[0].placed.y) == pytest.approx(0.0254)
    rises = degrees(atan2(30.0, hypot(20.0, 23.0)))
    assert found.figures.margin == pytest.approx((rises - 30.0) / 30.0)


def test_each_of_two_articles_is_blocked(rules: Rules, tmp_path: Path) -> None:
    """0.8 of 2000 lb are held by one block of 2000 lbf, and of 300 lb by another."""
    block = replace(chocks(3), chocks_wheels=0.0)
    choices = replace(choices_of(two_on_a_full_deck(tmp_path), None), blocks=(block,))
    found = best_plan(choices, rules(**RULES, stopped="article.blocked_forward"), DAY)
    assert found is not None
    assert [(each.article, each.way, each.names) for each in found[0].blocking] == [
        (0, "forward", ("front block",)),
        (1, "forward", ("front block",)),
    ]
    assert found[1].figures.pieces == 4
