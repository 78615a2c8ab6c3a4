"""Compares crews, months, trailers, machines and tow vehicles with the others in like conditions.

Like conditions are strata: a crew or a month is compared with others over the same loads, so that a
crew that gets the hard loads is not the worse crew for it. What carries a load is part of the
load, so a trailer is compared with others over the same machines.

Hauls of one load mostly share what holds them, and a fault that goes on for days holds hauls in
series; many hauls are then one fact. So a trailer, machine or tow vehicle is compared by its loads
as well as by its hauls, and a month must be worse by more than its loads differ among themselves.
"""

from collections.abc import Collection, Iterator, Mapping, Sequence
from enum import StrEnum
from itertools import accumulate
from typing import Final, NamedTuple

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from checker.season.rates.correcting import FEWEST, FEWEST_LOADS, LEVEL, can_be_named, rounded
from checker.season.rates.exposure import Exposures
from checker.season.rates.statistics import (
    Distribution,
    above_by_clusters,
    convolved,
    least_by_clusters,
    marked_among_drawn,
    ranks,
    sum_of_drawn,
)

_FEWEST_OF_LOAD: Final = 5
"""Fewest hauls of a load whose share on hold is ranked among other loads."""

_ENOUGH: Final = 0.8
"""Share of the hauls that can be compared by fewer conditions that must stay comparable by more."""

_Flags = NDArray[np.bool_]
_Counts = NDArray[np.int64]


class Result(StrEnum):
    """What a comparison shows. Values are those of the JSON document."""

    MORE = "more often"
    UNEXPLAINED = "no more often than chance explains"
    TOO_FEW = "too few to say"
    ALONE = "with nothing to compare"
    TOO_OPEN = "too many open hauls to compare"


class Contrast(Struct, frozen=True):
    """A group of hauls and the others under the same conditions; all hauls are decided ones.

    `compared` of its `decided` hauls are of strata that others have hauls in as well; `others` are
    those. `expected` is the number of them that would be on hold at the others' shares. `p` is the
    probability of as many on hold by chance alone, `corrected` the same corrected for the number of
    comparisons; both are None where none is made.
    """

    kind: str
    name: str
    decided: int
    held: int
    within: tuple[str, ...]
    """The conditions that are the same: load, machine, trailer, crew, month."""
    compared: int
    compared_held: int
    others: int
    others_held: int
    expected: float
    least: float
    """The smallest `p` that these numbers of hauls can give."""
    too_open: bool = False
    """True if its share of open hauls differs so much from the others' that none is made."""
    p: float | None = None
    corrected: float | None = None
    result: Result = Result.TOO_FEW

    def with_result(self, corrected: float | None, made: int) -> "Contrast":
        """The same with its corrected probability, one of `made`, and what it shows."""
        if not self.compared:
            result = Result.ALONE
        elif self.too_open:
            result = Result.TOO_OPEN
        elif corrected is not None and corrected <= LEVEL:
            result = Result.MORE
        elif corrected is None or not can_be_named(self.least, made):
            result = Result.TOO_FEW
        else:
            result = Result.UNEXPLAINED
        return replace(self, corrected=corrected, result=result)


class _Rows(NamedTuple):
    """The exposures as arrays, one entry for each load, crew and month that go together."""

    codes: Mapping[str, NDArray[np.intp]]
    """For each kind of condition, a number that tells its values apart."""
    groups: Mapping[str, Mapping[str, _Flags]]
    """By kind and name, which entries are its own; a load of two machines belongs to both."""
    strata: Mapping[str, Sequence[NDArray[np.intp]]]
    """For each kind the stratum of each entry by one condition, by two, by all."""
    decided: _Counts
    held: _Counts


