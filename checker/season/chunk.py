"""Hauls of one load profile that are judged together."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from checker.documents.problems import DataPath
from checker.load.build import Profile


@dataclass(frozen=True, slots=True)
class Varied:
    """The numbers of one field over the hauls, in N, m and s, answers as 1 and 0.

    NaN is not stated. `halves` are half-widths of tolerances; None where there is not one.
    """

    values: NDArray[np.float64]
    halves: NDArray[np.float64] | None = None


@dataclass(frozen=True, slots=True)
class Chunk:
    """Hauls that are alike: their rows in the log, their days, their crews, and what varies."""

    profile: Profile
    """The load profile with whatever all of them state over it; fields that vary have some text."""
    on: date
    """Any day of the stretch of days in which all of them lie."""
    load: str
    """The profile as the log names it."""
    rows: NDArray[np.int64]
    days: NDArray[np.int64]
    """Days since 0001-01-01, as `date.toordinal` counts."""
    crews: Sequence[str]
    crew_of: NDArray[np.intp]
    """Place in `crews` of each haul's crew; an empty name where the log names none."""
    columns: Mapping[DataPath, Varied]

    @property
    def hauls(self) -> int:
        """How many there are."""
        return len(self.rows)
