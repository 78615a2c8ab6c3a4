"""A part of a log read: its hauls as numbers, those of each load together.

This is the first half of an audit. What it gives is small, plain and fit to be stored: one array of
records, and beside it the names that stand there as numbers.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from checker.documents.problems import printable
from checker.evaluation.rule_rows import collapse
from checker.season.logs.decode import (
    Faults,
    FigureDecoder,
    Figures,
    Named,
    decode_days,
    decode_names,
    decode_words,
    one_list,
)
from checker.season.logs.model import OF_THE_HAUL, Batch, Column, OwnWords, Part, Refused, Role
from checker.season.logs.settling import NO_LOAD, as_text, words_for
from checker.season.table import Table, joined


@dataclass(frozen=True, slots=True)
class Heading:
    """What the fields of the records are: `figures` and `words` in the order of their numbers."""

    figures: Sequence[Column]
    words: Sequence[tuple[Column, Sequence[Any]]]
    crews: Sequence[str]

    @property
    def columns(self) -> tuple[Column, ...]:
        """All of them, figures first."""
        return (*self.figures, *(column for column, _ in self.words))

    @property
    def dtype(self) -> np.dtype[np.void]:
        """The form of a record; its fields are those of a `Table`, one number for each column."""
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


RowSlice: TypeAlias = tuple[NDArray[np.void], Heading]
"""Some records, and what their fields are."""


@dataclass(frozen=True, slots=True)
class Rows:
    """The rows of a part as they stand, those that are refused among them."""

    table: Table
    loads: Named
    refused: Sequence[Refused]
    """Rows that cannot be judged, in order; some of them have no row in the table."""
    read: int
    names: Mapping[int, str]
    """The hauls' own, by row."""

    @property
    def sound(self) -> NDArray[np.intp]:
        """Places in the table of rows that are not refused."""
        return np.flatnonzero(~np.isin(self.table.rows, [each.row for each in self.refused]))


@dataclass(frozen=True, slots=True)
class ParsedPart:
    """The hauls of a part, sorted by load, then as they stand.

    `loads` says where those of each load begin and end in the records. `names` are the hauls' own,
    by row.
    """

    records: NDArray[np.void]
    heading: Heading
    loads: Mapping[str, tuple[int, int]]
    read: int
    refused: Sequence[Refused]
    names: Mapping[int, str]


def read_part(part: Part, own: OwnWords) -> ParsedPart:
    """Read a part of a log; read rows are those in the records and those refused.

    Raises ProblemsFoundError where the file turns out to be unreadable.
    """
    rows = read_rows(part, own)
    loads = rows.loads
    # Sorted by load, then as they stand.
    order = rows.sound
    order = order[np.argsort(loads.codes[order], kind="stable")]
    starts = np.searchsorted(loads.codes[order], np.arange(len(loads.names) + 1)).tolist()
    return ParsedPart(
        *_packed(rows.table.of(order)),
        loads={
            name: (start, stop)
            for name, (start, stop) in zip(loads.names, pairwise(starts), strict=True)
            if stop > start
        },
        read=rows.read,
        refused=rows.refused,
        names=rows.names,
    )


