"""Columns of a log as arrays: figures in N, m, s and rad, answers as 1 or 0, blanks as NaN.

A season repeats itself: each distinct cell is read once and looked up from then on, with whatever
white space and words of the officer's own it is written.
"""

from abc import ABC, abstractmethod
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from checker.documents.keywords import quantity_of
from checker.documents.problems import printable
from checker.season.alike import at, in_full, once
from checker.season.logs.cells import CellError, stated
from checker.season.logs.columns import node_of
from checker.season.logs.model import Cell, Column, Role
from checker.season.logs.plain_cells import Distinct, PlainCells
from checker.season.logs.settling import as_text, day_of, no_day, told
from checker.units.kinds import KINDS
from checker.units.words import find_unit

Faults = Sequence[tuple[int, str]]
"""Places from 0 of cells that cannot be read, which count as blank, and why."""

_NUMBERS: Final = frozenset({int, float, type(None)})
_TEXTS: Final = frozenset({str})
_OF_NUMBERS: Final = b"0123456789.+-\n"
# Numbers to Python, but not to everybody: a point needs digits on both sides.
_BARE_POINTS: Final = ("\n.", ".\n", "-.", "+.")


@dataclass(frozen=True, slots=True)
class Figures:
    """The cells of a column of figures or answers.

    `values` are NaN for a blank, which means as the profile states. `halves` are half-widths of
    stated tolerances, 0 where there are none. `metric` marks figures stated in a metric unit.
    One row of either stands for all.
    """

    values: NDArray[np.float64]
    halves: NDArray[np.float64]
    metric: NDArray[np.bool_]
    faults: Faults = ()

    def of(self, rows: Any) -> "Figures":
        """Those of some rows."""
        return Figures(self.values[rows], at(self.halves, rows), at(self.metric, rows))


class _Known(ABC):
    """What each distinct cell of a column stands for."""

    def __init__(self, words: Mapping[str, Cell]) -> None:
        self.words = words
        self.codes: dict[Any, int] = {}
        self.said: dict[int, str] = {}
        self.distinct: Distinct | None = Distinct()
        self.of_distinct = np.zeros(0, dtype=np.intp)

    def coded(self, cells: Sequence[Cell]) -> NDArray[np.intp]:
        """The number of each cell's meaning."""
        if not isinstance(cells, PlainCells):
            return self._looked_up(cells)
        found = self.distinct.places(cells) if self.distinct else None
        if found is None:
            self.distinct = None
            return self._looked_up(list(cells))
        places, new = found
        if new:
            self.of_distinct = np.append(self.of_distinct, self._looked_up(new))
        return self.of_distinct[places]

    def _looked_up(self, cells: Sequence[Cell]) -> NDArray[np.intp]:
        # As keys of a dict 1, 1.0 and True are one; texts need no such care.
        alike = frozenset(map(type, cells)) <= _TEXTS
        keys: Sequence[Any] = cells if alike else [(type(cell), cell) for cell in cells]
        known = list(map(self.codes.get, keys))
        if None in known:
            new = {
                key: told(cell, self.words)
                for key, cell in dict(zip(keys, cells, strict=True)).items()
                if key not in self.codes
            }
            self.codes.update(zip(new, self.learned(list(new.values())), strict=True))
            known = list(map(self.codes.get, keys))
        return np.array(known, dtype=np.intp)

    def faults(self, codes: NDArray[np.intp]) -> Faults:
        """The cells that cannot be read."""
        if not self.said:
            return ()
        places = np.flatnonzero(np.isin(codes, list(self.said))).tolist()
        return [(place, self.said[int(codes[place])]) for place in places]

    @abstractmethod
    def learned(self, cells: Sequence[Cell]) -> Sequence[int]:
        """The numbers of meanings that are met for the first time."""


