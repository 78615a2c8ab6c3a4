"""Reads haul logs in a sheet of an XLSX workbook, with headers in the first or the named row.

A blank cell means that the profile applies, so a row is refused if a cell only looks blank to the
library: a formula saved without a result, and a merged cell other than the first. Other formulas
count with their saved result.
"""

import zipfile
import zlib
from collections.abc import Iterable, Iterator, Sequence
from contextlib import ExitStack
from datetime import date, datetime
from itertools import islice, repeat
from pathlib import Path
from typing import Any, Final, TypeAlias

from checker.documents.problems import Mark, Problem, ProblemsFoundError, quoted, shorten
from checker.logs.columns import columns_of, node_of
from checker.logs.header import Header
from checker.logs.limits import MOST_CELL, MOST_COLUMNS, TOO_LONG
from checker.logs.model import (
    PART_ROWS,
    Batch,
    Cell,
    Log,
    LogMapping,
    ReadRows,
    Role,
    batch_of_rows,
)
from checker.logs.number_formats import shows_share, shows_unit
from checker.logs.opening import import_optional
from checker.logs.sheet_part import Merged
from checker.logs.table_rows import TableRows, TakenRow, is_blank
from checker.logs.units_row import with_units
from checker.logs.workbook import open_workbook, part_of, row_texts, sheet_of_hauls

_Row: TypeAlias = tuple[Sequence[Any], Sequence[Any], Sequence[Merged]]
"""The cells of a row, its formulas where the sheet has any, and the merged ranges that cover it."""

# Errors of the libraries for parts that are missing, truncated, wrongly packed or not XML.
BROKEN_WORKBOOK: Final = (
    OSError,
    EOFError,
    KeyError,
    ValueError,
    IndexError,
    TypeError,
    SyntaxError,
    RuntimeError,
    zipfile.BadZipFile,
    zlib.error,
)
_EMPTY: Final = "found a formula without a saved result; open the file, let it work out, save it"


def read(path: Path, mapping: LogMapping) -> Log:
    """The log in a workbook; raises ProblemsFoundError if its first row is not a valid header."""
    batches = _batches_of_file(path, mapping)
    # Runs up to the header, so that a wrong header is reported when the log is opened.
    assert next(batches) is None
    # The number of rows is unknown until the sheet is read to its end.
    return Log(str(path), (ReadRows(batch) for batch in batches if batch), None, mapping)


def _batches_of_file(path: Path, mapping: LogMapping) -> Iterator[Batch | None]:
    """Yields None after the header, then batches; errors of the library become problems."""
    openpyxl = import_optional("openpyxl", "xlsx", path)
    try:
        with ExitStack() as books:
            yield from _read(path, mapping, openpyxl, books)
    except BROKEN_WORKBOOK as error:
        found = f"a file that is no XLSX workbook ({shorten(str(error))})"
        problem = Problem(str(path), Mark(1, 1), found, "a workbook with a sheet")
        raise ProblemsFoundError([problem]) from error


def _read(
    path: Path, mapping: LogMapping, openpyxl: Any, books: ExitStack
) -> Iterator[Batch | None]:
    file = str(path)
    reader = open_workbook(openpyxl, path, books, results=True)
    sheet, header = sheet_of_hauls(reader, file, mapping)
    found, top = part_of(reader, sheet), header.row
    merged = found.rows()
    of_header = list(islice(merged, top))[-1]
    first = top + 2 if mapping.layout.units_row else top + 1
    texts = _with_merged(sheet, header, of_header)
    _refuse_merged(file, texts, top, first, of_header)
    marks = [Mark(top, column) for column in range(1, len(texts) + 1)]
    columns = columns_of(file, texts, marks, mapping, with_gaps=True)
    if mapping.layout.units_row:
        marks = [Mark(top + 1, column) for column in range(1, len(texts) + 1)]
        columns = with_units(file, columns, row_texts(sheet, top + 1), marks)
        next(merged)
    read_row = _RowReader(TableRows(texts, columns, mapping))
    yield None
    formulas: Iterable[Sequence[Any]] = repeat(())
    if found.has_formulas:
        same = open_workbook(openpyxl, path, books, results=False).wb[sheet.title]
        formulas = same.iter_rows(min_row=first, values_only=True)
    rows = zip(sheet.iter_rows(min_row=first), formulas, merged, strict=False)
    numbered = enumerate(rows, start=first)
    above = header.above
    while some := list(islice(numbered, PART_ROWS)):
        yield batch_of_rows(columns, ((row[0], read_row(row[0], *row[1])) for row in some), above)
        above = ()
    if above:
        yield batch_of_rows(columns, (), above)