def read_rows(part: Part, own: OwnWords) -> Rows:
    """The rows of a part of a log, what their cells say read.

    Raises ProblemsFoundError where the file turns out to be unreadable.
    """
    batch = part.read()
    columns = {column.role: column for column in batch.columns if column.role in OF_THE_HAUL}

    def of_role(role: Role, blank: str | None = None) -> tuple[Named, Faults]:
        if role not in columns:
            return Named(np.zeros(len(numbers), dtype=np.int64), [""]), ()
        column = columns[role]
        return decode_names(batch.cells[column.field], words_for(column, own), blank)

    numbers = np.array(batch.numbers, dtype=np.int64)
    # Without a load or a day a row cannot be judged; a crew need not be named.
    loads, without_load = of_role(Role.LOAD, NO_LOAD)
    crews, _ = of_role(Role.CREW)
    day_words = words_for(columns[Role.DATE], own)
    days, without_day = decode_days(batch.cells[Role.DATE], day_words, own.dates)
    figures: dict[Column, Figures] = {}
    words: dict[Column, Named] = {}
    faults: dict[int, str] = {}
    for column in batch.columns:
        if column.role in OF_THE_HAUL:
            continue
        cells, meant = batch.cells[column.field], words_for(column, own)
        # How a log writes a column does not matter once its cells are read: in one log, rows may
        # have a field in two units.
        read = Column(column.field, column.field, column.role)
        if column.role in (Role.QUANTITY, Role.ANSWER):
            figures[read] = FigureDecoder(column, meant)(cells)
            found = figures[read].faults
        else:
            words[read], found = decode_words(column, cells, meant)
        for index, fault in found:
            faults[index] = f"{faults[index]}; {fault}" if index in faults else fault
    faults |= dict(without_day) | dict(without_load)
    refused = sorted(
        [*batch.refused, *(Refused(int(numbers[index]), faults[index]) for index in faults)],
        key=lambda each: each.row,
    )
    return Rows(
        table=Table(numbers, days, crews, figures, words),
        loads=loads,
        refused=refused,
        read=len(numbers) + len(batch.refused),
        names=_own_names(batch),
    )


def _own_names(batch: Batch) -> dict[int, str]:
    cells = batch.cells.get(Role.HAUL, ())
    texts = ("" if cell is None else as_text(cell).replace("\n", " ") for cell in cells)
    names = zip(batch.numbers, (printable(text).strip() for text in texts), strict=False)
    return {row: name for row, name in names if name}


def _packed(table: Table) -> RowSlice:
    """The records of a table."""
    heading = Heading(
        figures=list(table.figures),
        words=[(column, each.names) for column, each in table.words.items()],
        crews=table.crews.names,
    )
    records = np.zeros(len(table.rows), heading.dtype)
    records["row"], records["day"], records["crew"] = table.rows, table.days, table.crews.codes
    for index, each in enumerate(table.figures.values()):
        records["values"][:, index] = each.values
        records["halves"][:, index] = each.halves
        records["metric"][:, index] = each.metric
    for index, named in enumerate(table.words.values()):
        records["words"][:, index] = named.codes
    return records, heading


def unpacked(loads: Sequence[Sequence[RowSlice]]) -> tuple[Table, NDArray[np.intp]]:
    """The hauls of some loads as columns, and the index of each haul's load.

    A log in many parts has its hauls in many pieces: those of the same columns are taken together.
    """
    alike: dict[tuple[Column, ...], list[tuple[int, RowSlice]]] = {}
    for index, pieces in enumerate(loads):
        for piece in pieces:
            alike.setdefault(piece[1].columns, []).append((index, piece))
    load_of = [
        np.full(len(records), index) for same in alike.values() for index, (records, _) in same
    ]
    tables = [_table([piece for _, piece in same]) for same in alike.values()]
    return joined(tables), np.concatenate(load_of)


def _table(pieces: Sequence[RowSlice]) -> Table:
    """Pieces with the same columns, one below the other, as columns."""
    records = np.concatenate([records for records, _ in pieces])
    headings = [heading for _, heading in pieces]

    def named(codes: Iterable[NDArray[np.int32]], names: Iterable[Sequence[Any]]) -> Named:
        return one_list(
            [Named(each.astype(np.int64), its) for each, its in zip(codes, names, strict=True)]
        )

    return Table(
        rows=records["row"].copy(),
        days=records["day"].astype(np.int64),
        crews=named(
            (piece["crew"] for piece, _ in pieces), (heading.crews for heading in headings)
        ),
        figures={
            column: Figures(
                records["values"][:, index].copy(),
                collapse(records["halves"][:, index]),
                collapse(records["metric"][:, index]),
            )
            for index, column in enumerate(headings[0].figures)
        },
        words={
            column: named(
                (piece["words"][:, index] for piece, _ in pieces),
                (heading.words[index][1] for heading in headings),
            )
            for index, (column, _) in enumerate(headings[0].words)
        },
    )
