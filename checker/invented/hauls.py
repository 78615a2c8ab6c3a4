"""Drawn hauls as arrays: load, day, crew and the conditions of the day."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from checker.invented.district import CREWS, Crew

Numbers: TypeAlias = NDArray[np.float64]
Indices: TypeAlias = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Hauls:
    """Some hauls in the order of their days; each array has one entry for each haul.

    `loads`, `days` and `crews` are indices from 0, `months` and `days_of_month` count from 1.
    `elapsed` is the elapsed share of the season. `detour` is the distance driven divided by the
    planned distance. `trailer_use` and `tow_vehicle_use` are wear factors from 0 to 1.
    """

    loads: Indices
    days: Indices
    crews: Indices
    months: Indices
    days_of_month: Indices
    elapsed: Numbers
    detour: Numbers
    trailer_use: Numbers
    tow_vehicle_use: Numbers

    def __len__(self) -> int:
        return len(self.loads)

    def by_month(self, table: Sequence[float]) -> Numbers:
        """For each haul the entry of its month in a table from January to December."""
        return np.array(table)[self.months - 1]

    def by_crew(self, trait: Callable[[Crew], float]) -> Numbers:
        """For each haul the trait of its crew."""
        return np.array([trait(crew) for crew in CREWS])[self.crews]
