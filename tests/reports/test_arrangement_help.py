"""The room at the mark and the need for gear in words; searches are tested beside them."""

from checker.advice.arrange.mark_room import FURTHEST, MarkRoom, WayOff
from checker.advice.arrange.what_if import GearNeed
from checker.reports.shared.arrangement_help import (
    gear_need_data,
    gear_need_lines,
    mark_room_data,
    mark_room_lines,
)
from checker.units.formatting import SI, US
from tests.shipped import shipped_rules

INCH = 0.0254
TONGUE = next(
    rule for book in shipped_rules().books for rule in book.rules if rule.id == "tongue-share-ball"
)
ROOM = MarkRoom(
    article="mower",
    ways=(
        WayOff("forward", 4.0 * INCH, "deck"),
        WayOff("rearward", 3.38 * INCH, "rules", (TONGUE,)),
        WayOff("left", FURTHEST, "furthest"),
        WayOff("right", 0.0, "reach"),
    ),
    every_way=1.7 * INCH,
)


def test_the_room_is_rounded_down_to_what_a_tape_reads() -> None:
    """3.38 in are 3 1/4 in to the quarter below; 1.7 in are 43 mm, 4 cm to the centimetre below."""
    mower, forward, rearward, left, right = mark_room_lines([ROOM], US)
    assert mower == ("mower: up to 1.5 in off its mark in any direction, along and across at once.")
    assert forward == "- 4 in forward, to the end of the deck"
    assert rearward == (
        f"- 3.25 in rearward; not met further on: {TONGUE.title} [tongue-share-ball]"
    )
    assert left == "- 24 in to the left and more"
    assert right == "- 0 in to the right, as far as the tiedowns reach"
    assert "40 mm off its mark" in next(mark_room_lines([ROOM], SI))


def test_the_room_as_data() -> None:
    (room,) = mark_room_data([ROOM])
    assert room["every_way"] == 1.7 * INCH
    assert room["ways"][1] == {
        "way": "rearward",
        "distance": 3.38 * INCH,
        "end": "rules",
        "rules": ["tongue-share-ball"],
    }


def test_gear_by_what_is_left_without_it() -> None:
    """Words for each state; a kind of which none is used is named once, in front."""
    needs = (
        GearNeed("chains", 4, 0, "as good", "as good"),
        GearNeed("light straps", 4, 0, "as good", "as good"),
        GearNeed("straps", 6, 4, "worse", "as good"),
        GearNeed("long straps", 4, 4, "impossible", "worse"),
        GearNeed("ropes", 2, 2, "not decided", "not decided"),
    )
    assert list(gear_need_lines(needs)) == [
        "Never needed: 'chains' and 'light straps'.",
        "'straps': 4 of 6 used; without them the arrangement is worse; 2 pieces can stay behind.",
        "'long straps': 4 of 4 used; without them there is no arrangement; with one less the "
        "arrangement is worse.",
        "'ropes': 2 of 2 used; whether there is an arrangement without them was not decided in "
        "time.",
    ]
    assert gear_need_data(needs)[2]["one_less"] == "as good"
