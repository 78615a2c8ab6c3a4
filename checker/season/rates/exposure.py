"""How often each load was hauled by each crew in each month: what rates and comparisons rest on."""

from collections.abc import Sequence
from typing import Final, NamedTuple

import numpy as np
from msgspec import Struct, field
from numpy.typing import NDArray

_LONGEST: Final = 1e8
"""A haul of more metres, twice around the earth, counts as one that states no distance."""


class Carried(NamedTuple):
    """With what hauls of a load were hauled: keys as in the totals."""

    trailer: str
    machines: tuple[str, ...]
    tow_vehicle: str
    load: str = ""
    """The load where rows of the log name another trailer, machine or tow vehicle than its profile:
    such hauls are counted apart. Else empty."""


class Exposure(Struct, gc=False):
    """Number of decided hauls and of those on hold; the same of those that state a distance.

    A haul is decided if it is not open. Metres are whole, so that sums do not depend on an order.
    """

    decided: int = 0
    held: int = 0
    measured: int = 0
    held_measured: int = 0
    metres: int = 0

    def add(self, other: "Exposure") -> None:
        """Add the other's counts."""
        self.decided += other.decided
        self.held += other.held
        self.measured += other.measured
        self.held_measured += other.held_measured
        self.metres += other.metres


class Exposures(Struct):
    """The exposure of each load, crew and month that go together in a haul, and what loads carry.

    `add` includes those of other hauls.
    """

    carried: dict[str, Carried] = field(default_factory=dict)
    hauled: dict[str, dict[str, dict[str, Exposure]]] = field(default_factory=dict)
    """By load, then crew, then month. A crew is empty where the log names none.

    Hauls of a load with another trailer than its own are a load of their own, see `rig_of`.
    """

    def add(self, other: "Exposures") -> None:
        """Add the other's counts; `other` must not be used afterwards."""
        self.carried |= other.carried
        for load, crews in other.hauled.items():
            for crew, months in crews.items():
                own = self.hauled.setdefault(load, {}).setdefault(crew, {})
                for month, exposure in months.items():
                    if month in own:
                        own[month].add(exposure)
                    else:
                        own[month] = exposure


def rig_of(load: str, own: Carried, used: Carried) -> tuple[str, Carried]:
    """The name under which hauls of a load count, and with what they were hauled.

    That name is the load's where they were hauled with what its profile names, `own`.
    """
    if used == own:
        return load, own
    named = "; ".join((used.trailer, *used.machines, used.tow_vehicle))
    return f"{load} ({named})", used._replace(load=load)


class Coded(NamedTuple):
    """The name that each haul has: names, and for each haul the index of its own."""

    names: Sequence[str]
    of_haul: NDArray[np.intp]


def count_exposures(
    loads: Coded,
    crews: Coded,
    months: Coded,
    decided: NDArray[np.bool_],
    held: NDArray[np.bool_],
    metres: NDArray[np.float64],
) -> Exposures:
    """The exposures of some hauls, given by one entry of each array; `metres` NaN: not stated."""
    several = (loads, crews, months)
    sizes = [len(each.names) for each in several]
    # One number for the names of a haul: rows of several are sorted far more slowly.
    keys = np.ravel_multi_index([each.of_haul[decided] for each in several], sizes)
    cells, cell_of = np.unique(keys, return_inverse=True)
    held, metres = held[decided], metres[decided]
    measured = metres <= _LONGEST
    weights = (
        np.ones(len(held)),
        held,
        measured,
        held & measured,
        np.where(measured, np.rint(metres), 0),
    )
    columns = [
        np.bincount(cell_of, weights=each, minlength=len(cells)).astype(np.int64)
        for each in weights
    ]
    found = Exposures()
    for (load, crew, month), *counts in zip(
        zip(*(index.tolist() for index in np.unravel_index(cells, sizes)), strict=True),
        *(column.tolist() for column in columns),
        strict=True,
    ):
        of_load = found.hauled.setdefault(loads.names[load], {})
        of_load.setdefault(crews.names[crew], {})[months.names[month]] = Exposure(*counts)
    return found


def exposures_by_kind(exposures: Exposures) -> dict[str, dict[str, Exposure]]:
    """The exposure of each load, crew, month, trailer, machine and tow vehicle, by kind and name.

    A haul of two machines counts for both.
    """
    found: dict[str, dict[str, Exposure]] = {}
    for load, crews in exposures.hauled.items():
        carried = exposures.carried[load]
        of_load = Exposure()
        for crew, months in crews.items():
            for month, each in months.items():
                of_load.add(each)
                for kind, name in (("crew", crew), ("month", month)):
                    found.setdefault(kind, {}).setdefault(name, Exposure()).add(each)
        of = carried.load or load
        names = [("load", of), ("trailer", carried.trailer), ("tow vehicle", carried.tow_vehicle)]
        for kind, name in (*names, *(("machine", each) for each in carried.machines)):
            found.setdefault(kind, {}).setdefault(name, Exposure()).add(of_load)
    return found
