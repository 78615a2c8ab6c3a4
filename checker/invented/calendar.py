"""Draws the days of the hauls of a season."""

from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from checker.invented.chance import Chance
from checker.invented.district import HAULS_BY_MONTH, HAULS_BY_WEEKDAY


class Calendar:
    """The days of a season, weighted by month and weekday."""

    def __init__(self, first: date, last: date) -> None:
        length = (last - first).days + 1
        self.days = [first + timedelta(days=after) for after in range(length)]
        self.months = np.array([day.month for day in self.days])
        self.days_of_month = np.array([day.day for day in self.days])
        self.elapsed = np.arange(length) / max(length - 1, 1)
        """The elapsed share of the season on each day, from 0 to 1."""
        busy = [
            HAULS_BY_MONTH[day.month - 1] * HAULS_BY_WEEKDAY[day.weekday()] for day in self.days
        ]
        self._until = np.cumsum(busy)

    def draw_days(self, rows: NDArray[np.int64], of_all: int, chance: Chance) -> NDArray[np.int64]:
        """The days of the given rows, counted from 0; later rows are never on an earlier day.

        The season's work is divided into `of_all` equal shares, and each row falls on a random
        moment of its own share. So rows are in order and need not be sorted.
        """
        at = (rows + chance.shares(len(rows))) / of_all * self._until[-1]
        found: NDArray[np.int64] = np.searchsorted(self._until, at, side="right")
        return found.clip(max=len(self.days) - 1)
