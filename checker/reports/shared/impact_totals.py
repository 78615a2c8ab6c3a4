"""Totals of the loads on which a change of rules turns something: by trailer, crew and month."""

from collections import Counter
from collections.abc import Iterable, Iterator
from datetime import date
from typing import Final

import numpy as np
from msgspec import Struct

from checker.season.changed_hauls import CREW, TRAILER, Rows
from checker.season.impact import Impact

GROUPS: Final = (TRAILER, CREW, "month")


class Total(Struct, frozen=True):
    """The loads of one trailer, crew or month with a changed verdict or outcome."""

    name: str
    loads: int
    outcomes: int
    """How many of them have another outcome."""


def changed_loads(found: Impact) -> int:
    """The number of loads with a changed verdict or outcome."""
    turned = [each.hauls.rows for each in found.outcomes]
    return len(_distinct([*turned, *(each.hauls.rows for each in found.verdicts)]))


def totals(found: Impact, group: str) -> list[Total]:
    """The totals of a group, most loads first; loads that state none are left out.

    The month is that of the day on which a load turns.
    """
    rows = _distinct(rows for rows, _ in _rows_and_days(found))
    loads = Counter(_names(found, group, rows))
    turned = Counter(_names(found, group, _distinct(each.hauls.rows for each in found.outcomes)))
    listed = (Total(name, number, turned[name]) for name, number in loads.items() if name)
    return sorted(listed, key=lambda each: (-each.loads, each.name))


def _names(found: Impact, group: str, rows: Rows) -> list[str]:
    if group in (TRAILER, CREW):
        return found.labels.of(group, rows)
    first: dict[int, int] = {}
    for of_hauls in _rows_and_days(found):
        for row, day in zip(*(column.tolist() for column in of_hauls), strict=True):
            first[row] = min(day, first.get(row, day))
    return [f"{date.fromordinal(first[row]):%Y-%m}" for row in rows.tolist()]


def _rows_and_days(found: Impact) -> Iterator[tuple[Rows, Rows]]:
    yield from ((each.hauls.rows, each.hauls.days) for each in found.verdicts)
    yield from ((each.hauls.rows, each.hauls.days) for each in found.outcomes)


def _distinct(rows: Iterable[Rows]) -> Rows:
    found: Rows = np.unique(np.concatenate([np.zeros(0, dtype=np.int64), *rows]))
    return found
