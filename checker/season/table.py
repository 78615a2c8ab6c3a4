"""Hauls as numbers: what their columns say, one row a haul."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, cast

import numpy as np
from numpy.typing import NDArray

from checker.evaluation.rule_rows import Column as Values
from checker.evaluation.rule_rows import expand
from checker.season.logs.decode import Figures, Named, one_list
from checker.season.logs.model import Column


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

    @property
    def without_blanks(self) -> "Table":
        """Without the columns in which no haul states anything."""
        return replace(
            self,
            figures={
                column: each
                for column, each in self.figures.items()
                if not np.isnan(each.values).all()
            },
            words={column: each for column, each in self.words.items() if each.codes.any()},
        )


def joined(tables: Sequence[Table]) -> Table:
    """Tables one below the other; a column that one of them does not have is blank there."""
    if len(tables) == 1:
        return tables[0]
    sizes = [len(table.rows) for table in tables]

    def below(columns: Sequence[Values]) -> Values:
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
            below([part.halves for part in parts]),
            below([part.metric for part in parts]),
        )

    def words(column: Column) -> Named:
        return one_list(
            [
                table.words.get(column) or Named(np.zeros(len(table.rows), dtype=np.int64), [None])
                for table in tables
            ]
        )

    return Table(
        rows=np.concatenate([table.rows for table in tables]),
        days=np.concatenate([table.days for table in tables]),
        crews=one_list([table.crews for table in tables]),
        figures={
            column: figures(column)
            for column in dict.fromkeys(column for table in tables for column in table.figures)
        },
        words={
            column: words(column)
            for column in dict.fromkeys(column for table in tables for column in table.words)
        },
    )
