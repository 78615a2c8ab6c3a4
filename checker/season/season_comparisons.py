"""Everything that an audit compares within its season, corrected together."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import astuple
from datetime import date
from types import MappingProxyType
from typing import NamedTuple

from checker.season.rates.contrasts import Contrast, contrasts
from checker.season.rates.correcting import MOST_OPEN, corrected
from checker.season.rates.exposure import Exposures
from checker.season.rates.then_and_now import Change, change
from checker.season.record import Count, count_of_hauls
from checker.season.totals import Tally


class Comparisons(NamedTuple):
    """What an audit compares; `made` is the number of comparisons that count."""

    contrasts: list[Contrast]
    since: Change | None
    """The hauls from the day of a change on against those before; None if no day was given."""
    made: int


Tallies = Mapping[str, Mapping[str, Tally]]
"""The counts of all hauls, by kind and name."""


def compare_within(
    exposures: Exposures, changed_on: date | None = None, by: Tallies = MappingProxyType({})
) -> Comparisons:
    """Every crew, month and vehicle against the others, and before against after a change.

    `by` has how many hauls of each are open.
    """
    months = by.get("month", {})
    groups = contrasts(exposures, set(_too_open_groups(by, _count(months.values()))))
    since = None if changed_on is None else _since(exposures, changed_on, months)
    made: list[Contrast | Change] = [*groups, *([] if since is None else [since])]
    found = corrected(made)
    return Comparisons(
        [each for each in found if isinstance(each, Contrast)],
        next((each for each in found if isinstance(each, Change)), None),
        sum(each.p is not None for each in found),
    )


def _too_open_groups(by: Tallies, season: Count) -> Iterator[tuple[str, str]]:
    """The groups whose share of open hauls differs too much from that of all others."""
    for kind, tallies in by.items():
        for name, tally in tallies.items():
            others = season.asked - tally.hauls
            if tally.hauls and others > 0:
                share = (season.undecided - tally.open) / others
                if abs(tally.open / tally.hauls - share) > MOST_OPEN:
                    yield kind, name


def _count(tallies: Iterable[Tally]) -> Count:
    counts = [count_of_hauls(each) for each in tallies]
    return Count(*(sum(each) for each in zip(*map(astuple, counts), strict=True)))


def _since(exposures: Exposures, day: date, months: Mapping[str, Tally]) -> Change:
    """Hauls of the same load and crew in the months before a day and from it on.

    The month of the day belongs to neither, unless it is the first of its month.
    """
    month = day.isoformat()[:7]
    sides: tuple[dict[tuple[str, str], tuple[int, int]], ...] = ({}, {})
    for load, crews in exposures.hauled.items():
        for crew, hauled in crews.items():
            for name, each in hauled.items():
                if name == month and day.day > 1:
                    continue
                side = sides[name >= month]
                decided, held = side.get((load, crew), (0, 0))
                side[load, crew] = decided + each.decided, held + each.held
    before = _count(each for name, each in months.items() if name < month)
    after = _count(
        each for name, each in months.items() if name > month or (name == month and day.day == 1)
    )
    carried = exposures.carried
    loads = {each: carried[each[0]].load or each[0] for side in sides for each in side}
    return change(*sides, loads=loads, too_open=before.too_open or after.too_open)
