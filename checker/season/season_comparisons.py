"""Everything that an audit compares within its season, corrected together."""

from datetime import date
from typing import NamedTuple

from checker.season.contrasts import Contrast, contrasts
from checker.season.correcting import corrected
from checker.season.exposure import Exposures
from checker.season.then_and_now import Change, change


class Comparisons(NamedTuple):
    """What an audit compares; `made` is the number of comparisons that count."""

    contrasts: list[Contrast]
    since: Change | None
    """The hauls from the day of a change on against those before; None if no day was given."""
    made: int


def compare_within(exposures: Exposures, changed_on: date | None = None) -> Comparisons:
    """Every crew, month and vehicle against the others, and before against after a change."""
    groups = contrasts(exposures)
    since = None if changed_on is None else _since(exposures, changed_on)
    made: list[Contrast | Change] = [*groups, *([] if since is None else [since])]
    found = corrected(made)
    return Comparisons(
        [each for each in found if isinstance(each, Contrast)],
        next((each for each in found if isinstance(each, Change)), None),
        sum(each.p is not None for each in found),
    )


def _since(exposures: Exposures, day: date) -> Change:
    """Hauls of the same load and crew in the months before a day and from it on.

    The month of the day belongs to neither, unless it is the first of its month.
    """
    month = day.isoformat()[:7]
    sides: tuple[dict[tuple[str, str], tuple[int, int]], ...] = ({}, {})
    for load, crews in exposures.hauled.items():
        for crew, months in crews.items():
            for name, each in months.items():
                if name == month and day.day > 1:
                    continue
                side = sides[name >= month]
                decided, held = side.get((load, crew), (0, 0))
                side[load, crew] = decided + each.decided, held + each.held
    return change(*sides)
