"""How far a crew may miss the mark: from its place each article may stand off by so much."""

from collections.abc import Iterator, Sequence
from datetime import date
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct

from checker.advice.arrange.arrangement import Arrangement
from checker.advice.arrange.choices import INCH, length_text
from checker.advice.arrange.places import Numbers, Places, on_deck, overlapping, places_today
from checker.advice.arrange.plan_rows import PlanRows
from checker.evaluation.evaluator import Evaluated, evaluators
from checker.evaluation.rule_rows import Flags, expand
from checker.load.build import Profile
from checker.load.model import Load
from checker.rulebooks.model import Rule, Rulebooks

if TYPE_CHECKING:
    from checker.documents.problems import DataPath
    from checker.units.arithmetic import Number

FURTHEST = 24 * INCH
"""Nobody misses a mark by more, in m."""

_COARSE, _FINE = 48, 16
"""Steps from the mark to the furthest, and steps into which the one at the edge is divided."""

_WAYS = {"forward": (-1.0, 0.0), "rearward": (1.0, 0.0), "left": (0.0, 1.0), "right": (0.0, -1.0)}
_EVERY_WAY = [(x, y) for x in (-1.0, 0.0, 1.0) for y in (-1.0, 0.0, 1.0) if x or y]


class WayOff(Struct, frozen=True):
    """How far an article may stand from its mark one way, in m, and what ends it there.

    `ended_by` are the must-rules that are not met further on. `end` is "rules", "deck" for an end
    or side of the deck, "article" for another one in the way, "reach" for a tiedown that is too
    short, "furthest" where nothing ends it within `FURTHEST`.
    """

    way: str
    distance: float
    end: str
    ended_by: tuple[Rule, ...] = ()


class MarkRoom(Struct, frozen=True):
    """How far one article may miss its mark while every must-rule met at the mark stays met.

    All else stands as planned; tolerances of weights count in all corners. `every_way` is the
    distance in m that it may be off along and across at once, whichever way; places before the
    front end of the deck, where it cannot stand, do not count.
    """

    article: str
    ways: tuple[WayOff, ...]
    every_way: float


def mark_rooms(arrangement: Arrangement, rulebooks: Rulebooks, on: date) -> tuple[MarkRoom, ...]:
    """The room of each article of an arrangement."""
    rooms = _Rooms(arrangement, rulebooks, on)
    return tuple(rooms.of(index) for index in range(len(rooms.articles)))


