"""Draws a sample of the hauls of a log that can be checked."""

from collections.abc import Callable
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


def draw_sample(opened: Callable[[], Log], loads: Loads, size: int, seed: str) -> Sample:
    """A sample of the hauls that can be checked, each with the same chance.

    `opened` opens the log, which is read several times. Rows are drawn from all that state a load
    and a day, and one that is refused is passed over, as if only the others had been drawn from.
    """
    rows: list[int] = []
    days: list[int] = []
    for part in opened().parts:
        here = rows_of(part.read(), opened().mapping)
        table = here.table.take(here.sound)
        rows += table.rows.tolist()
        days += np.unique(table.days).tolist()
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
