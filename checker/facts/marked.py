"""Compares marked working load limits with the printed limits of unmarked devices."""

from collections.abc import Iterator, Mapping
from typing import Any, Final

import numpy as np

from checker.facts.unmarked import UnmarkedRatings
from checker.load.plausible.entry import Entry, Grade
from checker.load.plausible.reading import Case, Parsed
from checker.load.plausible.statement import Holds, Stated
from checker.units.arithmetic import Number
from checker.units.formatting import SI, US, show

_GRADED: Final = 1.1
_OTHERS: Final = 2.0
SHARE_OF_TABLE: Final[Mapping[str, float]] = {"chain": _GRADED}
"""The greatest plausible multiple of the printed limit, by device; 2 for all others.

A chain's grade and size fix its limit, and the table prints it. Of webbing and ropes the table
counts the weakest there are: a strap 2 in wide is printed with 2,000 lb and marked with 3,333 lb.
Breaking strengths are three to five times the limit. Common practice, no source.
"""

_TIEDOWN: Final = "tiedowns.*"
_FIELDS: Final = tuple(
    f"{_TIEDOWN}.{name}"
    for name in ("marked_working_load_limit", "device", "size", "grade", "thickness")
)
ABOVE_TABLE: Final = Entry(
    "limit-above-table",
    Grade.DOUBTFUL,
    (),
    "a working load limit of {first} on {second} of {third}",
    "no more than {factor} times {table}, which the table gives one without a mark",
    "the breaking strength, or a fitting's limit, may stand where the tiedown's belongs",
)


class AboveTable(Case, frozen=True):
    """A tiedown whose mark is far above the printed limit of a device like it."""

    unmarked: UnmarkedRatings

    def holds(self, stated: Stated) -> Holds:
        """True where the mark is above its allowed multiple of the printed limit."""
        marked, device = self._marked(stated), self._word(stated, 1)
        if marked is None or device is None:
            return False
        return marked > self.factor(device) * self._printed(stated)

    def factor(self, device: str) -> float:
        """The greatest plausible multiple of the printed limit."""
        return SHARE_OF_TABLE.get(device, _OTHERS)

    def words(self, stated: Stated, row: int = 0) -> tuple[str, str]:
        """What was found and what is wanted."""
        names = self.figures(stated, row)
        printed = float(np.broadcast_to(self._printed(stated), (row + 1,))[row])
        metric = stated.is_metric(self.paths[0], "load", row)
        names["table"] = show(printed, "load", SI if metric else US)
        names["factor"] = f"{self.factor(names['second']):g}"
        return self.entry.found.format_map(names), self.entry.wanted.format_map(names)

    def _word(self, stated: Stated, number: int) -> str | None:
        word = stated.word(self.paths[number])
        return word if isinstance(word, str) else None

    def _marked(self, stated: Stated) -> Number | None:
        found = stated.interval(self.paths[0], "load")
        return None if found is None else found[0]

    def _printed(self, stated: Stated) -> Number:
        """The printed limit; NaN where the table has no such size."""
        size = stated.interval(self.paths[2], "length")
        thickness = stated.interval(self.paths[4], "length")
        return self.unmarked.rating(
            self._word(stated, 1),
            self._word(stated, 3),
            *(np.nan if each is None else (each[0] + each[1]) / 2 for each in (size, thickness)),
        )


def above_table(data: Any, unmarked: UnmarkedRatings) -> Iterator[Case]:
    """The tiedowns of a load whose marks can be compared with the table."""
    parsed = Parsed(ABOVE_TABLE, (), _FIELDS)
    tiedowns = data.get("tiedowns")
    for index in range(len(tiedowns) if isinstance(tiedowns, list) else 0):
        yield AboveTable(parsed, {_TIEDOWN: index}, unmarked)