class FigureDecoder(_Known):
    """Reads the cells of one column of figures or answers, batch after batch."""

    def __init__(self, column: Column, words: Mapping[str, Cell]) -> None:
        super().__init__(words)
        self.column = column
        self.numbers = _Numbers(column) if _takes_numbers(column) else None
        self.found = Figures(np.zeros(0), np.zeros(0), np.zeros(0, dtype=bool))
        self.told = self.found
        """The same, but one row stands for all where it can."""

    def __call__(self, cells: Sequence[Cell]) -> Figures:
        """The cells as arrays."""
        plain = isinstance(cells, PlainCells)
        if self.numbers and not self.words and not plain and _NUMBERS.issuperset(map(type, cells)):
            return self.numbers(cells) or self._one_by_one(cells)
        codes = self.coded(cells)
        return replace(self.told.of(codes), faults=self.faults(codes))

    def learned(self, cells: Sequence[Cell]) -> Sequence[int]:
        """Read the cells."""
        found = (self.numbers and self.numbers(cells)) or self._one_by_one(cells)
        first = len(self.found.values)
        self.said |= {first + place: said for place, said in found.faults}
        many = len(found.values)
        self.found = Figures(
            np.append(self.found.values, found.values),
            np.append(self.found.halves, in_full(found.halves, many)),
            np.append(self.found.metric, in_full(found.metric, many)),
        )
        self.told = replace(
            self.found, halves=once(self.found.halves), metric=once(self.found.metric)
        )
        return range(first, len(self.found.values))

    def _one_by_one(self, cells: Sequence[Cell]) -> Figures:
        found = np.full((len(cells), 3), (np.nan, 0.0, 0.0))
        faults = []
        for place, cell in enumerate(cells):
            # The last digit of a bare number must not rest on what else is read with it.
            bare = self.numbers([cell]) if self.numbers else None
            if bare is not None:
                found[place] = bare.values[0], 0.0, bare.metric[0]
                faults += [(place, said) for _, said in bare.faults]
            elif cell is not None:
                try:
                    found[place] = self._read(cell)
                except CellError as error:
                    faults.append((place, f"{self.column.field}: {error}"))
        return Figures(found[:, 0], found[:, 1], found[:, 2] == 1, faults)

    def _read(self, cell: Cell) -> tuple[float, float, bool]:
        value = stated(self.column, cell)
        if self.column.role is Role.ANSWER:
            return (1.0 if value == "yes" else 0.0), 0.0, False
        quantity = quantity_of(str(value), node_of(self.column.field))
        return quantity.value, quantity.half_width, bool(quantity.metric)


class WordDecoder(_Known):
    """Reads the cells of one column of words or lists; `found` are the words, the first a blank."""

    def __init__(self, column: Column, words: Mapping[str, Cell]) -> None:
        super().__init__(words)
        self.column = column
        self.found: list[Any] = [None]

    def __call__(self, cells: Sequence[Cell]) -> tuple[NDArray[np.intp], Faults]:
        """Places in `found`, and what cannot be read."""
        codes = self.coded(cells)
        faults = self.faults(codes)
        return (np.where(np.isin(codes, list(self.said)), 0, codes) if faults else codes), faults

    def learned(self, cells: Sequence[Cell]) -> Sequence[int]:
        """Read the words."""
        return [0 if cell is None else self._learned(cell) for cell in cells]

    def _learned(self, cell: Cell) -> int:
        try:
            self.found.append(stated(self.column, cell))
        except CellError as error:
            self.found.append(None)
            self.said[len(self.found) - 1] = f"{self.column.field}: {error}"
        return len(self.found) - 1


class NameDecoder(_Known):
    """Reads the cells of a column of names; `found` are the names, the first a blank.

    They are printed as they stand, so that they hold nothing but letters of one line.
    """

    def __init__(self, words: Mapping[str, Cell], blank: str | None = None) -> None:
        """With `blank`, that is what is wrong where no name stands."""
        super().__init__(words)
        self.found = [""]
        self.place = {"": 0}
        self.said = {0: blank} if blank else {}

    def __call__(self, cells: Sequence[Cell]) -> tuple[NDArray[np.intp], Faults]:
        """Places in `found`, and the rows without a name."""
        codes = self.coded(cells)
        return codes, self.faults(codes)

    def learned(self, cells: Sequence[Cell]) -> Sequence[int]:
        """Read the names, which cells before may have written otherwise."""
        names = ["" if cell is None else printable(as_text(cell)).strip() for cell in cells]
        for name in names:
            if name not in self.place:
                self.place[name] = len(self.found)
                self.found.append(name)
        return [self.place[name] for name in names]


