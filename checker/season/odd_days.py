"""Days far from the other days of a log, as a mistyped year is."""

from collections.abc import Iterable, Iterator, Mapping
from typing import Final

from checker.season.totals import Tally

_FAR: Final = 12
"""Months without a haul between two seasons."""
_FEW: Final = 0.05
"""Most hauls of days far from the season, as a share of the hauls of the season."""


def odd_months(months: Mapping[str, Tally]) -> list[str]:
    """Months, such as 2062-05, with few hauls and more than a year away from the season.

    The season are the months with most hauls of those without a year between them. Nothing here
    asks for today: the same log has the same odd months on any day.
    """
    groups = list(month_groups(months))
    hauls = [sum(months[name].hauls for name in group) for group in groups]
    if not groups:
        return []
    season = max(hauls)
    few = max(1, int(_FEW * season))
    return [
        name
        for group, number in zip(groups, hauls, strict=True)
        if number <= few < season
        for name in group
    ]


def month_groups(months: Iterable[str]) -> Iterator[list[str]]:
    """The months in order, divided where a year has no haul."""
    group: list[str] = []
    for name in sorted(months):
        if group and _number(name) - _number(group[-1]) > _FAR:
            yield group
            group = []
        group.append(name)
    if group:
        yield group


def _number(month: str) -> int:
    year, of_year = map(int, month.split("-"))
    return 12 * year + of_year
