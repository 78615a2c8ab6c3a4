"""What there is to draw: places worked out by hand from the tape, turns, mirror images, gaps.

Expected places: the sums beside them, from the figures in the profile; 1 in is 0.0254 m exactly.
"""

import json
import math
from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from checker.documents.resources import shipped_folder
from checker.evaluation.check import check
from checker.load.build import read_load
from checker.load.model import Load
from checker.reports.shared.scene import Box, DrawnTiedown, Point, Projection, Scene
from checker.reports.shared.scene_building import build_scene
from checker.rulebooks.model import Rulebooks

INCH = 0.0254
DAY = date(2026, 6, 1)
UNRATED = {"working_load_limit": "no rating exists"}
Data = dict[str, Any]
Draw = Callable[[Data], Scene]

HELD = """
- id: {way}
  title: Held {way}
  question: tiedowns
  for_each: article
  when: not article.fully_contained
  requires: article.holds_{way} >= wanted
  thresholds:
    wanted:
      stricter: higher
      values: [{{value: {g} g, from: 2000-01-01, source: print, at: "1"}}]
  source: print
  at: "1"
  basis: guidance
  level: should
  because: it is so
  fix: mend it
  proofs: [{{name: a, given: {{}}, expect: not stated, origin: hand}}]
"""


@pytest.fixture
def rules(rulebook: Callable[..., Rulebooks]) -> Rulebooks:
    return rulebook(HELD.format(way="forward", g=0.4) + HELD.format(way="left", g=0.3))


@pytest.fixture
def draw(rules: Rulebooks, profile: Callable[[str], Load]) -> Draw:
    def drawn(data: Data) -> Scene:
        return build_scene(check(profile(json.dumps({"kind": "load", **data})), rules, DAY))

    return drawn


@pytest.fixture
def shipped_scene(rules: Rulebooks) -> Callable[[str], Scene]:
    def drawn(name: str) -> Scene:
        file = shipped_folder("profiles") / "loads" / f"{name}.yaml"
        return build_scene(check(read_load(file), rules, DAY))

    return drawn


def inches(value: float) -> Any:
    """A place in m, compared with one in inches."""
    return pytest.approx(value * INCH, abs=1e-12)


def test_a_load_facing_forward_stands_where_the_tape_says(
    shipped_scene: Callable[[str], Scene],
) -> None:
    scene = shipped_scene("side-by-side-in-order")
    (article,) = scene.articles
    assert article.box.front == inches(52)
    assert article.box.rear == inches(52 + 104)
    assert (article.box.right, article.box.left) == (inches(-30), inches(30))
    assert article.box.top == inches(74)
    # The centre of gravity from the axle scales: 14 + 76 x 810 / 1420 behind its front end.
    assert article.cg.x == inches(52 + 14 + 76 * 810 / 1420)
    assert (article.cg.y, article.cg.z) == (inches(0), inches(25))
    assert article.facing == "forward"
    wheels = {spot.name: spot.at for spot in article.stands_on}
    assert wheels["front left"].x == inches(52 + 14)
    assert wheels["rear right"].x == inches(52 + 90)
    assert wheels["rear right"].y == inches(-49 / 2)
    assert scene.ball.z == inches(17 - 24)
    assert scene.tongue[1].x == scene.deck.front == inches(46)
    assert (scene.deck.rear, scene.deck.left) == (inches(166), inches(38))
    assert scene.trailer_width == scene.overall_width == inches(97)
    assert scene.front_structure is not None
    assert scene.front_structure.top == inches(24)
    assert [(axle.name, axle.x, axle.track) for axle in scene.axles] == [
        ("main", inches(124), inches(86))
    ]
    assert article.projections == ()
    assert scene.missing == ()


