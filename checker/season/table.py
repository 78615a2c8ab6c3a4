"""Hauls as numbers: what their columns say, one row a haul."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, cast

import numpy as np
from numpy.typing import NDArray

from checker.evaluation.rule_rows import Column as Values
from checker.evaluation.rule_rows import expand
from checker.season.logs.decode import Figures
from checker.season.logs.model import Column


@dataclass(frozen=True, slots=True)
class Named:
    """A name or word of each haul, as a place in `names`."""

    codes: NDArray[np.int64]
    names: Sequence[Any]

    def of(self, rows: Any) -> "Named":
        """Those of some hauls."""
        return Named(self.codes[rows], self.names)


@dataclass(frozen=True, slots=True)
class Table:
    """Some hauls: where they stand in the log, when and who, and what their columns say.

    Columns are as their fields are called, however the log writes them. `days` count from
    0001-01-01. Among the names of crews and words the first stands for a blank.
    """

    rows: NDArray[np.int64]
    days: NDArray[np.int64]
    crews: Named
    figures: Mapping[Column, Figures]
    words: Mapping[Column, Named]

    def of(self, rows: Any) -> "Table":
        """Those of some hauls."""
        return Table(
            self.rows[rows],
            self.days[rows],
            self.crews.of(rows),
            {column: each.of(rows) for column, each in self.figures.items()},
            {column: each.of(rows) for column, each in self.words.items()},
        )


def joined(tables: Sequence[Table]) -> Table:
    """Tables one below the other; a column that one of them does not have is blank there."""
    if len(tables) == 1:
        return tables[0]
    figures = dict.fromkeys(column for table in tables for column in table.figures)
    words = dict.fromkeys(column for table in tables for column in table.words)
    return Table(
        rows=np.concatenate([table.rows for table in tables]),
        days=np.concatenate([table.days for table in tables]),
        crews=one_list(table.crews for table in tables),
        figures={
            column: _one_column(
                [table.figures.get(column) or _blank(len(table.rows)) for table in tables]
            )
            for column in figures
        },
        words={
            column: one_list(
                table.words.get(column) or Named(np.zeros(len(table.rows), dtype=np.int64), [None])
                for table in tables
            )
            for column in words
        },
    )


def _blank(hauls: int) -> Figures:
    return Figures(np.full(hauls, np.nan), np.zeros(1), np.zeros(1, dtype=bool))


def _one_column(parts: Sequence[Figures]) -> Figures:
    sizes = [len(part.values) for part in parts]
    return Figures(
        np.concatenate([part.values for part in parts]),
        _below([part.halves for part in parts], sizes),
        _below([part.metric for part in parts], sizes),
    )


def _below(columns: Sequence[Values], sizes: Sequence[int]) -> Values:
    """Columns one below the other, each with as many rows as its size says."""
    if all(column.size == 1 and column[0] == columns[0][0] for column in columns):
        return columns[0]
    full = list(map(expand, columns, sizes))
    return cast("Values", np.concatenate(full))


def one_list(parts: Iterable[Named]) -> Named:
    """The same names, each counted once."""
    known: dict[str, int] = {}
    names: list[Any] = []
    codes = []
    for part in parts:
        for name in part.names:
            # Words of two types may be equal, and lists are no keys.
            if repr(name) not in known:
                known[repr(name)] = len(names)
                names.append(name)
        codes.append(np.array([known[repr(name)] for name in part.names])[part.codes])
    return Named(np.concatenate(codes).astype(np.int64), names)


def as_met(named: Named) -> Named:
    """The same with the names that occur alone, in the order of the hauls; a blank stays first."""
    first = np.full(len(named.names), len(named.codes), dtype=np.intp)
    # Of several hauls with one name the last put counts, and that is to be the first of them.
    first[named.codes[::-1]] = np.arange(len(named.codes))[::-1]
    first[0] = -1
    order = np.argsort(first, kind="stable")[: np.count_nonzero(first < len(named.codes))]
    places = np.zeros(len(named.names), dtype=np.int64)
    places[order] = np.arange(len(order))
    return Named(places[named.codes], [named.names[place] for place in order.tolist()])