class DayDecoder(_Known):
    """Reads the column of days, written as `form` says; `found` counts from 0001-01-01."""

    def __init__(self, words: Mapping[str, Cell], form: str | None) -> None:
        super().__init__(words)
        self.form = form
        self.found: list[int] = []

    def __call__(self, cells: Sequence[Cell]) -> tuple[NDArray[np.int64], Faults]:
        """Days as `date.toordinal` counts, and the cells that are none."""
        codes = self.coded(cells)
        return np.array(self.found, dtype=np.int64)[codes], self.faults(codes)

    def learned(self, cells: Sequence[Cell]) -> Sequence[int]:
        """Read the days."""
        first = len(self.found)
        for cell in cells:
            day = day_of(cell, self.form)
            if day is None:
                self.said[len(self.found)] = no_day(cell, self.form)
            self.found.append(0 if day is None else day.toordinal())
        return range(first, len(self.found))


def _takes_numbers(column: Column) -> bool:
    """Whether bare numbers are what the column wants: it has a unit, or its kind has none."""
    if column.role is not Role.QUANTITY:
        return False
    return column.unit is not None or not KINDS[node_of(column.field)["quantity"]].units


def _as_numbers(cells: Sequence[Any]) -> NDArray[np.float64] | None:
    """Cells that are numbers, or texts that no two readers read in two ways; None if some are not.

    Weights from a scale may differ from haul to haul: reading them one by one would take long.
    """
    types = frozenset(map(type, cells))
    if types <= _NUMBERS:
        try:
            return np.array(cells, dtype=float)
        except OverflowError:
            return np.array([_float(cell) for cell in cells])
    texts = [cell for cell in cells if cell is not None]
    if frozenset(map(type, texts)) != _TEXTS:
        return None
    text = "\n" + "\n".join(texts) + "\n"
    if not text.isascii() or text.encode().translate(None, _OF_NUMBERS):
        return None
    if text.count("\n") != len(texts) + 1 or any(bare in text for bare in _BARE_POINTS):
        return None
    try:
        filled = cells if len(texts) == len(cells) else [cell or "nan" for cell in cells]
        return np.fromiter(map(float, filled), dtype=float, count=len(cells))
    except ValueError:
        return None


class _Numbers:
    """The numbers of a column in its unit, all at once."""

    def __init__(self, column: Column) -> None:
        self.column = column
        self.node = node_of(column.field)
        unit = find_unit(column.unit) if column.unit else None
        self.factor = unit.size if unit else 1.0
        self.metric = bool(unit and unit.metric)

    def __call__(self, cells: Sequence[Cell]) -> Figures | None:
        """The cells as figures; None where some are not plain numbers."""
        given = _as_numbers(cells)
        if given is None:
            return None
        values = given * self.factor
        node = self.node
        bad = np.isinf(values)
        sign = node.get("sign")
        if sign:
            bad |= values <= 0 if sign == "positive" else values < 0
        bad |= given < node.get("minimum", -np.inf)
        bad |= given > node.get("maximum", np.inf)
        if node["type"] == "integer":
            bad |= given % 1 != 0
            bad &= ~np.isnan(given)
        places = np.flatnonzero(bad).tolist()
        values[bad] = np.nan
        faults = [(place, self._said(cells[place])) for place in places]
        return Figures(values, np.zeros(1), np.array([self.metric]), faults)

    def _said(self, cell: Cell) -> str:
        try:
            stated(self.column, cell)
        except CellError as error:
            return f"{self.column.field}: {error}"
        return f"{self.column.field}: found {cell}; wanted a number of a size that can occur"


def _float(cell: Cell) -> float:
    """A whole number too large for a float is one without end."""
    assert cell is None or isinstance(cell, str | int | float)
    try:
        return np.nan if cell is None else float(cell)
    except OverflowError:
        return np.inf
