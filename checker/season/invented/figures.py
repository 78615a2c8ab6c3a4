"""The figures of a haul that differ from those of its load profile."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

import numpy as np

from checker.season.invented.chance import Chance
from checker.season.invented.district import MUD_BY_MONTH, PRESSURE_BY_MONTH
from checker.season.invented.hauls import Hauls, Numbers
from checker.season.logs.model import Cell


@dataclass(frozen=True, slots=True)
class Figure:
    """How one figure differs from haul to haul.

    `drawn` makes it of what the load profiles state, in `unit`; a crew reads it to `step` and
    writes it down on the share `told` of the hauls. Where `in_cells` the unit stands in each cell
    as `written`, else it stands above the column.
    """

    unit: str
    step: float
    told: float
    drawn: Callable[[Numbers, Hauls, Chance], Numbers]
    written: Callable[[int], Cell] | None = None

    def cells(self, stated: Numbers, hauls: Hauls, chance: Chance) -> list[Cell]:
        """The cells of a column; blank where it is not told, or the load profile states none."""
        steps = np.rint(self.drawn(stated, hauls, chance) / self.step)
        known = (chance.shares(len(hauls)) < self.told) & ~np.isnan(stated)
        # A season repeats itself: each distinct figure is put into words once.
        distinct, codes = np.unique(steps[known].astype(np.int64), return_inverse=True)
        words = np.array([self._cell(number) for number in distinct.tolist()], dtype=object)
        cells = np.full(len(hauls), None, dtype=object)
        cells[known] = words[codes]
        told: list[Cell] = cells.tolist()
        return told

    def _cell(self, steps: int) -> Cell:
        return self.written(steps) if self.written else steps * self.step


def _weight(stated: Numbers, hauls: Hauls, chance: Chance) -> Numbers:
    """More or less in the tank, mud as the month has it, now and then a heavier bucket."""
    tank = 0.012 * chance.scatter(len(hauls))
    mud = 2 * hauls.by_month(MUD_BY_MONTH) * chance.shares(len(hauls))
    bucket = np.where(chance.shares(len(hauls)) < 0.06, 0.03, 0.0)
    # What is bolted on over a season, such as a winch or a guard, stays on.
    return stated * (1 + tank + mud + bucket + 0.005 * hauls.gone)


def _place(stated: Numbers, hauls: Hauls, chance: Chance) -> Numbers:
    """About where it belongs; one crew stops too late."""
    return stated + 3.0 * chance.scatter(len(hauls)) + hauls.by_crew(lambda crew: crew.back)


def _speed(stated: Numbers, hauls: Hauls, chance: Chance) -> Numbers:
    """The plan in steps of 5 mph, and what haste adds."""
    steps = np.rint(chance.scatter(len(hauls)) - 0.25)
    return np.maximum(stated + 5.0 * steps + hauls.by_crew(lambda crew: crew.haste), 5.0)


def _distance(stated: Numbers, hauls: Hauls, _chance: Chance) -> Numbers:
    return np.maximum(stated * hauls.detour, 1.0)


def _driving_time(stated: Numbers, hauls: Hauls, chance: Chance) -> Numbers:
    """As the way is longer or shorter, and the traffic."""
    return np.maximum(stated * hauls.detour * (1 + 0.1 * chance.scatter(len(hauls))), 1.0)


def _aboard(stated: Numbers, hauls: Hauls, chance: Chance) -> Numbers:
    """One person more or less, tools, and a crew that never goes with fewer than five."""
    person = 180.0 * np.rint(chance.scatter(len(hauls)))
    tools = 60.0 * chance.scatter(len(hauls))
    return np.maximum(stated + person + tools + hauls.by_crew(lambda crew: crew.aboard), 150.0)


def _pressure(stated: Numbers, hauls: Hauls, chance: Chance) -> Numbers:
    """Filled on the first of the month, and leaking since then, worn valves more."""
    leak = 3.0 * hauls.trailer_use * hauls.days_of_month / 31
    cold = hauls.by_month(PRESSURE_BY_MONTH)
    return np.maximum(stated + 2.0 + cold - leak + chance.scatter(len(hauls)), 1.0)


def _trailer_tread(stated: Numbers, hauls: Hauls, chance: Chance) -> Numbers:
    return _worn(stated, hauls.gone * hauls.trailer_use, chance)


def _front_tread(stated: Numbers, hauls: Hauls, chance: Chance) -> Numbers:
    return _worn(stated, hauls.gone * hauls.tow_vehicle_use, chance)


def _worn(stated: Numbers, use: Numbers, chance: Chance) -> Numbers:
    """New at two thirty-seconds above what the profile states; at worst seven less at the end."""
    return np.maximum(stated + (2.0 - 7.0 * use) / 32 + chance.scatter(len(stated)) / 64, 1 / 32)


def _thirty_seconds(steps: int) -> Cell:
    return f"{steps}/32 in"


FIGURES: Final[Mapping[str, Figure]] = MappingProxyType(
    {
        "articles.1.weight": Figure("lb", 5, 0.75, _weight),
        "articles.1.placed.x": Figure("in", 0.5, 0.9, _place),
        "trip.speed": Figure("mph", 1, 0.95, _speed),
        "trip.distance": Figure("mi", 1, 1.0, _distance),
        "trip.driving_time": Figure("min", 1, 1.0, _driving_time),
        "tow_vehicle.occupants_and_cargo": Figure("lb", 10, 0.8, _aboard),
        "walkaround.lowest_cold_pressure": Figure("psi", 1, 0.85, _pressure),
        "walkaround.tread_depth": Figure("in", 1 / 32, 0.6, _trailer_tread, _thirty_seconds),
        "walkaround.front_tread_depth": Figure("in", 1 / 32, 0.6, _front_tread, _thirty_seconds),
    }
)
"""By their fields."""
