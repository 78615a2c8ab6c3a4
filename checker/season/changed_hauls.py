"""The hauls whose verdicts or outcomes change, as columns."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Generic, NamedTuple, TypeAlias, TypeVar

import numpy as np
from numpy.typing import NDArray

from checker.season.hauls.chunk import Chunk

Rows: TypeAlias = NDArray[np.int64]
_Cause = TypeVar("_Cause")


class HaulLabels(NamedTuple):
    """What a haul is counted by; empty where none is stated."""

    title: str
    trailer: str
    """Key of the trailer, see `identity.py`."""
    trailer_title: str
    crew: str


@dataclass(slots=True)
class ChangedHauls(Generic[_Cause]):
    """The hauls that change in one way, each once; `causes` are those of their days."""

    rows: Rows
    days: Rows
    """Days since 0001-01-01 on which they change."""
    labels: Sequence[HaulLabels]
    causes: Sequence[_Cause]

    def __iter__(self) -> Iterator[tuple[int, int, HaulLabels, _Cause]]:
        """Row, day, labels and cause of each haul."""
        return zip(self.rows.tolist(), self.days.tolist(), self.labels, self.causes, strict=True)


@dataclass(slots=True)
class Collected(Generic[_Cause]):
    """Hauls that change in one way, while chunks are read: a haul may come on several days."""

    rows: list[Rows] = field(default_factory=list)
    days: list[Rows] = field(default_factory=list)
    labels: list[HaulLabels] = field(default_factory=list)
    causes: list[_Cause] = field(default_factory=list)

    def add(self, chunk: Chunk, hauls: NDArray[np.intp], cause: _Cause) -> None:
        """Add some hauls of a chunk."""
        self.rows.append(chunk.rows[hauls])
        self.days.append(chunk.days[hauls])
        self.causes += [cause] * len(hauls)
        codes = chunk.load_of[hauls] * len(chunk.crews) + chunk.crew_of[hauls]
        labels: dict[int, HaulLabels] = {}
        for code in np.unique(codes).tolist():
            load, crew = divmod(code, len(chunk.crews))
            of_load = chunk.loads[load]
            trailer = of_load.titles["trailer"].get(of_load.trailer, "")
            labels[code] = HaulLabels(of_load.title, of_load.trailer, trailer, chunk.crews[crew])
        self.labels += map(labels.__getitem__, codes.tolist())

    def once(self, own_days: Callable[[Rows], Rows]) -> ChangedHauls[_Cause]:
        """Each haul once, by row: on its own day, or else the first of its days."""
        rows, days = np.concatenate(self.rows), np.concatenate(self.days)
        order = np.lexsort((days, days != own_days(rows), rows))
        _, first = np.unique(rows[order], return_index=True)
        chosen = order[first]
        labels, causes = (
            [each[index] for index in chosen.tolist()] for each in (self.labels, self.causes)
        )
        return ChangedHauls(rows[chosen], days[chosen], labels, causes)
