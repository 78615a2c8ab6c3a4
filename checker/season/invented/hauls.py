"""Hauls before anything is written of them: which load, on which day, by whom."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from checker.season.invented.district import CREWS, Crew

Numbers: TypeAlias = NDArray[np.float64]
Places: TypeAlias = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Hauls:
    """Some hauls in the order of their days: each array has an entry for each.

    `loads`, `days` and `crews` count from 0, `months` and `days_of_month` from 1. `gone` is the
    share of the season that is over. `detour` is how far a haul goes beside what was planned;
    `trailer_use` and `tow_vehicle_use` say, from 0 to 1, how hard the rig is used.
    """

    loads: Places
    days: Places
    crews: Places
    months: Places
    days_of_month: Places
    gone: Numbers
    detour: Numbers
    trailer_use: Numbers
    tow_vehicle_use: Numbers

    def __len__(self) -> int:
        return len(self.loads)

    def by_month(self, table: Sequence[float]) -> Numbers:
        """For each haul the entry of its month in a table from January to December."""
        return np.array(table)[self.months - 1]

    def by_crew(self, trait: Callable[[Crew], float]) -> Numbers:
        """For each haul what its crew is like."""
        return np.array([trait(crew) for crew in CREWS])[self.crews]