class _Rooms:
    """The arrangement's load, with rows for places of one article off its mark."""

    def __init__(self, arrangement: Arrangement, rulebooks: Rulebooks, on: date) -> None:
        self.rulebooks, self.on = rulebooks, on
        self.profile = _without_position_tolerances(arrangement)
        self.articles = self.profile.stated.articles
        self.reach = [kind.length for _, kind in arrangement.tiedowns]
        mark = places_today(self.profile.stated)
        assert mark is not None
        self.mark: Places = mark

    def of(self, article: int) -> MarkRoom:
        coarse: Numbers = np.linspace(0.0, FURTHEST, _COARSE + 1)[1:]
        ways = {way: self._way_off(article, way, sign, coarse) for way, sign in _WAYS.items()}
        return MarkRoom(
            article=self.articles[article].name,
            ways=tuple(ways.values()),
            every_way=self._every_way(article, coarse),
        )

    def _way_off(
        self, article: int, way: str, sign: tuple[float, float], coarse: Numbers
    ) -> WayOff:
        distance, tried, row = self._first_bad(article, [sign], coarse)
        if row is None:
            return WayOff(way, distance, "furthest")
        return WayOff(way, distance, *tried.end(row))

    def _every_way(self, article: int, coarse: Numbers) -> float:
        """Places that the rail at the deck's front keeps it from are none it can stand at."""
        distance, _, _ = self._first_bad(article, _EVERY_WAY, coarse)
        return distance

    def _first_bad(
        self,
        article: int,
        signs: Sequence[tuple[float, float]],
        distances: Numbers,
    ) -> tuple[float, "_Tried", int | None]:
        """The last distance that is good in all these ways, and the first bad row beyond it."""
        start = 0.0
        for last in (False, True):
            tried = self._tried(article, signs, distances)
            good = tried.good.reshape(len(distances), len(signs))
            bad = np.flatnonzero(~good.all(axis=1))
            if not bad.size:
                return float(distances[-1]), tried, None
            first = int(bad[0])
            start = float(distances[first - 1]) if first else start
            row = first * len(signs) + int(np.flatnonzero(~good[first])[0])
            if not last:
                fine = np.linspace(start, float(distances[first]), _FINE + 1)[1:]
                distances = fine
        return start, tried, row

    def _tried(
        self, article: int, signs: Sequence[tuple[float, float]], distances: Numbers
    ) -> "_Tried":
        """Rows by distance, then by way; the first of each call is the mark itself."""
        off = (distances[:, None, None] * np.array(signs)).reshape(-1, 2)
        count = len(off) + 1
        places = self.mark.take([0] * count)
        x, y = places.x.copy(), places.y.copy()
        x[1:, article] += off[:, 0]
        y[1:, article] += off[:, 1]
        places = places._replace(x=x, y=y)
        return _Tried(self, places, several=len(signs) > 1)

    def load(self, places: Places) -> tuple[Load, int]:
        """The load of these places, and how many corners of its tolerances each has."""
        signs = PlanRows.signs(self.profile)
        corners, count = len(signs), places.size
        values: dict[DataPath, Number] = {
            ("articles", index, "placed", axis): np.tile(rows[:, index], corners)
            for index in range(len(self.articles))
            for axis, rows in (("x", places.x), ("y", places.y))
        }
        for index, (path, (value, half)) in enumerate(self.profile.tolerances.items()):
            values[path] = values.get(path, value) + np.repeat(half * signs[:, index], count)
        return self.profile.load(values), corners


class _Tried:
    """What rules and tiedowns say of some places, the first of which is the mark."""

    def __init__(self, rooms: _Rooms, places: Places, *, several: bool) -> None:
        stated = rooms.profile.stated
        load, corners = rooms.load(places)
        found = evaluators(load, rooms.rulebooks, rooms.on, corners=corners)
        self.rules = [
            (each.rule, expand(each.satisfied, places.size))
            for each in found.rule_rows(lambda rule: rule.level == "must")
        ]
        # What is not met at the mark itself is no matter of the place.
        self.rules = [(rule, good) for rule, good in self.rules if good[0]]
        self.on_deck = on_deck(stated, places)
        self.apart = ~overlapping(stated, places)
        self.reached = _reached(found, rooms.reach, places.size)
        good: Flags = self.apart & self.reached
        for _, met in self.rules:
            good = good & met
        stands = self.on_deck | ~self.on_deck[0]
        if several:
            before_the_rail = places.x < float(stated.trailer.deck.front) - 1e-6
            self.good = ((good & stands) | before_the_rail.any(axis=1))[1:]
        else:
            self.good = (good & stands)[1:]

    def end(self, row: int) -> tuple[str, tuple[Rule, ...]]:
        """What ends the room at a row of `good`."""
        at = row + 1
        broken = tuple(rule for rule, met in self.rules if not met[at])
        if broken:
            return "rules", broken
        if not self.apart[at]:
            return "article", ()
        return ("reach" if not self.reached[at] else "deck"), ()


def _reached(found: Evaluated, reach: Sequence[float], rows: int) -> Flags:
    """The rows in which every tiedown reaches from end to end, in all corners."""
    good: Flags = np.ones(rows, dtype=bool)
    for subject, most in zip(found.facts.subjects("tiedown"), reach, strict=True):
        lengths = np.broadcast_to(
            found.facts.value("tiedown.length", subject), found.facts.load.rows
        )
        good &= ~(lengths.reshape(-1, rows) > most).any(axis=0)
    return good


def _without_position_tolerances(arrangement: Arrangement) -> Profile:
    return arrangement.profile.replaced(dict(_places(arrangement)))


def _places(arrangement: Arrangement) -> Iterator[tuple["DataPath", str]]:
    for path, (value, _) in arrangement.profile.tolerances.items():
        if "placed" in path:
            yield path, length_text(value, arrangement.choices.step)
