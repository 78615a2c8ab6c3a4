"""On which days the hauls of a season are made."""

from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from checker.season.invented.chance import Chance
from checker.season.invented.district import HAULS_BY_MONTH, HAULS_BY_WEEKDAY


class Calendar:
    """The days of a season, each as busy as its month and its weekday are."""

    def __init__(self, first: date, last: date) -> None:
        length = (last - first).days + 1
        self.days = [first + timedelta(days=after) for after in range(length)]
        self.months = np.array([day.month for day in self.days])
        self.days_of_month = np.array([day.day for day in self.days])
        self.gone = np.arange(length) / max(length - 1, 1)
        """The share of the season that is gone on each day."""
        busy = [
            HAULS_BY_MONTH[day.month - 1] * HAULS_BY_WEEKDAY[day.weekday()] for day in self.days
        ]
        self._until = np.cumsum(busy)

    def drawn(self, rows: NDArray[np.int64], of_all: int, chance: Chance) -> NDArray[np.int64]:
        """The days, from 0, of some of all hauls; later rows are never on an earlier day.

        Each haul falls at random within its own equal share of the season's work, so that rows
        come in order without any of them being kept.
        """
        at = (rows + chance.shares(len(rows))) / of_all * self._until[-1]
        found: NDArray[np.int64] = np.searchsorted(self._until, at, side="right")
        return found.clip(max=len(self.days) - 1)
