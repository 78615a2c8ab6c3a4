"""Columns of a log as arrays: figures in N, m, s and rad, answers as 1 or 0, blanks as NaN.

A season repeats itself: each distinct cell is read once and looked up from then on.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from checker.season.logs.cells import PLAIN, CellError, stated
from checker.season.logs.columns import node_of
from checker.season.logs.model import Cell, Column, Role
from checker.unit_kinds import KINDS, SI_UNITS
from checker.unit_table import FACTORS
from checker.units import parse

MOST_KEPT: Final = 65_536
"""So many distinct cells of a column are remembered before it begins anew."""

_NUMBERS: Final = frozenset({int, float, type(None)})
_TEXTS: Final = frozenset({str, type(None)})


@dataclass(frozen=True, slots=True)
class Decoded:
    """The cells of one column of one batch.

    `values` are floats, NaN for a blank, which means as the profile states; words and lists are
    objects, None for a blank. `half_widths` of stated tolerances, None where there are none.
    `metric` marks figures stated in a metric unit. `faults` are the places from 0 of cells that
    cannot be read (blank in `values`), and why.
    """

    values: np.ndarray
    half_widths: np.ndarray | None
    metric: np.ndarray
    faults: Sequence[tuple[int, str]]


class Decoder:
    """Reads the cells of one column, batch after batch; not for columns of the haul itself."""

    def __init__(self, column: Column) -> None:
        self.column = column
        self.figures = column.role in (Role.QUANTITY, Role.ANSWER)
        self.numbers = _Numbers(column) if _takes_numbers(column) else None
        self._forget()

    def _forget(self) -> None:
        self.codes: dict[Any, int] = {}
        self.found: list[Any] = []
        self.halves: list[float] = []
        self.metric: list[bool] = []
        self.said: dict[int, str] = {}
        self.tables: tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray] | None = None

    def __call__(self, cells: Sequence[Cell]) -> Decoded:
        """The cells as arrays as long as they are."""
        types = frozenset(map(type, cells))
        if self.numbers and (types <= _NUMBERS or (types <= _TEXTS and all(map(_is_plain, cells)))):
            return self.numbers(cells)
        if len(self.codes) > MOST_KEPT:
            self._forget()
        # As keys of a dict 1, 1.0 and True are one; texts need no such care.
        keys: Sequence[Any] = cells if types <= _TEXTS else [(type(cell), cell) for cell in cells]
        known = list(map(self.codes.get, keys))
        if None in known:
            for key, cell in zip(keys, cells, strict=True):
                if key not in self.codes:
                    self._learn(key, cell)
            known = list(map(self.codes.get, keys))
        values, halves, metric, bad = self._tables()
        codes = np.array(known, dtype=np.intp)
        widths = halves[codes]
        faults = [(int(place), self.said[codes[place]]) for place in np.flatnonzero(bad[codes])]
        half_widths = widths if widths.any() else None
        return Decoded(values[codes], half_widths, metric[codes], faults)

    def _learn(self, key: Any, cell: Cell) -> None:
        value, half, metric = np.nan if self.figures else None, 0.0, False
        if cell is not None:
            try:
                value, half, metric = self._read(cell)
            except CellError as error:
                self.said[len(self.found)] = f"{self.column.field}: {error}"
        self.codes[key] = len(self.found)
        self.found.append(value)
        self.halves.append(half)
        self.metric.append(metric)
        self.tables = None

    def _read(self, cell: Cell) -> tuple[Any, float, bool]:
        value = stated(self.column, cell)
        if self.column.role is Role.ANSWER:
            return (1.0 if value == "yes" else 0.0), 0.0, False
        if self.column.role is not Role.QUANTITY:
            return value, 0.0, False
        quantity = parse(str(value), node_of(self.column.field)["quantity"])
        return quantity.value, quantity.half_width, bool(quantity.metric)

    def _tables(self) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
        """Value, half-width, whether it is metric and whether it is a fault, by code."""
        if self.tables is None:
            values = np.empty(len(self.found), dtype=float if self.figures else object)
            if self.figures:
                values[:] = self.found
            else:
                for code, value in enumerate(self.found):  # at once would make lists a table
                    values[code] = value
            bad = np.zeros(len(self.found), dtype=bool)
            bad[list(self.said)] = True
            metric = np.array(self.metric, dtype=bool)
            self.tables = values, np.array(self.halves, dtype=float), metric, bad
        return self.tables


def _is_plain(cell: Cell) -> bool:
    """Whether a text is a number that no two readers read in two ways, or the cell is blank."""
    return cell is None or (isinstance(cell, str) and PLAIN.fullmatch(cell) is not None)


def _takes_numbers(column: Column) -> bool:
    """Whether bare numbers are what the column wants: it has a unit, or its kind has none."""
    if column.role is not Role.QUANTITY:
        return False
    return column.unit is not None or not KINDS[node_of(column.field)["quantity"]].units


class _Numbers:
    """Cells that are numbers, as those of Parquet, or plain ones in a text: all at once.

    Weights from a scale differ from haul to haul, so that remembering them would not help.
    """

    def __init__(self, column: Column) -> None:
        self.column = column
        self.node = node_of(column.field)
        top, bottom = FACTORS[column.unit] if column.unit else (1, 1)
        self.factor = top / bottom
        self.metric = column.unit in SI_UNITS

    def __call__(self, cells: Sequence[Cell]) -> Decoded:
        try:
            given = np.array(cells, dtype=float)  # reads plain texts as well
        except OverflowError:
            given = np.array([_float(cell) for cell in cells])
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
        places = [int(place) for place in np.flatnonzero(bad)]
        values[bad] = np.nan
        faults = [(place, self._said(cells[place])) for place in places]
        return Decoded(values, None, np.full(len(values), self.metric), faults)

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