_CONDITIONS: Final[Mapping[str, Sequence[str]]] = {
    "month": ("load", "crew"),
    "crew": ("load", "month"),
    "trailer": ("machine", "crew", "month"),
    "machine": ("trailer", "crew", "month"),
    "tow vehicle": ("trailer and machine", "crew", "month"),
}
"""For each kind the conditions, of which the first is always the same and more where enough hauls
stay comparable."""
_OF_LOADS: Final = ("trailer", "machine", "tow vehicle")
"""Kinds that are the same in every haul of a load."""


def contrasts(exposures: Exposures, too_open: Collection[tuple[str, str]] = ()) -> list[Contrast]:
    """Every comparison of an audit, by kind and name, not yet corrected for their number.

    Groups that the log does not name are left out. Those in `too_open`, by kind and name, are not
    tested.
    """
    rows = _rows(exposures)
    return [
        _contrast(kind, name, rows, flags, too_open=(kind, name) in too_open)
        for kind in _CONDITIONS
        for name, flags in sorted(rows.groups[kind].items())
        if name
    ]


def _rows(exposures: Exposures) -> _Rows:
    cells = [
        (load, crew, month, each.decided, each.held)
        for load, crews in exposures.hauled.items()
        for crew, months in crews.items()
        for month, each in months.items()
    ]
    carried = exposures.carried
    loads, crews, months, decided, held = zip(*cells, strict=True) if cells else ((),) * 5
    values: dict[str, Sequence[object]] = {
        "load": loads,
        "load profile": [carried[load].load or load for load in loads],
        "crew": crews,
        "month": months,
        "trailer": [carried[load].trailer for load in loads],
        "machine": [tuple(sorted(carried[load].machines)) for load in loads],
        "tow vehicle": [carried[load].tow_vehicle for load in loads],
    }
    values["trailer and machine"] = list(zip(values["trailer"], values["machine"], strict=True))
    codes = {kind: _codes(each) for kind, each in values.items()}
    return _Rows(
        codes,
        {kind: _groups(values[kind], codes[kind]) for kind in _CONDITIONS},
        {
            kind: list(accumulate((codes[each] for each in conditions), _joined))
            for kind, conditions in _CONDITIONS.items()
        },
        np.array(decided, dtype=np.int64),
        np.array(held, dtype=np.int64),
    )


def _codes(values: Sequence[object]) -> NDArray[np.intp]:
    numbers: dict[object, int] = {}
    return np.array([numbers.setdefault(each, len(numbers)) for each in values], dtype=np.intp)


def _joined(one: NDArray[np.intp], other: NDArray[np.intp]) -> NDArray[np.intp]:
    """Codes that tell apart what either of two codes does."""
    both = one * (other.max(initial=0) + 1) + other
    return np.asarray(np.unique(both, return_inverse=True)[1], dtype=np.intp)


def _groups(values: Sequence[object], codes: NDArray[np.intp]) -> dict[str, _Flags]:
    """The entries of each name; of machines, of every machine of a load."""
    found: dict[str, _Flags] = {}
    for code, value in enumerate(dict.fromkeys(values)):
        for name in value if isinstance(value, tuple) else (str(value),):
            found[name] = found.get(name, np.zeros(len(codes), dtype=bool)) | (codes == code)
    return found


def _contrast(kind: str, name: str, rows: _Rows, flags: _Flags, *, too_open: bool) -> Contrast:
    conditions = _CONDITIONS[kind]
    strata = [_Strata.sum_by(codes, flags, rows) for codes in rows.strata[kind]]
    enough = _ENOUGH * strata[0].drawn.sum()
    within = max(n for n, each in enumerate(strata) if not n or each.drawn.sum() >= enough)
    chosen = strata[within]
    compared, others = int(chosen.drawn.sum()), int((chosen.hauls - chosen.drawn).sum())
    p, least = None, 1.0
    if not too_open and min(compared, others) >= FEWEST:
        distribution = marked_among_drawn(chosen.hauls, chosen.marked, chosen.drawn)
        p, least = distribution.at_least(chosen.found), distribution.least_above
        if kind in _OF_LOADS:
            by_loads = _ranked_loads(rows, flags, rows.codes[conditions[0]])
            p, least = max(p, by_loads[0]), max(least, by_loads[1])
        if kind == "month":
            excesses = chosen.excesses_of_loads
            p = max(p, above_by_clusters(excesses))
            loads = np.count_nonzero(excesses)
            enough_loads = loads >= FEWEST_LOADS
            least = max(least, least_by_clusters(int(loads))) if enough_loads else 1.0
    return Contrast(
        kind=kind,
        name=name,
        decided=int(rows.decided[flags].sum()),
        held=int(rows.held[flags].sum()),
        within=tuple(conditions[: within + 1]),
        compared=compared,
        compared_held=chosen.found,
        others=others,
        others_held=int(chosen.marked.sum()) - chosen.found,
        expected=rounded(chosen.expected),
        least=rounded(least),
        too_open=too_open,
        p=None if p is None else rounded(p),
    )


