"""Arrangements that hold in all corners of stated tolerances, and the room a crew has there."""

from collections.abc import Callable
from datetime import date
from itertools import product

import numpy as np
import pytest

from checker.advice.arrange.arrangement import Arrangement, arrange
from checker.advice.arrange.choices import choices_of
from checker.advice.arrange.mark_room import FURTHEST, MarkRoom, mark_rooms
from checker.advice.arrange.places import Places
from checker.advice.arrange.plan_rows import PlanRows, Plans
from checker.advice.arrange.tolerances import ToleranceError, Tolerances, read_tolerances
from checker.evaluation.tolerances import check_profile
from checker.load.build import Profile
from checker.rulebooks.model import Rulebooks
from checker.units.parsing import parse

DAY = date(2026, 6, 11)
INCH = 0.0254
X, Y, WEIGHT = (
    ("articles", 0, "placed", "x"),
    ("articles", 0, "placed", "y"),
    ("articles", 0, "weight"),
)

Bundled = Callable[[str], Profile]


def _broken(profile: Profile, books: Rulebooks) -> list[str]:
    """The must-rules that are not known to be met."""
    return [
        each.rule.id
        for each in check_profile(profile, books, DAY).findings
        if each.rule.level == "must" and each.verdict.value not in ("met", "does not apply")
    ]


@pytest.fixture(scope="module")
def bundled_arrangement() -> dict[tuple[str, Tolerances], Arrangement]:
    return {}


@pytest.fixture
def arranged(
    bundled: Bundled,
    books: Rulebooks,
    bundled_arrangement: dict[tuple[str, Tolerances], Arrangement],
) -> Callable[[str, Tolerances], Arrangement]:
    """An arrangement of a bundled load that breaks no must-rule, found once."""

    def find(name: str, tolerances: Tolerances) -> Arrangement:
        if (name, tolerances) not in bundled_arrangement:
            found = arrange(bundled(name), books, DAY, order=(), tolerances=tolerances)
            assert found
            bundled_arrangement[name, tolerances] = found
        return bundled_arrangement[name, tolerances]

    return find


def test_a_tolerance_of_a_place_stays_where_the_plan_moves_the_article(bundled: Bundled) -> None:
    """The file states 60 in; the plan moves it by 3 in and keeps the 2 in that it may be off."""
    profile = bundled("mower-in-order").replaced({X: "60 in +/- 2 in"})
    choices = choices_of(profile, profile.gear)
    assert choices.stands
    moved = Places(choices.stands.facings, choices.stands.x + 3 * INCH, choices.stands.y)
    plans = Plans(moved, np.zeros((1, 1), dtype=np.intp), np.zeros((1, 1), dtype=np.intp))
    planned = PlanRows(choices).profile_of(plans, 0)
    assert planned.tolerances[X] == pytest.approx((63 * INCH, 2 * INCH))


def test_a_tolerance_on_a_label_makes_no_corners(bundled: Bundled) -> None:
    """Tiedowns differ from plan to plan: the corners of all plans are those of the rest."""
    profile = bundled("mower-in-order").replaced(
        {("tiedowns", 0, "pretension"): "300 lbf +/- 50 lbf", X: "60 in +/- 2 in"}
    )
    assert len(profile.tolerances) == 2
    assert len(PlanRows.signs(profile)) == 1 + 2


def test_a_robust_arrangement_holds_at_every_corner(
    arranged: Callable[[str, Tolerances], Arrangement], books: Rulebooks
) -> None:
    """Each corner is written as a plain profile and checked by itself."""
    found = arranged("mower-in-order", Tolerances(position=3 * INCH, weight=0.05)).profile
    (x, x_off), (y, y_off), (weight, weight_off) = (
        found.tolerances[each] for each in (X, Y, WEIGHT)
    )
    assert (x_off, y_off) == pytest.approx((3 * INCH, 3 * INCH))
    assert weight_off == pytest.approx(0.05 * weight)
    assert not _broken(found, books)
    for along, across, heavier in product((-1, 0, 1), (-1, 1), (-1, 1)):
        corner = found.replaced(
            {
                X: f"{(x + along * x_off) * 1000:.6f} mm",
                Y: f"{(y + across * y_off) * 1000:.6f} mm",
                WEIGHT: f"{weight + heavier * weight_off:.6f} N",
            }
        )
        assert not corner.tolerances
        assert not _broken(corner, books)


def test_the_room_at_the_mark_by_hand(
    arranged: Callable[[str, Tolerances], Arrangement], books: Rulebooks
) -> None:
    """The tongue has 10 % of 2,340 lb with the front at 55.383 in (see test_room.py).

    It stays at 52 in, so that it may be 3.38 in further back; to the front the deck ends.
    """
    found = arranged("side-by-side-in-order", Tolerances())
    assert found.profile.stated.articles[0].placed.x == pytest.approx(52 * INCH)
    (room,) = mark_rooms(found, books, DAY)
    assert isinstance(room, MarkRoom)
    ways = {each.way: each for each in room.ways}
    assert 55.383 - 52 - 1 / 32 <= ways["rearward"].distance / INCH <= 55.383 - 52
    assert ways["rearward"].end == "rules"
    assert "tongue-share-ball" in [each.id for each in ways["rearward"].ended_by]
    front = float(found.profile.stated.trailer.deck.front)
    assert ways["forward"].distance <= 52 * INCH - front + 1e-6
    assert 0 < room.every_way <= ways["rearward"].distance
    assert all(0 <= each.distance <= FURTHEST for each in room.ways)


def test_the_room_of_a_robust_arrangement_is_at_least_its_tolerance(
    arranged: Callable[[str, Tolerances], Arrangement], books: Rulebooks
) -> None:
    """It was found for 3 in each way at any weight in question; the room is with those weights."""
    found = arranged("mower-in-order", Tolerances(position=3 * INCH, weight=0.05))
    (room,) = mark_rooms(found, books, DAY)
    assert room.every_way >= 3 * INCH - 1e-9


def test_texts_of_tolerances() -> None:
    """3 in is 76.2 mm."""
    found = read_tolerances(["position=3in", "weight = 5 %"])
    assert found == Tolerances(parse("76.2 mm", "length").value, 0.05)
    assert read_tolerances([]) == Tolerances()
    assert not Tolerances()


@pytest.mark.parametrize(
    ("texts", "message"),
    [
        (["speed=3"], r"found 'speed=3'; wanted position=LENGTH or weight=SHARE"),
        (["position"], r"found 'position=?'; wanted"),
        (["position=3"], r"found 'position=3'; wanted"),
        (["weight=120 %"], r"found 'weight=120 %'; wanted a size above zero"),
        (["position=-1 in"], r"found 'position=-1 in'; wanted"),
        (["position=1 in", "position=2 in"], r"found 'position' twice; wanted it once"),
    ],
)
def test_a_text_that_is_no_tolerance(texts: list[str], message: str) -> None:
    with pytest.raises(ToleranceError, match=message):
        read_tolerances(texts)
