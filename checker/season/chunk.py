"""Hauls that are judged together."""

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from checker.documents.problems import DataPath
from checker.load.build import Profile


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
    """The load profile as the log names it, and the titles of what was hauled with what."""

    load: str
    trailer: str
    machines: tuple[str, ...]
    tow_vehicle: str


@dataclass(frozen=True, slots=True)
class Chunk:
    """Hauls that are alike: their rows in the log, their days, their crews, and what varies.

    They are hauls of one load or of several that differ in nothing but figures and titles.
    """

    profile: Profile
    """The load profile, with whatever all hauls state over it; it stands for those of all loads.

    Fields that vary have some text.
    """
    own: Mapping[DataPath, Varied]
    """The figures in which the loads differ, one row a load."""
    loads: Sequence[Labels]
    load_of: NDArray[np.intp]
    """Place in `loads` of each haul's load."""
    on: date
    """Any day of the stretch of days in which all of them lie."""
    rows: NDArray[np.int64]
    days: NDArray[np.int64]
    """Days since 0001-01-01, as `date.toordinal` counts."""
    crews: Sequence[str]
    crew_of: NDArray[np.intp]
    """Place in `crews` of each haul's crew; an empty name where the log names none."""
    columns: Mapping[DataPath, Varied]
    """The figures in which the hauls differ, one row a haul."""
    alike: Hashable
    """The same for chunks that differ in nothing but their hauls and the numbers of those."""
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

    @property
    def hauls(self) -> int:
        """How many there are."""
        return len(self.rows)
