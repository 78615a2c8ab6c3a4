"""The model of a haul log in any form: parts that are read as batches of columns."""

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum
from typing import Final, Protocol, TypeAlias

from checker.documents.problems import Mark, Problem, ProblemsFoundError
from checker.logs.layout import Layout

Cell: TypeAlias = str | float | int | bool | date | None
"""The value of one row in one column; None for a blank, for which the profile applies."""

PART_ROWS: Final = 2048
"""Most rows of a part, which is in memory at once; a haul has about ten to fifty cells."""
PART_BYTES: Final = 1 << 21
"""Bytes of text after which a part ends, even with fewer rows."""

NO_NUMBER: Final = "found {}; wanted a number, or null for what the load profile states"
"""Why a row with NaN or an infinity is refused where the form of the log has a null."""


class Role(StrEnum):
    """The kind of the cells of a column."""

    LOAD = "load"
    DATE = "date"
    CREW = "crew"
    HAUL = "haul"
    QUANTITY = "quantity"
    ANSWER = "answer"
    WORD = "word"
    LIST = "list"


OF_THE_HAUL: Final = (Role.LOAD, Role.DATE, Role.CREW, Role.HAUL)
"""Columns of the haul itself: its load, day, crew and name; all others are fields of the load."""


class DecimalSign(StrEnum):
    """What stands before the decimals of figures written as text."""

    USUAL = "usual"
    """A point; commas between groups of three digits are read, as in profiles."""
    POINT = "point"
    """As usual, but as a mapping file says: figures that contradict it refuse the log."""
    COMMA = "comma"
    UNKNOWN = "unknown"
    """A comma in a figure may be either, as in a text whose cells are not parted by commas."""


@dataclass(frozen=True, slots=True)
class Column:
    """A column: `header` is its name in the log, `field` its name in the program.

    `field` is a path such as `articles.1.weight`; for columns of the haul it is the role. If `unit`
    is given, bare numbers in the cells are in that unit.
    """

    header: str
    field: str
    role: Role
    unit: str | None = None
    decimal: DecimalSign = DecimalSign.USUAL

    def __hash__(self) -> int:
        """The hash of the header alone, which is fast: each cell is stored by its column."""
        return hash(self.header)


@dataclass(frozen=True, slots=True)
class Refused:
    """A row that cannot be checked, and the reason."""

    row: int
    reason: str


class MappingNeededError(ProblemsFoundError):
    """The log is not written as the program expects; a mapping file may say how it is."""


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A row that is not checked because the mapping file says so, and the reason.

    `states_haul` is True if it has a load and a day nevertheless.
    """

    row: int
    reason: str
    states_haul: bool = False


@dataclass(frozen=True, slots=True)
class Batch:
    """Some rows of a log in order, with the cells as they are in the file.

    `numbers` holds the number of each row: the line of a text, the row of a sheet, the row from 1
    of a Parquet file, the position from 1 in a folder sorted by name. `cells` holds one sequence
    for each column, by its field, as long as `numbers`. `columns` always include load and date;
    the others may vary between parts of a log whose rows name their own columns.
    """

    columns: Sequence[Column]
    numbers: Sequence[int]
    cells: Mapping[str, Sequence[Cell]]
    refused: Sequence[Refused]
    left_out: Sequence[LeftOut] = ()

    def only(self, rows: Collection[int]) -> "Batch":
        """The batch with only the rows of these numbers."""
        wanted = [index for index, number in enumerate(self.numbers) if number in rows]
        return Batch(
            columns=self.columns,
            numbers=[self.numbers[index] for index in wanted],
            cells={
                field: [cells[index] for index in wanted] for field, cells in self.cells.items()
            },
            refused=[each for each in self.refused if each.row in rows],
        )


@dataclass(frozen=True, slots=True)
class LogMapping:
    """The content of a mapping file, `kind: haul-log`: headers and words of a particular log.

    `columns` is by header, `words` by field and then by the text of the cell; `answers` applies to
    every column of yes or no. `dates` is a format of Python's `strptime`, None for 2026-05-14.
    """

    columns: Mapping[str, Column] = field(default_factory=dict)
    ignored: frozenset[str] = frozenset()
    dates: str | None = None
    words: Mapping[str, Mapping[str, Cell]] = field(default_factory=dict)
    answers: Mapping[str, Cell] = field(default_factory=dict)
    decimal: DecimalSign = DecimalSign.USUAL
    layout: Layout = field(default_factory=Layout)
    file: str = ""
    marks: Mapping[str, Mark] = field(default_factory=dict)
    """Where each key stands in the mapping file."""

    def problem(self, key: str, found: str, wanted: str, suggestion: str | None = None) -> Problem:
        """A problem at a key of the mapping file; at its beginning if it has no such key."""
        mark = self.marks.get(key, Mark(1, 1))
        return Problem(self.file, mark, found, wanted, suggestion)

    def __hash__(self) -> int:
        return hash(repr(self))


class Part(Protocol):
    """At most PART_ROWS rows of a log, which another process can read independently."""

    @property
    def size(self) -> int:
        """The size of the part, in the unit of `Log.size`."""

    def read(self) -> Batch:
        """The rows of the part; raises ProblemsFoundError if the file cannot be read."""


@dataclass(frozen=True, slots=True)
class ReadRows:
    """A part that was read when it was found, as the file can only be read from its beginning."""

    batch: Batch
    size: int = 0

    def read(self) -> Batch:
        """The rows of the part."""
        return self.batch


@dataclass(frozen=True, slots=True)
class Log:
    """A haul log; the rows of its parts and the refused rows add up to all rows of the file.

    The parts are found lazily and can be iterated once; the same file gives the same parts. Finding
    them may raise ProblemsFoundError. `size` is the sum over all parts, None if unknown.
    """

    file: str
    parts: Iterator[Part]
    size: int | None
    mapping: LogMapping
    files: Sequence[str] = ()
    """The file of each row, where every row has one of its own."""

    def location(self, row: int) -> tuple[str, Mark]:
        """The file and position of a row."""
        return (self.files[row - 1], Mark(1, 1)) if self.files else (self.file, Mark(row, 1))


def batch_of_rows(
    columns: Sequence[Column | None],
    rows: Iterable[tuple[int, Sequence[Cell] | str | LeftOut]],
    above: Sequence[LeftOut] = (),
) -> Batch:
    """The batch of numbered rows of a table, without ignored columns and rows without cells.

    A text in place of cells is the reason why a row is refused. `above` are rows left out before
    these.
    """
    numbers: list[int] = []
    taken: list[Sequence[Cell]] = []
    refused: list[Refused] = []
    left_out = list(above)
    for number, row in rows:
        if isinstance(row, str):
            refused.append(Refused(number, row))
        elif isinstance(row, LeftOut):
            left_out.append(row)
        elif row:
            numbers.append(number)
            taken.append(row)
    turned = list(zip(*taken, strict=True)) if taken else [()] * len(columns)
    cells = {column.field: cells for column, cells in zip(columns, turned, strict=True) if column}
    return Batch([column for column in columns if column], numbers, cells, refused, left_out)
