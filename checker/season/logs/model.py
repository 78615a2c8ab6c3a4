"""What a haul log is once it is read, whatever file it came from: batches of columns."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum
from typing import Final, Protocol, TypeAlias

Cell: TypeAlias = str | float | int | bool | date | None
"""What stands in one row of one column; None for a blank, which means as the profile states."""

PART_ROWS: Final = 8192
"""At most so many rows are in memory at a time; a haul has some ten to fifty cells."""
PART_BYTES: Final = 1 << 21
"""Of a text, fewer where rows are long."""


class Role(StrEnum):
    """What the cells of a column are."""

    LOAD = "load"
    DATE = "date"
    CREW = "crew"
    HAUL = "haul"
    QUANTITY = "quantity"
    ANSWER = "answer"
    WORD = "word"
    LIST = "list"


OF_THE_HAUL: Final = (Role.LOAD, Role.DATE, Role.CREW, Role.HAUL)
"""Columns that are no fields of a load: which load, when, who hauled, the haul's own name."""


@dataclass(frozen=True, slots=True)
class Column:
    """One column: `header` as the log writes it, `field` as the program names it.

    `field` is a path such as `articles.1.weight`, or the role's own name for columns of the haul.
    With a `unit` the cells are bare numbers in it.
    """

    header: str
    field: str
    role: Role
    unit: str | None = None

    def __hash__(self) -> int:
        """By the header alone: each cell of a haul is put under its column."""
        return hash(self.header)


@dataclass(frozen=True, slots=True)
class Refused:
    """A row that cannot be judged, and why."""

    row: int
    said: str


@dataclass(frozen=True, slots=True)
class Batch:
    """Some rows of a log in the order they stand, with the cells as the file has them.

    `numbers` says where each row given out stands, as the log counts: line of a text, row of a
    sheet, row from 1 of a Parquet file, position from 1 in a folder sorted by name. `cells` holds
    one sequence for each column, by its field, as long as `numbers`. A log whose rows differ in
    their columns has other `columns` from part to part; those of load and date are always there.
    """

    columns: Sequence[Column]
    numbers: Sequence[int]
    cells: Mapping[str, Sequence[Cell]]
    refused: Sequence[Refused]


@dataclass(frozen=True, slots=True)
class OwnWords:
    """How an officer's own log is to be read: what `kind: haul-log` files say.

    `columns` by the log's own header; `words` by field, then by what stands in the cell; `answers`
    for every column of yes or no. `dates` is a format of Python's `strptime`, None for 2026-05-14.
    """

    columns: Mapping[str, Column] = field(default_factory=dict)
    ignored: frozenset[str] = frozenset()
    dates: str | None = None
    words: Mapping[str, Mapping[str, Cell]] = field(default_factory=dict)
    answers: Mapping[str, Cell] = field(default_factory=dict)

    def __hash__(self) -> int:
        return hash(repr(self))


class Part(Protocol):
    """Some rows of a log, at most PART_ROWS, which another process can read by itself."""

    @property
    def size(self) -> int:
        """How much of the log it is, in the measure of the log's own `size`."""

    def read(self) -> Batch:
        """Its rows; raises ProblemsFoundError where the file turns out to be unreadable."""


@dataclass(frozen=True, slots=True)
class ReadRows:
    """A part of a file that can be read from its beginning only: rows that are read already."""

    batch: Batch
    size: int = 0

    def read(self) -> Batch:
        """Its rows."""
        return self.batch


@dataclass(frozen=True, slots=True)
class Log:
    """A haul log: rows given out and rows refused add up to the rows that stand in it.

    The parts are found as they are asked for, once, and are the same for the same file; finding
    them may raise ProblemsFoundError. `size` of all parts together is None where it is not known.
    """

    file: str
    parts: Iterator[Part]
    size: int | None
    own: OwnWords


def batch_of_rows(
    columns: Sequence[Column | None],
    numbers: Sequence[int],
    rows: Sequence[Sequence[Cell]],
    refused: Sequence[Refused],
) -> Batch:
    """The batch of rows of a table, without the columns that nobody reads."""
    turned = list(zip(*rows, strict=True)) if rows else [()] * len(columns)
    cells = {column.field: cells for column, cells in zip(columns, turned, strict=True) if column}
    return Batch([column for column in columns if column], numbers, cells, refused)