def _with_merged(sheet: Any, header: Header, merged: Sequence[Merged]) -> Sequence[str]:
    """The headers, with those in cells that are merged with cells above them."""
    texts = list(header.texts)
    for each in merged:
        if each.top < header.row and each.left == each.right:
            above = row_texts(sheet, each.top)
            texts += [""] * (each.left - len(texts))
            texts[each.left - 1] = above[each.left - 1] if each.left <= len(above) else ""
    return texts


def _refuse_merged(
    file: str, texts: Sequence[str], row: int, first: int, merged: Sequence[Merged]
) -> None:
    """Raise ProblemsFoundError if cells are merged across headers, or with those of row `first`."""
    problems = [
        Problem(
            file, Mark(row, each.left), f"a merged cell {each.cells}", "a header in each column"
        )
        for each in merged
        if each.bottom >= first
        or (each.left < each.right and any(texts[each.left - 1 : each.right]))
    ]
    if problems:
        raise ProblemsFoundError(problems)


class _RowReader:
    """Converts single rows of the sheet to cells."""

    def __init__(self, table: TableRows) -> None:
        self.table = table
        self.columns = table.columns
        self.quantities = [
            (index, column, node_of(column.field)["quantity"] == "ratio")
            for index, column in enumerate(self.columns)
            if column is not None and column.role is Role.QUANTITY
        ]

    def __call__(
        self, number: int, row: Sequence[Any], formulas: Sequence[Any], merged: Sequence[Merged]
    ) -> TakenRow:
        """What becomes of a row of the sheet."""
        if len(row) > MOST_COLUMNS:
            return f"found a cell in column {len(row):,}; wanted at most {MOST_COLUMNS:,} columns"
        width = len(self.columns)
        cells = [*map(_cell, row), *[None] * (width - len(row))]
        has_any = not all(map(is_blank, cells)) or any(each is not None for each in formulas)
        if has_any and (left_out := self.table.left_out(number, cells)):
            return left_out
        for each in merged:
            if self._hides(each, cells):
                one = "column" if each.top == each.bottom else "row"
                return f"found a merged cell {each.cells}; wanted a value in each {one}"
        if any(
            cell is None and formula is not None and column is not None
            for cell, formula, column in zip(cells, formulas, self.columns, strict=False)
        ):
            return _EMPTY
        if all(map(is_blank, cells)):
            return ()
        if not all(map(is_blank, cells[width:])):
            return "found a cell to the right of the last header"
        if any(isinstance(cell, str) and len(cell) > MOST_CELL for cell in cells):
            return TOO_LONG
        return self.table.fault(cells) or self._as_shown(row, cells[:width])

    def _hides(self, merged: Merged, cells: Sequence[Cell]) -> bool:
        """True if merged cells show a value where the library reads blanks, in a used column."""
        inside = slice(merged.left - 1, merged.right)
        if merged.right <= len(self.columns) and not any(self.columns[inside]):
            return False
        return merged.top < merged.bottom or not all(map(is_blank, cells[inside]))

    def _as_shown(self, row: Sequence[Any], cells: list[Cell]) -> Sequence[Cell] | str:
        """The cells, with a number that is shown as 7 % as the text `7 %`; or the reason to refuse.

        The sheet holds it as 0.07, which under a header with `[%]` would be read as 0.07 %.
        """
        for index, column, is_share in self.quantities:
            value = cells[index]
            if isinstance(value, bool) or not isinstance(value, int | float):
                continue
            code = row[index].number_format
            if shows_unit(code):
                unit = f", as {column.unit}" if column.unit else ""
                found = f"found a number shown as {quoted(code)}"
                return f"{found}; wanted it without a unit of its own{unit}"
            if is_share and shows_share(code):
                cells[index] = f"{value * 100:.12g} %"
        return cells


def _cell(cell: Any) -> Cell:
    """The value of a cell; times and durations become text, which is refused later."""
    value = cell.value
    if value is None:
        # The library returns None for a formula whose result is an empty text.
        return "" if cell.data_type == "str" else None
    if isinstance(value, str | int | float | date):
        return value.date() if isinstance(value, datetime) else value
    return str(value)
