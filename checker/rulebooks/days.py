"""Days on which something is in force: from a first day on, throughout or in a season of each year.

Days are half open: an end is the first day that no longer counts.
"""

from collections.abc import Iterator
from datetime import MAXYEAR, date
from typing import Final

from msgspec import Struct


def within(day: date, starts: date, ends: date | None) -> bool:
    """True if a day is on or after the first and before the last, which is excluded."""
    return starts <= day and (ends is None or day < ends)


class Season(Struct, frozen=True):
    """A part of each year, as (month, day) of its first day and of its end; may pass New Year."""

    first: tuple[int, int]
    end: tuple[int, int]

    def beginning_in(self, year: int) -> tuple[date, date]:
        """The first day and the end of the season that begins in a year."""
        return date(year, *self.first), date(year + (self.end <= self.first), *self.end)

    def __str__(self) -> str:
        return f"each year from {_in_words(*self.first)} until {_in_words(*self.end)}"


# fmt: off
_MONTHS: Final = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)
# fmt: on


def _in_words(month: int, day: int) -> str:
    return f"{day} {_MONTHS[month - 1]}"


class Stretch(Struct, frozen=True):
    """Days without a gap; no end means that none is known."""

    starts: date
    ends: date | None = None

    def holds_on(self, day: date) -> bool:
        """True if a day is one of them."""
        return within(day, self.starts, self.ends)

    def of_both(self, other: "Stretch | None") -> "Stretch":
        """The days that are of this stretch and of another; None stands for all days."""
        if other is None:
            return self
        ends = [each for each in (self.ends, other.ends) if each]
        return Stretch(max(self.starts, other.starts), min(ends, default=None))

    def __str__(self) -> str:
        since = "" if self.starts == date.min else f"from {self.starts} "
        return (since + (f"until {self.ends}" if self.ends else "")).strip()


class Days(Struct, frozen=True):
    """The days from a first one on, until an end; with a season, only those of each year."""

    starts: date
    ends: date | None = None
    season: Season | None = None

    def holds_on(self, day: date) -> bool:
        """True if a day is one of them."""
        return self.stretch_on(day) is not None

    def stretch_on(self, day: date) -> Stretch | None:
        """The days without a gap around a day; None if that day is not one of them."""
        return next((each for each in self.stretches(day, day) if each.holds_on(day)), None)

    def stretches(self, first: date, last: date) -> Iterator[Stretch]:
        """The stretches of days from that of a first day to the one after a last day, in order."""
        if self.season is None:
            if self.ends is None or self.starts < self.ends:
                yield Stretch(self.starts, self.ends)
            return
        # The season around a day may begin in the year before; the next one in the year after.
        for year in range(max(first.year - 1, self.starts.year - 1, 1), last.year + 2):
            if year >= MAXYEAR:
                return
            begins, ends = self.season.beginning_in(year)
            begins = max(begins, self.starts)
            ends = ends if self.ends is None else min(ends, self.ends)
            if begins < ends:
                yield Stretch(begins, ends)

    def first_from(self, day: date) -> date | None:
        """The first of the days that is not before a day; None where there is none."""
        start = max(day, self.starts)
        for each in self.stretches(start, start):
            if each.ends is None or start < each.ends:
                return max(start, each.starts)
        return None

    def turns(self, first: date, last: date) -> set[date]:
        """Every first day and end of the stretches around the days from a first to a last one.

        Without a season they are the same for all days.
        """
        found = {self.starts} | ({self.ends} if self.ends else set())
        for each in self.stretches(first, last):
            found |= {each.starts} | ({each.ends} if each.ends else set())
        return found

    def until(self, end: date) -> "Days":
        """The same days before an end."""
        return Days(self.starts, end if self.ends is None else min(end, self.ends), self.season)

    def overlap(self, other: "Days") -> bool:
        """True if a day is one of both. Seasons repeat, so a few years show all of it."""
        start = max(self.starts, other.starts)
        last = date(min(start.year + 5, MAXYEAR), 12, 31)
        return any(
            max(one.starts, two.starts) < min(one.ends or date.max, two.ends or date.max)
            for one in self.stretches(start, last)
            for two in other.stretches(start, last)
        )

    def __str__(self) -> str:
        words = f"from {self.starts}" + (f" until {self.ends}" if self.ends else "")
        return f"{words}, {self.season}" if self.season else words


class Withdrawal(Struct, frozen=True):
    """Who took a change back, from which day, and why; `corrected` if another stands in its place.

    A change taken back from its own first day counts on no day.
    """

    starts: date
    by: str
    because: str
    corrected: bool
