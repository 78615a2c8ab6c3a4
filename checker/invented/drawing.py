"""Draws hauls, as batches like those of a log that is read."""

from calendar import monthrange
from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from itertools import cycle
from typing import Final

import numpy as np

from checker.invented.calendar import Calendar
from checker.invented.chance import Chance
from checker.invented.district import CREWS, MISSED, MISSED_BY_MONTH
from checker.invented.figures import FIGURES
from checker.invented.hauls import Hauls, Indices, Numbers
from checker.invented.pool import Pool
from checker.logs.columns import column_of
from checker.logs.model import Batch, Cell, Column, Role

_ROWS: Final = 8192  # drawn together; another number gives other hauls for the same seed
_ANSWERS: Final = np.array([None, "yes", "no"], dtype=object)


def invent_hauls(
    pool: Pool, hauls: int, seed: int, first: date, last: date, slips: int = 0
) -> Iterator[Batch]:
    """Batches of invented hauls with the loads of a pool, in order from the first day to the last.

    The same arguments give the same hauls on every platform. A field that a load does not state
    stays blank. `slips` of the rows are faulty, alternately a misspelt load and a day that does not
    exist.
    """
    season = _Season(pool, hauls, Chance(seed), Calendar(first, last), slips)
    for start in range(0, hauls, _ROWS):
        yield season.batch(range(start, min(start + _ROWS, hauls)))


class _Season:
    """The parameters of a season, and the drawing of its rows."""

    def __init__(
        self, pool: Pool, hauls: int, chance: Chance, calendar: Calendar, slips: int
    ) -> None:
        self.names, self.hauls, self.chance, self.calendar = pool.names, hauls, chance, calendar
        self.cumulated_frequencies = np.cumsum(pool.frequencies())
        self.crews = _crews_by_month()
        self.trailer_use = _of_groups(pool.groups("trailer"), chance)
        self.tow_vehicle_use = _of_groups(pool.groups("tow_vehicle"), chance)
        self.stated: Mapping[str, Numbers] = {
            field: pool.figures(column_of(f"{field} [{figure.unit}]"))
            for field, figure in FIGURES.items()
        }
        self.answered_yes = {field: pool.says_yes(column_of(field)) for field in MISSED}
        self.columns = _columns()
        self.slips = dict(
            zip(_spread_rows(slips, hauls, chance), cycle((_misspell_load, _make_day_invalid)))
        )

    def batch(self, rows: range) -> Batch:
        """The batch of the given rows; batches must be drawn in order."""
        drawn = self._draw(rows)
        days = self.calendar.days
        cells: dict[str, list[Cell]] = {
            Role.LOAD: [self.names[load] for load in drawn.loads.tolist()],
            Role.DATE: [days[day] for day in drawn.days.tolist()],
            Role.CREW: [CREWS[crew].name for crew in drawn.crews.tolist()],
            Role.HAUL: [f"invented-{row + 1}" for row in rows],
        }
        for field, figure in FIGURES.items():
            cells[field] = figure.cells(self.stated[field][drawn.loads], drawn, self.chance)
        for field in MISSED:
            cells[field] = self._answers(field, drawn)
        for row in self.slips.keys() & set(rows):
            self.slips[row](cells, row - rows.start)
        numbers = range(rows.start + 1, rows.stop + 1)
        return Batch(self.columns, numbers, cells, refused=())

    def _draw(self, rows: range) -> Hauls:
        chance, calendar = self.chance, self.calendar
        days = calendar.draw_days(np.arange(rows.start, rows.stop), self.hauls, chance)
        months = calendar.months[days]
        loads = _chosen(self.cumulated_frequencies, chance.shares(len(rows)))
        crews = (chance.shares(len(rows))[:, None] >= self.crews[months - 1]).sum(axis=1)
        return Hauls(
            loads=loads,
            days=days,
            crews=crews,
            months=months,
            days_of_month=calendar.days_of_month[days],
            elapsed=calendar.elapsed[days],
            detour=1.05 + 0.25 * chance.scatter(len(rows)),
            trailer_use=self.trailer_use[loads],
            tow_vehicle_use=self.tow_vehicle_use[loads],
        )

    def _answers(self, field: str, hauls: Hauls) -> list[Cell]:
        """Mostly yes; no for a missed check, blank without an answer."""
        missed = MISSED[field] * hauls.by_month(MISSED_BY_MONTH)
        missed *= hauls.by_crew(lambda crew: crew.missed * crew.prone_to.get(field, 1.0))
        answered = 1 - hauls.by_crew(lambda crew: crew.unanswered)
        drawn = self.chance.shares(len(hauls))
        answers = np.where(drawn < missed, 2, np.where(drawn < answered, 1, 0))
        cells: list[Cell] = _ANSWERS[answers * self.answered_yes[field][hauls.loads]].tolist()
        return cells


def _columns() -> Sequence[Column]:
    headers = [Role.LOAD, Role.DATE, Role.CREW, Role.HAUL]
    figures = [
        field if figure.written else f"{field} [{figure.unit}]" for field, figure in FIGURES.items()
    ]
    return [column_of(header) for header in (*headers, *figures, *MISSED)]


def _crews_by_month() -> Numbers:
    """For each month, the cumulated shares of the hauls by crew, without the last."""
    shares = np.array(
        [[crew.share * (month in crew.months) for crew in CREWS] for month in range(1, 13)]
    )
    until: Numbers = np.cumsum(shares, axis=1)
    # The last share is left out, as by rounding it may be below 1.
    return (until / until[:, -1:])[:, :-1]


def _of_groups(groups: Indices, chance: Chance) -> Numbers:
    """A random share for each group, repeated for each of its members."""
    return chance.shares(int(groups.max()) + 1)[groups]


def _chosen(until: Numbers, shares: Numbers) -> Indices:
    found: Indices = np.searchsorted(until, shares * until[-1], side="right")
    return found.clip(max=len(until) - 1)


def _spread_rows(count: int, rows: int, chance: Chance) -> list[int]:
    """Indices of random rows, one in each of `count` equal parts of all rows."""
    ends = [part * rows // count for part in range(count + 1)] if count else []
    starts, widths = np.array(ends[:-1], dtype=np.int64), np.diff(ends)
    found: list[int] = (starts + (chance.shares(count) * widths).astype(np.int64)).tolist()
    return found


def _misspell_load(cells: dict[str, list[Cell]], index: int) -> None:
    name = str(cells[Role.LOAD][index])
    cells[Role.LOAD][index] = name + name[-1]


def _make_day_invalid(cells: dict[str, list[Cell]], index: int) -> None:
    day = cells[Role.DATE][index]
    assert isinstance(day, date)
    cells[Role.DATE][index] = f"{day:%Y-%m}-{monthrange(day.year, day.month)[1] + 1}"
