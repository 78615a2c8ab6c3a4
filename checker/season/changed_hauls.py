"""The hauls whose verdicts or outcomes change, as columns; records of single hauls on demand."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Final, Generic, TypeAlias, TypeVar

import numpy as np
from numpy.typing import NDArray

from checker.season.chunk import Chunk

Rows: TypeAlias = NDArray[np.int64]
TITLE, TRAILER, CREW = "title", "trailer", "crew"
_LABELS: Final = (TITLE, TRAILER, CREW)
_Cause = TypeVar("_Cause")


class HaulLabels:
    """Title, trailer and crew of each haul by its row; empty where none is stated."""

    def __init__(self) -> None:
        """Start without hauls."""
        self._codes: dict[str, dict[str, int]] = {label: {"": 0} for label in _LABELS}
        self._parts: list[Rows] = []
        self._whole: Rows = np.zeros((1 + len(_LABELS), 0), dtype=np.int64)

    def add(self, chunk: Chunk) -> None:
        """Add the hauls of a chunk; those of another day of the same hauls are the same."""
        titles, trailers = (
            np.array([self._code(label, getattr(each, label)) for each in chunk.loads])
            for label in (TITLE, TRAILER)
        )
        crews = np.array([self._code(CREW, each) for each in chunk.crews])
        columns = (titles[chunk.load_of], trailers[chunk.load_of], crews[chunk.crew_of])
        self._parts.append(np.stack([chunk.rows, *columns]))

    def of(self, label: str, rows: Rows) -> list[str]:
        """The labels of some hauls."""
        codes = self._found(rows)[1 + _LABELS.index(label)]
        names = list(self._codes[label])
        return [names[code] for code in codes.tolist()]

    @property
    def hauls(self) -> int:
        """Number of hauls."""
        return len(self._sorted()[0])

    def _code(self, label: str, name: str) -> int:
        codes = self._codes[label]
        return codes.setdefault(name, len(codes))

    def _found(self, rows: Rows) -> Rows:
        whole = self._sorted()
        found: Rows = whole[:, np.searchsorted(whole[0], rows)]
        return found

    def _sorted(self) -> Rows:
        if self._parts:
            whole = np.concatenate([self._whole, *self._parts], axis=1)
            _, first = np.unique(whole[0], return_index=True)
            self._whole, self._parts = whole[:, first], []
        return self._whole


@dataclass(slots=True)
class ChangedHauls(Generic[_Cause]):
    """The hauls that change in one way, each once; `causes` are those of their days."""

    rows: Rows
    days: Rows
    """Days since 0001-01-01 on which they change."""
    causes: Sequence[_Cause]
    cause_of: NDArray[np.intp]

    def __iter__(self) -> Iterator[tuple[int, int, _Cause]]:
        """Row, day and cause of each haul."""
        for row, day, cause in zip(
            self.rows.tolist(), self.days.tolist(), self.cause_of.tolist(), strict=True
        ):
            yield row, day, self.causes[cause]


@dataclass(slots=True)
class Collected(Generic[_Cause]):
    """Hauls that change in one way, while chunks are read: a haul may come on several days."""

    rows: list[Rows] = field(default_factory=list)
    days: list[Rows] = field(default_factory=list)
    causes: list[_Cause] = field(default_factory=list)

    def add(self, chunk: Chunk, hauls: NDArray[np.intp], cause: _Cause) -> None:
        """Add some hauls of a chunk."""
        self.rows.append(chunk.rows[hauls])
        self.days.append(chunk.days[hauls])
        self.causes.append(cause)

    def once(self, own_days: Callable[[Rows], Rows]) -> ChangedHauls[_Cause]:
        """Each haul once, by row: on its own day, or else the first of its days."""
        rows, days = np.concatenate(self.rows), np.concatenate(self.days)
        cause_of = np.repeat(np.arange(len(self.causes)), [each.size for each in self.rows])
        order = np.lexsort((days, days != own_days(rows), rows))
        _, first = np.unique(rows[order], return_index=True)
        chosen = order[first]
        return ChangedHauls(rows[chosen], days[chosen], self.causes, cause_of[chosen])
