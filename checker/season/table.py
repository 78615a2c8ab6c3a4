"""Tables of hauls: columns of numbers, one row for each haul."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, cast

import numpy as np
from numpy.typing import NDArray

from checker.evaluation.rule_rows import Column as Values
from checker.evaluation.rule_rows import expand
from checker.season.logs.decode import Figures, Named, merge_names
from checker.season.logs.model import Column


@dataclass(frozen=True, slots=True)
class Table:
    """Some hauls: their rows in the log, days, crews, and the values of their columns.

    Columns have the names of their fields, whatever the headers in the log. `days` count from
    0001-01-01. The first name of crews and words stands for a blank.
    """

    rows: NDArray[np.int64]
    days: NDArray[np.int64]
    crews: Named
    figures: Mapping[Column, Figures]
    words: Mapping[Column, Named]

    def take(self, rows: Any) -> "Table":
        """The table with only the given hauls."""
        return Table(
            self.rows[rows],
            self.days[rows],
            self.crews.take(rows),
            {column: each.take(rows) for column, each in self.figures.items()},
            {column: each.take(rows) for column, each in self.words.items()},
        )


def stack_tables(tables: Sequence[Table]) -> Table:
    """The rows of all tables in order; a column that a table lacks is blank there."""
    if len(tables) == 1:
        return tables[0]
    sizes = [len(table.rows) for table in tables]

    def stacked(columns: Sequence[Values]) -> Values:
        if all(column.size == 1 and column[0] == columns[0][0] for column in columns):
            return columns[0]
        return cast("Values", np.concatenate(list(map(expand, columns, sizes))))

    def figures(column: Column) -> Figures:
        parts = [
            table.figures.get(column)
            or Figures(np.full(len(table.rows), np.nan), np.zeros(1), np.zeros(1, dtype=bool))
            for table in tables
        ]
        return Figures(
            np.concatenate([part.values for part in parts]),
            stacked([part.halves for part in parts]),
            stacked([part.metric for part in parts]),
        )

    def words(column: Column) -> Named:
        return merge_names(
            [
                table.words.get(column) or Named(np.zeros(len(table.rows), dtype=np.int64), [None])
                for table in tables
            ]
        )

    return Table(
        rows=np.concatenate([table.rows for table in tables]),
        days=np.concatenate([table.days for table in tables]),
        crews=merge_names([table.crews for table in tables]),
        figures={
            column: figures(column)
            for column in dict.fromkeys(column for table in tables for column in table.figures)
        },
        words={
            column: words(column)
            for column in dict.fromkeys(column for table in tables for column in table.words)
        },
    )
