"""Hauls that are evaluated together: one load with a row for each of them."""

import itertools
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from checker.documents.problems import DataPath
from checker.evaluation.tolerances import load_with_corners
from checker.load.build import MOST_CORNERED, Profile
from checker.load.model import Load
from checker.rulebooks.model import Rulebooks
from checker.units.arithmetic import Number

_ROWS_AT_ONCE = 3_072
"""So many hauls are judged at once, or fewer with all corners of their tolerances."""


@dataclass(frozen=True, slots=True)
class Varied:
    """The numbers of one field over hauls or loads, in N, m and s, answers as 1 and 0.

    NaN is not stated. `halves` are half-widths of tolerances; None where there is not one.
    """

    values: NDArray[np.float64]
    halves: NDArray[np.float64] | None = None

    def of(self, rows: Any) -> "Varied":
        """Those of some rows."""
        return Varied(self.values[rows], None if self.halves is None else self.halves[rows])


class Labels(NamedTuple):
    """The load profile as the log names it, and the titles of it and what was hauled with what."""

    load: str
    title: str
    """Empty where it states none."""
    trailer: str
    machines: tuple[str, ...]
    tow_vehicle: str


@dataclass(frozen=True, slots=True)
class Chunk:
    """Hauls that share the rules of their day and every word of their loads.

    They are hauls of one load or of several of the same shape; only figures differ.
    """

    profile: Profile
    """The load profile, with whatever all hauls state over it; it stands for those of all loads.

    Fields that vary have some text.
    """
    loads: Sequence[Labels]
    load_of: NDArray[np.intp]
    """Index into `loads` of each haul's load."""
    on: date
    """Any day of the stretch of days in which all of them lie."""
    rows: NDArray[np.int64]
    """Where each haul stands in the log."""
    days: NDArray[np.int64]
    """Days since 0001-01-01, as `date.toordinal` counts."""
    crews: Sequence[str]
    crew_of: NDArray[np.intp]
    """Index into `crews` of each haul's crew; an empty name where the log names none."""
    columns: Mapping[DataPath, Varied]
    """The figures in which the hauls or their loads differ, one row a haul."""
    doubtful: Mapping[str, NDArray[np.bool_]] = field(default_factory=dict)
    """Which hauls have a doubtful figure, by its name."""

    def of(self, rows: slice) -> "Chunk":
        """Some of the hauls."""
        return replace(
            self,
            load_of=self.load_of[rows],
            rows=self.rows[rows],
            days=self.days[rows],
            crew_of=self.crew_of[rows],
            columns={path: column.of(rows) for path, column in self.columns.items()},
            doubtful={name: hauls[rows] for name, hauls in self.doubtful.items()},
        )

    def slices(self) -> "Iterator[Chunk]":
        """The hauls, as many at a time as are judged at once."""
        at_once = max(_ROWS_AT_ONCE // self.corners, 1)
        for first in range(0, self.hauls, at_once):
            yield self.of(slice(first, first + at_once))

    @property
    def hauls(self) -> int:
        """How many there are."""
        return len(self.rows)

    @property
    def _tolerances(self) -> Mapping[DataPath, tuple[Number, Number]]:
        """Value and half-width of every figure with a tolerance, the same or one row a haul."""
        stated: dict[DataPath, tuple[Number, Number]] = {
            path: figure
            for path, figure in self.profile.tolerances.items()
            if path not in self.columns
        }
        varied = {
            path: (column.values, column.halves)
            for path, column in self.columns.items()
            if column.halves is not None
        }
        return stated | varied

    @property
    def corners(self) -> int:
        """Rows of the load that each haul comes to: as stated, then all ends of all tolerances."""
        tolerances = len(self._tolerances)
        return 1 + 2**tolerances if tolerances else 1

    @property
    def has_chosen_corners(self) -> bool:
        """True for a haul with too many tolerances for all corners: the rules select some."""
        return len(self._tolerances) > MOST_CORNERED

    def load(self, rulebooks: Rulebooks) -> tuple[Load, int]:
        """The load of all hauls and its corners: row c * hauls + h is corner c of haul h.

        A haul with too many tolerances for all their corners is alone in its chunk; its corners are
        chosen as those of a profile are.
        """
        tolerances = self._tolerances
        if self.has_chosen_corners:
            load = load_with_corners(self.profile, rulebooks, self.on)
            return load, load.rows
        ends = itertools.product((-1.0, 1.0), repeat=len(tolerances))
        signs = np.array([(0.0,) * len(tolerances), *(ends if tolerances else ())])
        rows: dict[DataPath, Number] = {}
        for path, column in self.columns.items():
            rows[path] = self._over_corners(column.values, len(signs))
        for index, (path, (value, half)) in enumerate(tolerances.items()):
            rows[path] = self._over_corners(value + half * signs[:, [index]], len(signs))
        return self.profile.load(rows), len(signs)

    def _over_corners(self, values: NDArray[np.float64], corners: int) -> Number:
        """The values of a field in every row; a single one as a plain number."""
        found = np.broadcast_to(values, (corners, self.hauls)).ravel()
        return found if found.size > 1 else float(found[0])


def chunk_of_profile(profile: Profile, row: int, on: date) -> Chunk:
    """A load that is no haul of a log, as a chunk of one row."""
    title = str(profile.merged.data.get("title", ""))
    return Chunk(
        profile=profile,
        loads=[Labels(load="", title=title, trailer="", machines=(), tow_vehicle="")],
        load_of=np.zeros(1, dtype=np.intp),
        on=on,
        rows=np.array([row]),
        days=np.array([on.toordinal()]),
        crews=[""],
        crew_of=np.zeros(1, dtype=np.intp),
        columns={},
    )
