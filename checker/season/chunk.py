"""Hauls of one load profile that are judged together."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from checker.documents.problems import DataPath


@dataclass(frozen=True, slots=True)
class Varied:
    """The numbers of one field over the hauls, in N, m and s, answers as 1 and 0.

    NaN is not stated. `halves` are half-widths of tolerances; None where there is not one.
    """

    values: NDArray[np.float64]
    halves: NDArray[np.float64] | None = None


@dataclass(frozen=True, slots=True)
class Kept:
    """What makes hauls alike enough to be judged together, fit to be looked up.

    `stated` lies over the profile for all of them: words that differ from it, and some text for
    each field that varies, which tells its units apart. `on` is any day of the stretch of days.
    """

    file: Path
    stated: tuple[tuple[DataPath, Any], ...]
    varied: tuple[DataPath, ...]
    on: date

    @property
    def laid_over(self) -> dict[DataPath, Any]:
        """What is stated as data of a profile, where lists are lists."""
        return {
            path: list(value) if isinstance(value, tuple) else value for path, value in self.stated
        }


@dataclass(frozen=True, slots=True)
class Chunk:
    """Some hauls of one kind: their rows in the log, their days, their crews, and what varies."""

    kept: Kept
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
