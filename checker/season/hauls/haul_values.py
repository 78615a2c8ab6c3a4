"""Finds impossible and doubtful values in many hauls of the same shape."""

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
from checker.logs.decode import Figures
from checker.season.hauls.first_rows import MOST_ROWS
from checker.season.hauls.stated import Stated
from checker.units.arithmetic import RELATIVE_TOLERANCE
from checker.units.formatting import SI, US, show, show_stated

Rows = NDArray[np.bool_]


class HaulValues(OfProfile):
    """The values of hauls: those they state, else those of their profiles; one row a haul."""

    def __init__(self, overlaid: Profile, figures: Mapping[DataPath, Figures]) -> None:
        """`figures` holds those that hauls state or in which their profiles differ."""
        super().__init__(overlaid.merged.data)
        self.varied = figures

    def interval(self, path: DataPath, kind: str) -> Interval | None:
        """Lower and upper bound of a figure in each haul; NaN if not stated."""
        found = self.varied.get(path)
        if found is None:
            return super().interval(path, kind)
        return found.values - found.halves, found.values + found.halves

    def shown(self, path: DataPath, kind: str | None, row: int) -> str:
        """The value of one haul as text."""
        found = self.interval(path, kind) if kind and path in self.varied else None
        if found is None or kind is None:
            return super().shown(path, kind, row)
        value = middle(found, row)
        if kind == ANSWER:
            return "yes" if value == 1 else "no"
        system = SI if self.is_metric(path, kind, row) else US
        half = middle((found[1], found[1]), row) - value
        tolerance = (
            f" +/- {show(half, kind, system)}" if half > RELATIVE_TOLERANCE * abs(value) else ""
        )
        return show_stated(value, kind, system) + tolerance

    def is_metric(self, path: DataPath, kind: str, row: int) -> bool:
        """True if the haul, or else its profile, states the figure in a metric unit."""
        if path in self.varied:
            metric = self.varied[path].metric
            return bool(metric[row] if metric.size > 1 else metric[0])
        return super().is_metric(path, kind, row)


class ImplausibleCases:
    """The cases that can be impossible or doubtful in hauls that differ only in numbers."""

    def __init__(
        self,
        overlaid: Profile,
        stated: Stated,
        differ: Iterable[DataPath],
        unmarked: UnmarkedRatings,
    ) -> None:
        """`differ` holds the paths of the figures in which the profiles differ.

        Impossible values of the profiles were already refused when they were read.
        """
        data: Any = overlaid.merged.data
        stated_paths = {*stated.figures, *stated.words} - stated.scaled
        # Scaled axle weights agree with the weight as those of the profile do.
        stated_or_scaled = stated_paths - {(*path[:2], "weight") for path in stated.scaled}
        self.refused_cases = [
            case
            for case in cases(Grade.REFUSED, data)
            if _rests_on(
                case.paths_of_hauls,
                stated_paths if case.entry.of_hauls is True else stated_or_scaled,
            )
        ]
        self.doubtful_cases: list[Case] = []
        self.doubtful_in_all: list[Case] = []
        """Cases that are doubtful in all hauls, as the hauls do not differ in their values."""
        varying = {*stated_paths, *stated.scaled, *differ}
        same = OfProfile(data)
        for case in (*cases(Grade.DOUBTFUL, data), *above_table(data, unmarked)):
            if not case.entry.of_hauls:
                continue
            if _rests_on(case.paths, varying):
                self.doubtful_cases.append(case)
            elif case.holds(same):
                self.doubtful_in_all.append(case)

    def refused(self, hauls: HaulValues, number: int) -> dict[int, str]:
        """By index, the hauls with impossible values, and the reason."""
        faults: dict[int, list[str]] = {}
        for case in self.refused_cases:
            for index in np.flatnonzero(_spread(case.holds(hauls), number)).tolist():
                reason = Problem("", Mark(1, 1), *case.words(hauls, index)).words
                faults.setdefault(index, []).append(reason)
        return {index: "; ".join(reasons) for index, reasons in faults.items()}

    def doubtful(self, hauls: HaulValues, number: int) -> dict[str, Rows]:
        """For each kind of doubtful figure found, True for the hauls that have it."""
        found = {case.entry.name: np.ones(number, dtype=bool) for case in self.doubtful_in_all}
        for case in self.doubtful_cases:
            holds = case.holds(hauls)
            if np.any(holds):
                name = case.entry.name
                rows = _spread(holds, number)
                found[name] = found[name] | rows if name in found else rows
        return found

    def doubt_words(
        self, hauls: HaulValues, doubtful: Mapping[str, Rows], rows: NDArray[np.int64]
    ) -> dict[str, dict[int, str]]:
        """For each kind of doubtful figure, what was found in its first rows of the log.

        `doubtful` is what `doubtful` found, `rows` are the rows of the hauls.
        """
        found: dict[str, dict[int, str]] = {}
        for case in (*self.doubtful_in_all, *self.doubtful_cases) if doubtful else ():
            here = doubtful.get(case.entry.name)
            if here is None:
                continue
            indices = np.flatnonzero(here & _spread(case.holds(hauls), len(rows)))
            words = found.setdefault(case.entry.name, {})
            for index in indices[np.argsort(rows[indices])][:MOST_ROWS].tolist():
                seen, usual = case.words(hauls, index)
                words.setdefault(int(rows[index]), f"{seen}; usual: {usual}")
        return found


def _spread(holds: Any, number: int) -> Rows:
    return np.broadcast_to(np.asarray(holds, dtype=bool), (number,))


def _rests_on(paths: Iterable[DataPath], stated_paths: Set[DataPath]) -> bool:
    """True if any path is in `stated_paths` or below one of them."""
    return any(path[: depth + 1] in stated_paths for path in paths for depth in range(len(path)))
