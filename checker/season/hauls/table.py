"""Tables of hauls: arrays of records, one for each haul."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from checker.evaluation.rule_rows import collapse
from checker.logs.decode import Figures, Named, merge_names
from checker.logs.model import Column

OF_FIGURES: Final = ("values", "halves", "metric")


@dataclass(frozen=True, slots=True)
class Heading:
    """The columns of the records, and the names and words that their indices stand for.

    Columns have the names of their fields, whatever the headers in the log. The first name of crews
    and words stands for a blank.
    """

    figures: Sequence[Column]
    words: Sequence[tuple[Column, Sequence[Any]]]
    crews: Sequence[str]

    @property
    def columns(self) -> tuple[Column, ...]:
        """All columns, figures first."""
        return (*self.figures, *(column for column, _ in self.words))

    @property
    def dtype(self) -> np.dtype[np.void]:
        """The numpy type of a record; days count from 0001-01-01."""
        figures, words = len(self.figures), len(self.words)
        return np.dtype(
            [
                ("row", np.int64),
                ("day", np.int32),
                ("crew", np.int32),
                ("values", np.float64, (figures,)),
                ("halves", np.float64, (figures,)),
                ("metric", np.bool_, (figures,)),
                ("words", np.int32, (words,)),
            ]
        )

    def blank(self, rows: int) -> NDArray[np.void]:
        """Records in which every figure and word is blank."""
        records = np.zeros(rows, self.dtype)
        records["values"] = np.nan
        return records


@dataclass(frozen=True, slots=True)
class Table:
    """Some hauls, one record for each."""

    heading: Heading
    records: NDArray[np.void]

    def __len__(self) -> int:
        return len(self.records)

    @property
    def rows(self) -> NDArray[np.int64]:
        """Row number of each haul in the log."""
        return self.records["row"].astype(np.int64)

    @property
    def days(self) -> NDArray[np.int64]:
        """Days since 0001-01-01, as `date.toordinal` counts."""
        return self.records["day"].astype(np.int64)

    @property
    def crews(self) -> Named:
        """The crew of each haul."""
        return Named(self.records["crew"], self.heading.crews)

    def words(self, index: int) -> Named:
        """The column of words at an index of the heading."""
        return Named(self.records["words"][:, index], self.heading.words[index][1])

    def figures(self, column: Column) -> Figures:
        """A column of figures."""
        index = self.heading.figures.index(column)
        values, halves, metric = (self.records[name][:, index] for name in OF_FIGURES)
        return Figures(values.copy(), collapse(halves), collapse(metric))

    def take(self, rows: Any) -> "Table":
        """The table with only the given hauls."""
        return Table(self.heading, self.records[rows])

    def with_columns(
        self, figures: Sequence[Column], words: Sequence[Column] | None = None
    ) -> "Table":
        """The table with these columns, blank where it lacks one; None for its own words."""
        heading = self.heading
        own = dict(heading.words)
        words = list(own) if words is None else words
        if (list(heading.figures), list(own)) == (list(figures), words):
            return self
        added = [(column, own.get(column, [None])) for column in words]
        heading = Heading(figures, added, heading.crews)
        records = heading.blank(len(self))
        for name in ("row", "day", "crew"):
            records[name] = self.records[name]
        indices = list(map(list(figures).index, self.heading.figures))
        for name in OF_FIGURES:
            records[name][:, indices] = self.records[name]
        records["words"][:, list(map(words.index, own))] = self.records["words"]
        return Table(heading, records)


def table_of_columns(
    rows: NDArray[np.int64],
    days: NDArray[np.int64],
    crews: Named,
    figures: Mapping[Column, Figures],
    words: Mapping[Column, Named],
) -> Table:
    """The table with these columns."""
    of_words = [(column, each.names) for column, each in words.items()]
    heading = Heading(list(figures), of_words, crews.names)
    records = heading.blank(len(rows))
    records["row"], records["day"], records["crew"] = rows, days, crews.codes
    for index, each in enumerate(figures.values()):
        for name in OF_FIGURES:
            records[name][:, index] = getattr(each, name)
    for index, named in enumerate(words.values()):
        records["words"][:, index] = named.codes
    return Table(heading, records)


def stack_tables(tables: Sequence[Table]) -> Table:
    """The rows of all tables in order; a column that a table lacks is blank there."""
    headings = [table.heading for table in tables]
    figures = list(dict.fromkeys(column for each in headings for column in each.figures))
    words = list(dict.fromkeys(column for each in headings for column, _ in each.words))
    aligned = [table.with_columns(figures, words) for table in tables]
    records = np.concatenate([table.records for table in aligned])
    crews = merge_names([table.crews for table in aligned])
    records["crew"] = crews.codes
    of_words = []
    for index, column in enumerate(words):
        named = merge_names([table.words(index) for table in aligned])
        records["words"][:, index] = named.codes
        of_words.append((column, named.names))
    return Table(Heading(figures, of_words, crews.names), records)