def test_a_load_facing_rearward_is_turned_both_ways(shipped_scene: Callable[[str], Scene]) -> None:
    scene = shipped_scene("compact-tractor-tail-first-in-order")
    (article,) = scene.articles
    # Its own front end is at 58 + 150 = 208 in; the box stays between 58 and 208.
    assert (article.box.front, article.box.rear) == (inches(58), inches(208))
    assert article.facing == "rearward"
    assert article.cg.x == inches(58 + 150 - 64.2)
    points = {spot.name: spot.at for spot in article.attachments}
    # 98 in behind its front end and 12 in left of its middle: 208 - 98, and on the right.
    assert points["rear-left"] == Point(inches(208 - 98), inches(-12), inches(18))
    wheels = {spot.name: spot.at for spot in article.stands_on}
    # Named from the trailer: its rear wheels, 88 in behind its front end, are the front ones.
    assert wheels["front left"] == Point(inches(208 - 88), inches(26), 0.0)
    # Tiedown 1 runs from the anchor second-left to the machine's own rear right.
    assert scene.tiedowns[0].path == (
        Point(inches(90), inches(39), inches(1)),
        Point(inches(208 - 98), inches(12), inches(18)),
    )


TRAILER: Data = {
    "suspension": "single",
    "axles": {"main": {"x": "3.4 m", "tyres": 2}},
    "track": "2 m",
    "deck": {"front": "1 m", "rear": "5 m", "width": "2 m", "height": "0.5 m"},
    "overall_width": "2.2 m",
    "ball_height": "0.4 m",
}
ANCHORS: Data = {
    f"{end}-{side}": {"x": f"{x} m", "y": f"{y} m", "z": "0 m", "working_load_limit": "9000 N"}
    for end, x in (("front", 1.1), ("rear", 4.9))
    for side, y in (("left", 0.9), ("right", -0.9))
}
STRAP: Data = {
    "path": "direct",
    "device": "webbing",
    "marked_working_load_limit": "8000 N",
    "hooks_working_load_limit": "8000 N",
    "tensioner_working_load_limit": "8000 N",
    "pretension": "500 N",
    "stretch_at_limit": "5 %",
}


def machine(*, x: float, y: float, facing: str, cg_y: float = 0.0, mirror: float = 1.0) -> Data:
    """A wheeled machine of 2.0 by 1.4 m tied at four points; `mirror` -1 swaps left and right."""
    return {
        "title": "Machine",
        "type": "wheeled machine",
        "weight": "6000 N",
        "length": "2 m",
        "width": "1.4 m",
        "height": "1.5 m",
        "cg": {"x": "0.9 m", "y": f"{mirror * cg_y!r} m", "z": "0.6 m"},
        "friction": 0.4,
        "axles": {
            # By moments about the front axle: 1.4 m x 2571.4 N / 6000 N is 0.6 m behind it.
            end: {"x": f"{at} m", "weight": weight, "track": "1.2 m"}
            for end, at, weight in (("front", 0.3, "3428.6 N"), ("rear", 1.7, "2571.4 N"))
        },
        "attachments": {
            f"{end}-{side}": {"x": f"{at} m", "y": f"{mirror * out} m", "z": "0.4 m", **UNRATED}
            for end, at in (("front", 0.1), ("rear", 1.8))
            for side, out in (("left", 0.5), ("right", -0.6))
        },
        "placed": {"x": f"{x!r} m", "y": f"{mirror * y!r} m", "facing": facing},
        "fully_contained": "no",
        "parking_brake_set": "yes",
    }


def a_load(article: Data, *, mirror: float = 1.0) -> Data:
    anchors = {
        name: {**anchor, "y": f"{mirror * float(anchor['y'].split()[0])} m"}
        for name, anchor in ANCHORS.items()
    }
    ties = [
        {**STRAP, "anchor": f"{end}-{side}", "attachment": f"{end}-{side}"}
        for end in ("front", "rear")
        for side in ("left", "right")
    ]
    return {"trailer": {**TRAILER, "anchors": anchors}, "articles": [article], "tiedowns": ties}


def mirrored(point: Point) -> Point:
    return Point(point.x, -point.y, point.z)


