"""Totals of the loads on which a change of rules turns something: by trailer, crew and month."""

from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from datetime import date
from typing import Any, Final

import numpy as np
from msgspec import Struct

from checker.reports.shared.season_names import SeasonNames
from checker.season.changed_hauls import ChangedHauls, HaulLabels, Rows
from checker.season.impact import Impact

_NAMES: Final[Mapping[str, Callable[[int, HaulLabels], str]]] = {
    "trailer": lambda _, labels: labels.trailer,
    "crew": lambda _, labels: labels.crew,
    "month": lambda day, _: f"{date.fromordinal(day):%Y-%m}",
}
GROUPS: Final = tuple(_NAMES)


class Total(Struct, frozen=True):
    """The loads of one trailer, crew or month with a changed verdict or outcome."""

    name: str
    """Key of the trailer, name of the crew, or the month."""
    title: str
    """Title of the trailer; empty where none is stated, and for crews and months."""
    printed: str
    """What reports for people print."""
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
    first: dict[int, tuple[int, HaulLabels]] = {}
    changed: list[ChangedHauls[Any]] = [each.hauls for each in found.verdicts]
    for hauls in (*changed, *(each.hauls for each in found.outcomes)):
        for row, day, labels, _ in hauls:
            first[row] = min((day, labels), first.get(row, (day, labels)))
    names = {row: _NAMES[group](*each) for row, each in first.items()}
    loads = Counter(names.values())
    turned = Counter(
        names[row] for row in _distinct(each.hauls.rows for each in found.outcomes).tolist()
    )
    titles: dict[str, str] = {}
    if group == "trailer":
        titles = {each.trailer: each.trailer_title for _, each in sorted(first.values())}
    shown = SeasonNames({group: titles})
    listed = (
        Total(name, titles.get(name, ""), shown.printed(group, name), number, turned[name])
        for name, number in loads.items()
        if name
    )
    return sorted(listed, key=lambda each: (-each.loads, each.name))


def _distinct(rows: Iterable[Rows]) -> Rows:
    found: Rows = np.unique(np.concatenate([np.zeros(0, dtype=np.int64), *rows]))
    return found
