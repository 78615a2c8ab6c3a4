"""What many hauls of the same shape state that cannot be, or is far outside the usual."""

from collections.abc import Iterable, Mapping, Set
from typing import Any

import numpy as np
from numpy.typing import NDArray

from checker.documents.problems import DataPath, Mark, Problem
from checker.facts.marked import above_table
from checker.facts.unmarked import UnmarkedRatings
from checker.load.build import Profile
from checker.load.plausible.entry import Grade
from checker.load.plausible.reading import Case, OfProfile, cases, middle
from checker.load.plausible.statement import ANSWER, Interval
from checker.season.chunk import Varied
from checker.season.stated import Stated
from checker.units.arithmetic import RELATIVE_TOLERANCE
from checker.units.formatting import System, show

Rows = NDArray[np.bool_]


class OfHauls(OfProfile):
    """What hauls state, and their profiles where a haul does not; figures are one row a haul."""

    def __init__(self, laid: Profile, stated: Stated, own: Mapping[DataPath, Varied]) -> None:
        """`own` are figures in which the profiles differ, spread over the hauls."""
        super().__init__(laid.merged.data)
        self.stated, self.own = stated, own

    def interval(self, path: DataPath, kind: str) -> Interval | None:
        """Least and most that a figure may be in each haul; NaN where it is not stated."""
        if path in self.stated.figures:
            found = self.stated.figures[path]
            return found.values - found.halves, found.values + found.halves
        if path in self.own:
            own = self.own[path]
            halves = 0.0 if own.halves is None else own.halves
            return own.values - halves, own.values + halves
        return super().interval(path, kind)

    def shown(self, path: DataPath, kind: str | None, row: int) -> str:
        """What a haul states."""
        found = self.interval(path, kind) if kind and self._varies(path) else None
        if found is None or kind is None:
            return super().shown(path, kind, row)
        value = middle(found, row)
        if kind == ANSWER:
            return "yes" if value == 1 else "no"
        system: System = "si" if self.is_metric(path, kind, row) else "us"
        half = middle((found[1], found[1]), row) - value
        loose = f" +/- {show(half, kind, system)}" if half > RELATIVE_TOLERANCE * abs(value) else ""
        return show(value, kind, system) + loose

    def is_metric(self, path: DataPath, kind: str, row: int) -> bool:
        """Whether a haul, or its profile, states it in a metric unit."""
        if path in self.stated.figures:
            metric = self.stated.figures[path].metric
            return bool(metric[row] if metric.size > 1 else metric[0])
        return super().is_metric(path, kind, row)

    def _varies(self, path: DataPath) -> bool:
        return path in self.stated.figures or path in self.own


class Looking:
    """The cases to look for in hauls that differ in nothing but their numbers."""

    def __init__(
        self,
        laid: Profile,
        stated: Stated,
        differ: Iterable[DataPath],
        unmarked: UnmarkedRatings,
    ) -> None:
        """`differ` are the figures in which the profiles differ.

        What profiles state by themselves was refused when they were read.
        """
        data: Any = laid.merged.data
        touched = {*stated.figures, *stated.words} - stated.scaled
        # Scaled axle weights agree with the weight as those of the profile do.
        chosen = touched - {(*path[:2], "weight") for path in stated.scaled}
        self.refusing = [
            case
            for case in cases(Grade.REFUSED, data)
            if _rests_on(case.paths_of_hauls, touched if case.entry.of_hauls is True else chosen)
        ]
        self.doubting: list[Case] = []
        self.of_all: set[str] = set()
        """What is doubtful in all of them, because it rests on nothing in which they differ."""
        varying = {*touched, *stated.scaled, *differ}
        same = OfProfile(data)
        for case in (*cases(Grade.DOUBTFUL, data), *above_table(data, unmarked)):
            if not case.entry.of_hauls:
                continue
            if _rests_on(case.paths, varying):
                self.doubting.append(case)
            elif case.holds(same):
                self.of_all.add(case.entry.name)

    def refused(self, hauls: OfHauls, number: int) -> dict[int, str]:
        """Places of hauls that cannot be, and why."""
        faults: dict[int, list[str]] = {}
        for case in self.refusing:
            for place in np.flatnonzero(_spread(case.holds(hauls), number)).tolist():
                said = Problem("", Mark(1, 1), *case.words(hauls, place)).words
                faults.setdefault(place, []).append(said)
        return {place: "; ".join(said) for place, said in faults.items()}

    def doubtful(self, hauls: OfHauls, number: int) -> dict[str, Rows]:
        """Which hauls have a doubtful figure of each kind that any of them has."""
        found = {name: np.ones(number, dtype=bool) for name in self.of_all}
        for case in self.doubting:
            held = case.holds(hauls)
            if np.any(held):
                name = case.entry.name
                rows = _spread(held, number)
                found[name] = found[name] | rows if name in found else rows
        return found


def _spread(held: Any, number: int) -> Rows:
    return np.broadcast_to(np.asarray(held, dtype=bool), (number,))


def _rests_on(paths: Iterable[DataPath], touched: Set[DataPath]) -> bool:
    """Whether any field is one of some, or stands in one of them."""
    return any(path[: depth + 1] in touched for path in paths for depth in range(len(path)))
