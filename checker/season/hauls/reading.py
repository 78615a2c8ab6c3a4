"""Reads a part of a log into one array of records, sorted by load: the first half of an audit."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from checker.documents.problems import printable
from checker.logs.cells import NO_LOAD, as_text, words_for
from checker.logs.decode import (
    Faults,
    FigureDecoder,
    Figures,
    Named,
    decode_days,
    decode_names,
    decode_words,
)
from checker.logs.model import OF_THE_HAUL, Batch, Column, LogMapping, Part, Refused, Role
from checker.logs.remarks import Remarks, remarks_of
from checker.season.hauls.table import Table, table_of_columns


@dataclass(frozen=True, slots=True)
class Rows:
    """The rows of a part in the order of the log; `read` counts those refused and left out too."""

    batch: Batch
    table: Table
    loads: Named
    refused: Sequence[Refused]
    """Rows that cannot be checked, in order; some of them are not in the table."""
    read: int
    names: Mapping[int, str]
    """The haul names that the log states, by row."""
    remarks: Remarks

    @property
    def sound(self) -> NDArray[np.intp]:
        """Indices in the table of the rows that are not refused."""
        return np.flatnonzero(~np.isin(self.table.rows, [each.row for each in self.refused]))


@dataclass(frozen=True, slots=True)
class ParsedPart:
    """The hauls of a part, sorted by load, then by row.

    `loads` holds the range (start, stop) of the records of each load. `names` holds the haul names
    that the log states, by row. `read` counts hauls, refused rows and rows left out.
    """

    hauls: Table
    loads: Mapping[str, tuple[int, int]]
    read: int
    refused: Sequence[Refused]
    names: Mapping[int, str]
    remarks: Remarks


def read_part(part: Part, mapping: LogMapping) -> ParsedPart:
    """The hauls of a part of a log; raises ProblemsFoundError if the file cannot be read."""
    rows = read_rows(part, mapping)
    loads = rows.loads
    # Sorted by load, then by row.
    order = rows.sound
    order = order[np.argsort(loads.codes[order], kind="stable")]
    starts = np.searchsorted(loads.codes[order], np.arange(len(loads.names) + 1)).tolist()
    return ParsedPart(
        hauls=rows.table.take(order),
        loads={
            name: (start, stop)
            for name, (start, stop) in zip(loads.names, pairwise(starts), strict=True)
            if stop > start
        },
        read=rows.read,
        refused=rows.refused,
        names=rows.names,
        remarks=rows.remarks,
    )


def read_rows(part: Part, mapping: LogMapping) -> Rows:
    """The rows of a part of a log, with their cells decoded.

    Raises ProblemsFoundError if the file cannot be read.
    """
    return rows_of(part.read(), mapping)


def rows_of(batch: Batch, mapping: LogMapping) -> Rows:
    """The rows of a batch, with their cells decoded."""
    columns = {column.role: column for column in batch.columns if column.role in OF_THE_HAUL}

    def of_role(role: Role, blank: str | None = None) -> tuple[Named, Faults]:
        if role not in columns:
            return Named(np.zeros(len(numbers), dtype=np.int64), [""]), ()
        column = columns[role]
        return decode_names(batch.cells[column.field], words_for(column, mapping), blank)

    numbers = np.array(batch.numbers, dtype=np.int64)
    # A row without a load or a day cannot be checked; the crew may be blank.
    loads, without_load = of_role(Role.LOAD, NO_LOAD)
    crews, _ = of_role(Role.CREW)
    day_words = words_for(columns[Role.DATE], mapping)
    days, without_day = decode_days(batch.cells[Role.DATE], day_words, mapping.dates)
    figures: dict[Column, Figures] = {}
    words: dict[Column, Named] = {}
    faults: dict[int, str] = {}
    for column in batch.columns:
        if column.role in OF_THE_HAUL:
            continue
        cells, meanings = batch.cells[column.field], words_for(column, mapping)
        # The header no longer matters once the cells are decoded: rows of one log may state a
        # field in two units.
        read = Column(column.field, column.field, column.role)
        if column.role in (Role.QUANTITY, Role.ANSWER):
            figures[read] = FigureDecoder(column, meanings)(cells)
            found = figures[read].faults
        else:
            words[read], found = decode_words(column, cells, meanings)
        for index, fault in found:
            faults[index] = f"{faults[index]}; {fault}" if index in faults else fault
    faults |= dict(without_day) | dict(without_load)
    refused = sorted(
        [*batch.refused, *(Refused(int(numbers[index]), faults[index]) for index in faults)],
        key=lambda each: each.row,
    )
    return Rows(
        batch=batch,
        table=table_of_columns(numbers, days, crews, figures, words),
        loads=loads,
        refused=refused,
        read=len(numbers) + len(batch.refused) + len(batch.left_out),
        names=haul_names(batch),
        remarks=remarks_of(batch, mapping),
    )


def haul_names(batch: Batch) -> dict[int, str]:
    """The names that hauls have of their own in the log, by row; rows without one are left out."""
    cells = batch.cells.get(Role.HAUL, ())
    texts = ("" if cell is None else as_text(cell).replace("\n", " ") for cell in cells)
    names = zip(batch.numbers, (printable(text).strip() for text in texts), strict=False)
    return {row: name for row, name in names if name}