def approximately(point: Point) -> Point:
    return Point(*(pytest.approx(value, abs=1e-9) for value in (point.x, point.y, point.z)))


def to_the_nanometre(least: float, most: float) -> st.SearchStrategy[float]:
    """Figures of a size that a load can have."""
    return st.floats(least, most).map(lambda metres: round(metres, 9))


@settings(
    max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None
)
@given(
    x=st.floats(1.0, 3.0),
    y=to_the_nanometre(-0.3, 0.3),
    cg_y=to_the_nanometre(-0.2, 0.2),
    facing=st.sampled_from(["forward", "rearward"]),
)
def test_a_mirrored_load_is_drawn_as_its_mirror_image(
    draw: Draw, x: float, y: float, cg_y: float, facing: str
) -> None:
    scene = draw(a_load(machine(x=x, y=y, facing=facing, cg_y=cg_y)))
    image = draw(a_load(machine(x=x, y=y, facing=facing, cg_y=cg_y, mirror=-1.0), mirror=-1.0))
    ours, theirs = scene.articles[0], image.articles[0]
    assert mirrored(theirs.cg) == approximately(ours.cg)
    assert (-theirs.box.right, -theirs.box.left) == pytest.approx((ours.box.left, ours.box.right))
    for spot, other in zip(ours.attachments, theirs.attachments, strict=True):
        assert mirrored(other.at) == approximately(spot.at)
    for tiedown, other_tiedown in zip(scene.tiedowns, image.tiedowns, strict=True):
        assert [mirrored(place) for place in other_tiedown.path] == [
            approximately(place) for place in tiedown.path
        ]
        # An article that nothing holds without friction carries no share, on either side.
        assert ("forward" in other_tiedown.carries) == ("forward" in tiedown.carries)
        if "forward" in tiedown.carries:
            assert other_tiedown.carries["forward"] == pytest.approx(
                tiedown.carries["forward"], abs=1e-6
            )


def test_the_share_carried_is_that_of_a_symmetric_pair_by_hand(draw: Draw) -> None:
    # Only the two rear straps, level along x at the height of the centre of gravity, so that the
    # wanted 0.4 g x 6000 N is all they carry: 1200 N each, 15 % of 8000 N. No pre-tension.
    article = machine(x=1.5, y=0.0, facing="forward")
    article["attachments"] = {
        side: {"x": "2 m", "y": f"{out} m", "z": "0.6 m", **UNRATED}
        for side, out in (("left", 0.9), ("right", -0.9))
    }
    data = a_load(article)
    for name in ("rear-left", "rear-right"):
        data["trailer"]["anchors"][name] |= {"z": "0.6 m"}
    data["tiedowns"] = [
        {**STRAP, "pretension": "0 N", "anchor": f"rear-{side}", "attachment": side}
        for side in ("left", "right")
    ]
    scene = draw(data)
    assert scene.asked == {"forward": pytest.approx(0.4), "left": pytest.approx(0.3)}
    assert [each.carries["forward"] for each in scene.tiedowns] == [pytest.approx(0.15)] * 2
    assert [each.working_load_limit for each in scene.tiedowns] == [8000.0] * 2
    # Nothing pulls it across, and friction is left out: it is not held, so there is no share.
    assert "left" not in scene.tiedowns[0].carries
    assert scene.articles[0].not_held == ("left",)


def test_no_share_is_told_where_the_stretch_is_not_stated(draw: Draw) -> None:
    data = a_load(machine(x=1.5, y=0.0, facing="forward"))
    del data["tiedowns"][0]["stretch_at_limit"]
    scene = draw(data)
    assert [each.carries for each in scene.tiedowns] == [{}] * 4
    assert scene.articles[0].not_held == ()


def test_a_rule_that_does_not_apply_asks_nothing(draw: Draw) -> None:
    article = machine(x=1.5, y=0.0, facing="forward")
    article["fully_contained"] = "yes"
    scene = draw(a_load(article))
    assert scene.asked == {}
    assert [each.carries for each in scene.tiedowns] == [{}] * 4


