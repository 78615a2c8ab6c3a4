"""Seasons drawn at random: who hauled which load when, and which hauls are on hold.

Ten machines on ten trailers, each pair with two trucks, are 200 loads. One in ten loads is hard and
on hold three times as often as an easy one. Most hauls of one crew are of hard loads.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Final

import numpy as np
from numpy.typing import NDArray

from checker.season.rates.exposure import Carried, Coded, Exposures, count_exposures

TRAILERS, MACHINES, TRUCKS = 10, 10, 2
LOADS: Final = TRAILERS * MACHINES * TRUCKS
HARD: Final = np.array(
    [load % MACHINES == (3 * (load // MACHINES % TRAILERS) + 1) % MACHINES for load in range(LOADS)]
)
"""Which loads are hard: those of one machine on each trailer, another one on every trailer."""
CREWS: Final = ("north", "south", "east", "west", "hill", "lake", "bad crew", "crew of hard loads")
SHARES: Final = (0.22, 0.18, 0.15, 0.12, 0.1, 0.08, 0.08, 0.07)
MONTHS: Final = tuple(f"2026-{month:02}" for month in range(1, 13))
HAULS_BY_MONTH: Final = (2, 3, 6, 9, 15, 17, 16, 15, 13, 8, 4, 2)
FIRST: Final = date(2026, 1, 1).toordinal()


@dataclass(frozen=True)
class Planted:
    """Factors on how often hauls are on hold: by crew, trailer number and month number from 0.

    With `persists` a fault goes on to the next haul of the same load that often, so that hauls on
    hold come in series.
    """

    crews: Mapping[str, float] = field(default_factory=dict)
    trailers: Mapping[int, float] = field(default_factory=dict)
    months: Mapping[int, float] = field(default_factory=dict)
    persists: float = 0.0

    @property
    def names(self) -> set[tuple[str, str]]:
        """What an audit should name, by kind and name."""
        return {
            *(("crew", each) for each in self.crews),
            *(("trailer", trailer(each)) for each in self.trailers),
            *(("month", MONTHS[each]) for each in self.months),
        }


NOTHING: Final = Planted()
EFFECTS: Final = Planted(crews={"bad crew": 2.0}, trailers={3: 2.0}, months={7: 1.6, 8: 1.6})
"""One bad crew, one failing trailer, and a change from August to September."""


@dataclass(frozen=True)
class Season:
    """One entry a haul; `crews` and `loads` are numbers, `days` count from 0001-01-01."""

    loads: NDArray[np.intp]
    crews: NDArray[np.intp]
    months: NDArray[np.intp]
    days: NDArray[np.int64]
    held: NDArray[np.bool_]


def trailer(number: int) -> str:
    """Title of a trailer."""
    return f"trailer {number}"


def parts(load: int) -> tuple[int, int, int]:
    """Numbers of a load's trailer, machine and truck."""
    return load // MACHINES % TRAILERS, load % MACHINES, load // (MACHINES * TRAILERS)


def load_name(load: int) -> str:
    """Name of a load in the log, which is its file."""
    return f"profiles/loads/load-{load:03}.yaml"


def draw_season(
    seed: int, hauls: int, planted: Planted = NOTHING, fleet: int | None = None
) -> Season:
    """A season; the same arguments give the same hauls.

    Seasons of one fleet have loads that are hauled as often and are on hold as often.
    """
    draw, of_fleet = np.random.default_rng(seed), np.random.default_rng([fleet or seed, 1])
    often = of_fleet.dirichlet(np.full(LOADS, 3.0))
    crews = draw.choice(len(CREWS), hauls, p=SHARES)
    loads = draw.choice(LOADS, hauls, p=often)
    # Two in three hauls of that crew are of hard loads.
    gets_hard = (crews == CREWS.index("crew of hard loads")) & (draw.random(hauls) < 2 / 3)
    hard = np.flatnonzero(HARD)
    loads[gets_hard] = draw.choice(hard, int(gets_hard.sum()), p=often[hard] / often[hard].sum())
    months = draw.choice(12, hauls, p=np.array(HAULS_BY_MONTH) / sum(HAULS_BY_MONTH))
    days = np.array([date(2026, month + 1, 1).toordinal() for month in range(12)])[months]
    days = days + draw.integers(0, 28, hauls)
    # Loads differ among themselves as well.
    chance = np.where(HARD, 0.12, 0.04) * of_fleet.lognormal(0, 0.4, LOADS)
    shares = chance[loads] * _factor(crews, {CREWS.index(k): f for k, f in planted.crews.items()})
    shares *= _factor(loads // MACHINES % TRAILERS, planted.trailers)
    shares *= _factor(months, planted.months)
    held = draw.random(hauls) < shares
    if planted.persists:
        held = _in_series(held, loads, days, draw.random(hauls) < planted.persists)
    return Season(loads, crews, months, days, held)


def _factor(codes: NDArray[np.intp], factors: Mapping[int, float]) -> NDArray[np.float64]:
    found = np.ones(len(codes))
    for code, factor in factors.items():
        found[codes == code] = factor
    return found


def _in_series(
    held: NDArray[np.bool_],
    loads: NDArray[np.intp],
    days: NDArray[np.int64],
    same: NDArray[np.bool_],
) -> NDArray[np.bool_]:
    """Each haul on hold as the one before it of the same load, where `same`."""
    order = np.lexsort((days, loads))
    begins = ~same[order]
    begins[0] = True
    begins[1:] |= np.diff(loads[order]) != 0
    first = np.maximum.accumulate(np.where(begins, np.arange(len(order)), 0))
    found = held.copy()
    found[order] = held[order][first]
    return found


def exposures(season: Season) -> Exposures:
    """What an audit counts of a season."""
    names = [load_name(load) for load in range(LOADS)]
    found = count_exposures(
        Coded(names, season.loads),
        Coded(CREWS, season.crews),
        Coded(MONTHS, season.months),
        np.ones(len(season.held), dtype=bool),
        season.held,
        np.full(len(season.held), 61_000.0),
    )
    for load, name in enumerate(names):
        on, machine, truck = parts(load)
        found.carried[name] = Carried(trailer(on), (f"machine {machine}",), f"truck {truck}")
    return found


def rows(season: Season, answers: Sequence[str]) -> list[str]:
    """The lines of a log: of a haul on hold one of the answers is no."""
    lines = [",".join(("load", "date", "crew", *answers))]
    draw = np.random.default_rng(len(season.held))
    wrong = np.where(season.held, draw.integers(0, len(answers), len(season.held)), -1)
    order = np.argsort(season.days, kind="stable").tolist()
    for haul in order:
        said = ("no" if number == wrong[haul] else "yes" for number in range(len(answers)))
        day = date.fromordinal(int(season.days[haul])).isoformat()
        lines.append(
            ",".join((load_name(season.loads[haul]), day, CREWS[season.crews[haul]], *said))
        )
    return lines
