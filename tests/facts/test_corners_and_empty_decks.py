"""Corners held from a central point or over a wheel, tyres of the heavier side, an empty deck.

Expected values: by hand, beside each.
"""

import json
from collections.abc import Callable
from datetime import date
from typing import Any

import pytest

from checker.facts.view import Facts
from checker.load.model import Load
from checker.rulebooks.model import Rulebooks
from checker.units.arithmetic import Number

LB = 4.4482216152605  # N, exact
Reads = Callable[..., Facts]
ANCHORS = {
    f"{end}-{side}": {"x": x, "y": y, "z": "0 in"}
    for end, x in (("front", "60 in"), ("rear", "220 in"))
    for side, y in (("left", "40 in"), ("right", "-40 in"))
}


@pytest.fixture
def reads(books: Rulebooks, profile: Callable[[str], Load]) -> Reads:
    def facts(**fields: Any) -> Facts:
        load = profile(json.dumps({"kind": "load", **fields}))
        return Facts(load, books.unmarked_on(date(2026, 6, 1)))

    return facts


def of_first(facts: Facts, name: str) -> Number:
    return facts.value(name, facts.subjects("article")[0])


MACHINE = {
    "type": "wheeled machine",
    "length": "120 in",
    "placed": {"x": "80 in", "y": "0 in", "facing": "forward"},
    "attachments": {
        "hook": {"x": "4 in", "y": "0 in", "z": "20 in"},
        "eye": {"x": "116 in", "y": "0 in", "z": "20 in"},
        "tyre-left": {"x": "20 in", "y": "30 in", "z": "28 in"},
    },
}


def strap(anchor: str, point: str) -> dict[str, Any]:
    return {"device": "webbing", "path": "direct", "anchor": anchor, "attachment": point}


@pytest.mark.parametrize(
    ("anchors", "corners"),
    [
        (("front-left", "front-right", "rear-left", "rear-right"), 4.0),
        (("front-left", "front-right", "rear-left", "rear-left"), 3.0),  # both to the left
    ],
)
def test_a_point_in_the_middle_belongs_to_the_side_of_its_anchor(
    reads: Reads, anchors: tuple[str, ...], corners: float
) -> None:
    points = ("hook", "hook", "eye", "eye")
    facts = reads(
        trailer={"anchors": ANCHORS},
        articles=[MACHINE],
        tiedowns=[strap(*each) for each in zip(anchors, points, strict=True)],
    )
    assert of_first(facts, "article.corners_held") == corners


@pytest.mark.parametrize(("over_wheel", "corners"), [("yes", 1.0), ("no", 0.0)])
def test_a_strap_over_a_wheel_holds_its_corner_and_pulls_both_ways(
    reads: Reads, over_wheel: str, corners: float
) -> None:
    facts = reads(
        trailer={"anchors": ANCHORS},
        articles=[MACHINE],
        tiedowns=[
            {
                "device": "webbing",
                "path": "same side",
                "anchor": "front-left",
                "far_anchor": "rear-left",
                "over": ["tyre-left"],
                "over_wheel": over_wheel,
            }
        ],
    )
    assert of_first(facts, "article.corners_held") == corners
    held = of_first(facts, "article.held_from_moving_forward")
    assert held == 1.0 if over_wheel == "yes" else held != held


@pytest.mark.parametrize(
    ("kind", "drives", "rolls"),
    [("other", "yes", 1.0), ("other", "no", 0.0), ("implement", "yes", 1.0), ("other", None, None)],
)
def test_what_drives_itself_is_a_machine_whatever_it_is_called(
    reads: Reads, kind: str, drives: str | None, rolls: float | None
) -> None:
    facts = reads(articles=[{"type": kind} | ({"self_propelled": drives} if drives else {})])
    for name in ("article.is_machine", "article.can_roll"):
        found = of_first(facts, name)
        assert found == rolls if rolls is not None else found != found


def test_the_tyre_of_the_heavier_side_carries_more_than_the_average(reads: Reads) -> None:
    """2,000 lb on two tyres; 1,000 lb 9 in off the middle of a 90 in track move 100 lb over."""
    facts = reads(
        trailer={
            "empty_weight": "1000 lb",
            "empty_tongue_weight": "0 lb",
            "suspension": "single",
            "track": "90 in",
            "axles": {"main": {"x": "120 in", "tyres": 2}},
        },
        tow_vehicle={"front_restoration": "none"},
        articles=[
            {
                "weight": "1000 lb",
                "length": "80 in",
                "cg": {"x": "40 in", "y": "0 in"},
                "placed": {"x": "80 in", "y": "9 in", "facing": "forward"},
            }
        ],
    )
    (axle,) = facts.subjects("axle")
    assert facts.value("axle.tyre_load", axle) == pytest.approx(1000 * LB)
    assert facts.value("axle.heavier_tyre_load", axle) == pytest.approx(1100 * LB)


def test_an_empty_deck_is_stated_and_a_missing_list_is_not(reads: Reads) -> None:
    trailer = {"empty_weight": "1900 lb", "overall_width": "101 in"}
    empty, unknown = reads(trailer=trailer, articles=[]), reads(trailer=trailer)
    assert empty.value("trailer.gross_weight", None) == pytest.approx(1900 * LB)
    assert empty.value("load.overall_width", None) == pytest.approx(101 * 0.0254)
    assert empty.value("cargo.on_deck", None) == 0.0
    for name in ("trailer.gross_weight", "cargo.on_deck"):
        found = unknown.value(name, None)
        assert found != found


@pytest.mark.parametrize(
    ("chain", "hooks", "fits"), [("70", "70", 1.0), ("70", "80", 1.0), ("70", "43", 0.0)]
)
def test_hooks_are_of_the_grade_of_their_chain_or_higher(
    reads: Reads, chain: str, hooks: str, fits: float
) -> None:
    tiedown = {"device": "chain", "grade": chain, "hooks_grade": hooks}
    facts = reads(articles=[MACHINE], tiedowns=[tiedown])
    assert facts.value("tiedown.hooks_of_chain_grade", facts.subjects("tiedown")[0]) == fits