@pytest.mark.parametrize(
    ("x", "y", "expected"),
    [
        (1.0, 0.3, ()),  # 1.0 to 3.0 m and 1.0 m left: flush with front and left edge
        (0.9, 0.0, (Projection("front", 0.1),)),
        (3.0, -0.3, ()),  # 5.0 m and 1.0 m right: flush with rear and right edge
        (3.2, 0.0, (Projection("rear", 0.2),)),
        (2.0, 0.4, (Projection("left", 0.1),)),
        (2.0, -0.5, (Projection("right", 0.2),)),
    ],
)
def test_what_reaches_past_the_deck_is_told_by_its_side(
    draw: Draw, x: float, y: float, expected: tuple[Projection, ...]
) -> None:
    found = draw(a_load(machine(x=x, y=y, facing="forward"))).articles[0].projections
    assert found == tuple(Projection(each.side, pytest.approx(each.by)) for each in expected)


def test_a_block_is_turned_with_its_article_and_pushes_by_the_trailer(draw: Draw) -> None:
    article = machine(x=2.0, y=0.1, facing="rearward")
    article["blocks"] = {
        "chock": {"stops": "forward", "strength": "900 N", "x": "1.9 m", "y": "0.4 m", "z": "0.1 m"}
    }
    (block,) = draw(a_load(article)).articles[0].blocks
    # 2.0 + 2.0 - 1.9 behind the ball, 0.1 - 0.4 across; it pushes rearward what would go forward.
    assert block.at == approximately(Point(2.1, -0.3, 0.1))
    assert (block.stops, block.strength, block.pushes) == ("forward", 900.0, (1.0, 0.0, 0.0))


def test_what_cannot_be_drawn_names_the_field_that_is_missing(draw: Draw) -> None:
    data = a_load(machine(x=2.0, y=0.0, facing="forward"))
    del data["articles"][0]["width"]
    del data["articles"][0]["cg"]["z"]
    del data["trailer"]["track"]
    del data["tiedowns"][2]["attachment"]
    scene = draw(data)
    assert scene.missing == (
        "trailer.track",
        "articles.1.width",
        "articles.1.cg.z",
        "tiedowns.3.attachment",
    )
    article = scene.articles[0]
    assert not article.box.in_plan
    assert article.box.in_side
    assert article.cg.in_plan
    assert not article.cg.in_side
    assert math.isnan(scene.tiedowns[2].path[1].x)
    assert scene.front_structure is None


def test_an_empty_profile_lists_what_a_drawing_needs(draw: Draw) -> None:
    assert draw({"title": "Nothing yet"}).missing == (
        "trailer.deck.front",
        "trailer.deck.rear",
        "trailer.deck.width",
        "trailer.deck.height",
        "trailer.ball_height",
        "trailer.track",
        "trailer.axles",
        "articles",
        "tiedowns",
    )


def test_a_tiedown_over_the_load_runs_from_anchor_to_anchor(draw: Draw) -> None:
    data = a_load(machine(x=2.0, y=0.0, facing="forward"))
    data["tiedowns"] = [
        {
            **STRAP,
            "path": "other side",
            "anchor": "front-left",
            "far_anchor": "front-right",
            "over": ["front-left", "front-right"],
        }
    ]
    (tiedown,) = draw(data).tiedowns
    assert [place.y for place in tiedown.path] == [0.9, 0.5, -0.6, -0.9]
    assert isinstance(tiedown, DrawnTiedown)


def test_places_know_from_which_side_they_can_be_drawn() -> None:
    flat = Point(1.0, 2.0, math.nan)
    assert (flat.in_plan, flat.in_side) == (True, False)
    upright = Box(front=0, rear=1, right=math.nan, left=1, bottom=0, top=1)
    assert (upright.in_plan, upright.in_side) == (False, True)
