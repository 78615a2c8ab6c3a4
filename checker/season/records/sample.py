"""Draws a sample of the hauls of a log that can be checked."""

from collections.abc import Callable, Container
from dataclasses import dataclass
from datetime import date

import numpy as np

from checker.logs.model import Log
from checker.season.hauls.hauls import Haul, read_hauls
from checker.season.hauls.loads import Loads
from checker.season.hauls.reading import rows_of
from checker.season.records.sampling import in_order_drawn

_MORE = 10
"""Rows read beside those wanted, as some may be refused."""


@dataclass(frozen=True, slots=True)
class Sample:
    """Hauls in the order drawn, and the first and last day of all rows that state one.

    The days are None where no row does.
    """

    hauls: list[Haul]
    first: date | None
    last: date | None


def draw_sample(
    opened: Callable[[], Log], loads: Loads, checked: Container[str], size: int, seed: str
) -> Sample:
    """A sample of the hauls that were checked, each with the same chance.

    `opened` opens the log, which is read several times. `checked` holds the loads, as the log names
    them, of which hauls were checked: those of others may have been refused on another machine
    alone. Rows are drawn from all that state one of these and a day, and one that is refused is
    left out, as if only the others had been drawn from.
    """
    rows: list[int] = []
    days: list[int] = []
    log = opened()
    for part in log.parts:
        here = rows_of(part.read(), log.mapping)
        days += np.unique(here.table.days[here.sound]).tolist()
        was_checked = np.array([name in checked for name in here.loads.names], dtype=bool)
        sound = here.sound[was_checked[here.loads.codes[here.sound]]]
        rows += here.table.rows[sound].tolist()
    waiting = in_order_drawn(rows, seed)
    hauls: list[Haul] = []
    while waiting and len(hauls) < size:
        number = size - len(hauls) + _MORE
        some, waiting = waiting[:number], waiting[number:]
        read = read_hauls(opened(), loads, frozenset(some))
        found = {each.row: each for each in read if isinstance(each, Haul)}
        hauls += [found[row] for row in some if row in found]
    return Sample(
        hauls=hauls[:size],
        first=date.fromordinal(min(days)) if days else None,
        last=date.fromordinal(max(days)) if days else None,
    )