class _Strata(NamedTuple):
    """The strata in which both the group and the others have hauls."""

    hauls: _Counts
    marked: _Counts
    """Hauls on hold."""
    drawn: _Counts
    """Hauls of the group."""
    marked_drawn: _Counts
    loads: NDArray[np.intp]
    """A load profile of each stratum; its only one where the load is one of the conditions."""

    @classmethod
    def sum_by(cls, strata: NDArray[np.intp], flags: _Flags, rows: _Rows) -> "_Strata":
        """The strata of these numbers."""
        decided, held = rows.decided, rows.held
        sums = [
            np.bincount(strata, weights=each).astype(np.int64)
            for each in (decided, held, decided * flags, held * flags)
        ]
        both = (sums[2] > 0) & (sums[2] < sums[0])
        _, first = np.unique(strata, return_index=True)
        hauls, marked, drawn, marked_drawn = (each[both] for each in sums)
        return cls(hauls, marked, drawn, marked_drawn, rows.codes["load profile"][first][both])

    @property
    def excesses_of_loads(self) -> NDArray[np.float64]:
        """For each load, hauls of the group on hold beyond its part of all those on hold."""
        excess = self.marked_drawn - self.drawn * self.marked / self.hauls
        return np.asarray(np.bincount(self.loads, weights=excess), dtype=np.float64)

    @property
    def found(self) -> int:
        """Hauls of the group on hold."""
        return int(self.marked_drawn.sum())

    @property
    def expected(self) -> float:
        """The number that would be on hold if the group had the others' share in each stratum."""
        shares = (self.marked - self.marked_drawn) / (self.hauls - self.drawn)
        return float((self.drawn * shares).sum())


def _ranked_loads(rows: _Rows, flags: _Flags, strata: NDArray[np.intp]) -> tuple[float, float]:
    """How likely chance alone puts the group's loads as high among those of their strata.

    Also the least such probability. Loads are ranked by their shares on hold.
    """
    whole = Distribution(0, np.ones(1))
    total = 0
    for shares, own in _shares_of_loads(rows, flags, strata):
        number = int(own.sum())
        if 0 < number < len(own):
            ranked = ranks(shares.tolist())
            total += int(ranked[own].sum())
            whole = convolved(whole, sum_of_drawn(ranked, number))
    return whole.at_least(total), whole.least_above


def _shares_of_loads(
    rows: _Rows, flags: _Flags, strata: NDArray[np.intp]
) -> Iterator[tuple[NDArray[np.float64], _Flags]]:
    """For each stratum, the shares on hold of its loads, and True for those of the group.

    Loads that were hauled seldom are left out.
    """
    loads = rows.codes["load"]
    decided, held = (np.bincount(loads, weights=each) for each in (rows.decided, rows.held))
    _, first = np.unique(loads, return_index=True)
    often = decided >= _FEWEST_OF_LOAD
    of_load, own = strata[first][often], flags[first][often]
    shares = held[often] / decided[often]
    for each in np.unique(of_load).tolist():
        yield shares[of_load == each], own[of_load == each]
