"""Decodes columns of a log to arrays: figures in N, m, s and rad, yes as 1, no as 0, blank as NaN.

The cells of a season repeat, so each distinct cell of a column is decoded only once.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from checker.documents.problems import printable
from checker.documents.schema_keywords import quantity_of
from checker.evaluation.rule_rows import collapse, take
from checker.logs.cells import as_text, date_fault, day_of, stated, translate
from checker.logs.columns import node_of
from checker.logs.model import Cell, Column, Role

Faults = Sequence[tuple[int, str]]
"""Indices of cells that cannot be read, and the reasons; the cells count as blank."""


@dataclass(frozen=True, slots=True)
class Figures:
    """The cells of a column of figures or answers.

    `values` holds NaN for a blank, for which the profile applies. `halves` holds half-widths of
    tolerances, 0 without one. `metric` is True for figures stated in a metric unit. `halves` and
    `metric` may have a single entry for all rows.
    """

    values: NDArray[np.float64]
    halves: NDArray[np.float64]
    metric: NDArray[np.bool_]
    faults: Faults = ()

    def take(self, rows: Any) -> "Figures":
        """The figures of the given rows."""
        return Figures(self.values[rows], take(self.halves, rows), take(self.metric, rows))


@dataclass(frozen=True, slots=True)
class Named:
    """A name or word of each haul, as an index into `names`; the first name stands for a blank."""

    codes: NDArray[np.int64]
    names: Sequence[Any]

    def take(self, rows: Any) -> "Named":
        """The names of the given hauls."""
        return Named(self.codes[rows], self.names)


class FigureDecoder:
    """Decodes the cells of a column of figures or answers."""

    def __init__(self, column: Column, words: Mapping[str, Cell]) -> None:
        """`words` holds the meanings of the words in the mapping file."""
        self.column, self.words = column, words

    def __call__(self, cells: Sequence[Cell]) -> Figures:
        """The cells as arrays."""
        codes, found, faults = _decode(cells, self.words, self._read)
        blank = (np.nan, 0.0, False)
        rows = np.array([blank if each is None else each for each in found])[codes]
        named = [(index, f"{self.column.field}: {fault}") for index, fault in faults]
        values, halves, metric = rows[:, 0].copy(), collapse(rows[:, 1]), collapse(rows[:, 2] == 1)
        return Figures(values, halves, metric, named)

    def _read(self, cell: Cell) -> tuple[float, float, bool] | None:
        if cell is None:
            return None
        value = stated(self.column, cell)
        if self.column.role is Role.ANSWER:
            return (1.0 if value == "yes" else 0.0), 0.0, False
        quantity = quantity_of(str(value), node_of(self.column.field))
        return quantity.value, quantity.half_width, bool(quantity.metric)


def decode_words(
    column: Column, cells: Sequence[Cell], words: Mapping[str, Cell]
) -> tuple[Named, Faults]:
    """The cells of a column of words or lists, and the faults."""

    def read(cell: Cell) -> Any:
        return None if cell is None else stated(column, cell)

    codes, found, faults = _decode(cells, words, read)
    named = [(index, f"{column.field}: {fault}") for index, fault in faults]
    return merge_names([Named(codes, found)]), named


def decode_names(
    cells: Sequence[Cell], words: Mapping[str, Cell], blank: str | None = None
) -> tuple[Named, Faults]:
    """The cells of a column of names, printable and stripped, and the faults.

    If `blank` is given, it is the fault of a blank cell.
    """

    def read(cell: Cell) -> str:
        return "" if cell is None else printable(as_text(cell)).strip()

    codes, found, _ = _decode(cells, words, read)
    named = merge_names([Named(codes, ["", *found[1:]])])
    empty = np.flatnonzero(named.codes == 0).tolist() if blank else []
    return named, [(index, blank or "") for index in empty]


def decode_days(
    cells: Sequence[Cell], words: Mapping[str, Cell], form: str | None
) -> tuple[NDArray[np.int64], Faults]:
    """The days in a column as `date.toordinal` counts, and the faults; `form` is their format."""

    def read(cell: Cell) -> int:
        day = day_of(cell, form)
        if day is None:
            raise ValueError(date_fault(cell, form))
        return day.toordinal()

    codes, found, faults = _decode(cells, words, read)
    return np.array([day or 0 for day in found])[codes], faults


def merge_names(parts: Sequence[Named]) -> Named:
    """The parts in order as one, with each name once."""
    indexes: dict[str, int] = {}
    names: list[Any] = []
    codes = []
    for part in parts:
        for name in part.names:
            # Values of different types may be equal, and lists cannot be keys.
            if repr(name) not in indexes:
                indexes[repr(name)] = len(names)
                names.append(name)
        codes.append(np.array([indexes[repr(name)] for name in part.names])[part.codes])
    return Named(np.concatenate(codes).astype(np.int64), names)


def _decode(
    cells: Sequence[Cell], words: Mapping[str, Cell], read: Callable[[Cell], Any]
) -> tuple[NDArray[np.intp], list[Any], Faults]:
    """The index of each cell's meaning, the meanings, and the faults.

    The first meaning is None, which also stands for a cell for which `read` raises ValueError.
    """
    # 1, 1.0 and True are the same key of a dict.
    texts = set(map(type, cells)) <= {str}
    keys: Sequence[Any] = cells if texts else [(type(cell), cell) for cell in cells]
    codes: dict[Any, int] = {}
    found: list[Any] = [None]
    unread: dict[Any, str] = {}
    for key, cell in dict(zip(keys, cells, strict=True)).items():
        codes[key] = len(found)
        try:
            found.append(read(translate(cell, words)))
        except ValueError as error:
            codes[key], unread[key] = 0, str(error)
    faults = [
        (index, unread[key]) for index, key in enumerate(keys if unread else ()) if key in unread
    ]
    return np.fromiter(map(codes.__getitem__, keys), np.intp, len(keys)), found, faults
