"""Width of a trailer with what stands on it, each side by itself.

Expected figures: drawn by hand, written beside each case. The trailer is 80 in wide, 40 in each
side of its centre line.
"""

import json
import math
from collections.abc import Callable
from datetime import date

import pytest

from checker.facts.view import Facts
from checker.load.model import Load
from checker.rulebooks.model import Rulebooks

IN = 0.0254  # m, exact
Widths = Callable[[list[tuple[int, int]]], Facts]


@pytest.fixture
def loaded(books: Rulebooks, profile: Callable[[str], Load]) -> Widths:
    """A trailer with articles of these widths, in inches, so far left of the centre line."""

    def facts(articles: list[tuple[int, int]]) -> Facts:
        data = {
            "kind": "load",
            "trailer": {"overall_width": "80 in"},
            "articles": [
                {"width": f"{width} in", "placed": {"y": f"{y} in"}} for width, y in articles
            ],
        }
        return Facts(profile(json.dumps(data)), books.unmarked_on(date(2026, 6, 1)))

    return facts


@pytest.mark.parametrize(
    ("articles", "inches"),
    [
        ([(80, 0)], 80),  # level with both sides
        ([(60, 9)], 80),  # 39 in to the left: an inch inside
        ([(60, 10)], 80),  # 40 in to the left: level
        ([(60, 11)], 81),  # 41 in to the left: an inch out on one side only
        ([(60, -11)], 81),  # the same to the right
        ([(102, 0)], 102),  # 51 in each side
        ([(60, 20), (50, -20)], 95),  # 50 in to the left, 45 in to the right
        ([(60, 20), (60, 14)], 90),  # both to the left: the farther one, 50 in
    ],
)
def test_each_side_reaches_as_far_as_what_stands_there(
    loaded: Widths, articles: list[tuple[int, int]], inches: int
) -> None:
    width = loaded(articles).value("load.overall_width", None)
    assert float(width) == pytest.approx(inches * IN, rel=1e-12)


def test_a_width_that_nobody_stated_is_not_stated(
    books: Rulebooks, profile: Callable[[str], Load]
) -> None:
    load = profile(
        '{"kind": "load", "trailer": {"overall_width": "80 in"},'
        ' "articles": [{"width": "60 in"}, {"placed": {"y": "0 in"}}]}'
    )
    facts = Facts(load, books.unmarked_on(date(2026, 6, 1)))
    assert math.isnan(float(facts.value("load.overall_width", None)))
    assert facts.missing("load.overall_width", None) == ["articles.1.placed.y", "articles.2.width"]
