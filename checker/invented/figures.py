"""The figures of a haul that differ from those of its load profile."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

import numpy as np

from checker.invented.chance import Chance
from checker.invented.district import MUD_BY_MONTH, PRESSURE_BY_MONTH
from checker.invented.hauls import Hauls, Numbers
from checker.logs.model import Cell


@dataclass(frozen=True, slots=True)
class Figure:
    """How one figure varies from haul to haul.

    `drawn` computes it from the values of the load profiles, in `unit`. A crew rounds it to `step`
    and states it on the share `share_stated` of the hauls. `written` formats a number of steps with
    its unit; if None, cells hold bare numbers and the header states the unit.
    """

    unit: str
    step: float
    share_stated: float
    drawn: Callable[[Numbers, Hauls, Chance], Numbers]
    written: Callable[[int], Cell] | None = None

    def cells(self, stated: Numbers, hauls: Hauls, chance: Chance) -> list[Cell]:
        """The cells of a column; blank if not drawn to be stated or not in the load profile."""
        steps = np.rint(self.drawn(stated, hauls, chance) / self.step)
        known = (chance.shares(len(hauls)) < self.share_stated) & ~np.isnan(stated)
        # Figures repeat over a season, so each distinct one is formatted once.
        distinct, codes = np.unique(steps[known].astype(np.int64), return_inverse=True)
        words = np.array([self._cell(number) for number in distinct.tolist()], dtype=object)
        cells = np.full(len(hauls), None, dtype=object)
        cells[known] = words[codes]
        written: list[Cell] = cells.tolist()
        return written

    def _cell(self, steps: int) -> Cell:
        return self.written(steps) if self.written else steps * self.step


def _weight(stated: Numbers, hauls: Hauls, chance: Chance) -> Numbers:
    """Weight with more or less fuel, mud by month, and now and then a heavier bucket."""
    tank = 0.012 * chance.scatter(len(hauls))
    mud = 2 * hauls.by_month(MUD_BY_MONTH) * chance.shares(len(hauls))
    bucket = np.where(chance.shares(len(hauls)) < 0.06, 0.03, 0.0)
    # Parts added over the season, such as a winch or a guard, add weight.
    return stated * (1 + tank + mud + bucket + 0.005 * hauls.elapsed)


def _position(stated: Numbers, hauls: Hauls, chance: Chance) -> Numbers:
    """Position of the article near the stated one; one crew stops too far back."""
    return stated + 3.0 * chance.scatter(len(hauls)) + hauls.by_crew(lambda crew: crew.back)


def _speed(stated: Numbers, hauls: Hauls, chance: Chance) -> Numbers:
    """Planned speed, varied in steps of 5 mph, plus the haste of the crew."""
    steps = np.rint(chance.scatter(len(hauls)) - 0.25)
    return np.maximum(stated + 5.0 * steps + hauls.by_crew(lambda crew: crew.haste), 5.0)


def _distance(stated: Numbers, hauls: Hauls, _chance: Chance) -> Numbers:
    return np.maximum(stated * hauls.detour, 1.0)


def _driving_time(stated: Numbers, hauls: Hauls, chance: Chance) -> Numbers:
    """Driving time with detours and traffic."""
    return np.maximum(stated * hauls.detour * (1 + 0.1 * chance.scatter(len(hauls))), 1.0)


def _aboard(stated: Numbers, hauls: Hauls, chance: Chance) -> Numbers:
    """Weight of people and tools: a person more or less, and the extra of the crew."""
    person = 180.0 * np.rint(chance.scatter(len(hauls)))
    tools = 60.0 * chance.scatter(len(hauls))
    return np.maximum(stated + person + tools + hauls.by_crew(lambda crew: crew.aboard), 150.0)


def _pressure(stated: Numbers, hauls: Hauls, chance: Chance) -> Numbers:
    """Tyre pressure: filled on the first of the month, then leaking, and lower in the cold."""
    leak = 3.0 * hauls.trailer_use * hauls.days_of_month / 31
    cold = hauls.by_month(PRESSURE_BY_MONTH)
    return np.maximum(stated + 2.0 + cold - leak + chance.scatter(len(hauls)), 1.0)


def _trailer_tread(stated: Numbers, hauls: Hauls, chance: Chance) -> Numbers:
    return _worn(stated, hauls.elapsed * hauls.trailer_use, chance)


def _front_tread(stated: Numbers, hauls: Hauls, chance: Chance) -> Numbers:
    return _worn(stated, hauls.elapsed * hauls.tow_vehicle_use, chance)


def _worn(stated: Numbers, use: Numbers, chance: Chance) -> Numbers:
    """Tread depth: 2/32 in above the profile at first, with full use 7/32 in less at the end."""
    return np.maximum(stated + (2.0 - 7.0 * use) / 32 + chance.scatter(len(stated)) / 64, 1 / 32)


def _thirty_seconds(steps: int) -> Cell:
    return f"{steps}/32 in"


FIGURES: Final[Mapping[str, Figure]] = MappingProxyType(
    {
        "articles.1.weight": Figure("lb", 5, 0.75, _weight),
        "articles.1.placed.x": Figure("in", 0.5, 0.9, _position),
        "trip.speed": Figure("mph", 1, 0.95, _speed),
        "trip.distance": Figure("mi", 1, 1.0, _distance),
        "trip.driving_time": Figure("min", 1, 1.0, _driving_time),
        "tow_vehicle.occupants_and_cargo": Figure("lb", 10, 0.8, _aboard),
        "walkaround.lowest_cold_pressure": Figure("psi", 1, 0.85, _pressure),
        "walkaround.tread_depth": Figure("in", 1 / 32, 0.6, _trailer_tread, _thirty_seconds),
        "walkaround.front_tread_depth": Figure("in", 1 / 32, 0.6, _front_tread, _thirty_seconds),
    }
)
"""The figures by their fields."""
