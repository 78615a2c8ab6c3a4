"""Haul logs in a sheet of an XLSX workbook, headers in its first row.

A blank means something here, so a row is refused where a cell merely looks blank to the library:
in a formula that was saved without a result, and below or beside the first of merged cells. Other
formulas count by the result that was saved with them.
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
from checker.season.logs.columns import columns_of, node_of
from checker.season.logs.extras import needed
from checker.season.logs.limits import MOST_CELL, MOST_COLUMNS, TOO_LONG
from checker.season.logs.model import (
    PART_ROWS,
    Batch,
    Cell,
    Column,
    Log,
    OwnWords,
    ReadRows,
    Refused,
    Role,
    batch_of_rows,
)
from checker.season.logs.number_formats import shows_share, shows_unit
from checker.season.logs.sheet_part import Merged
from checker.season.logs.workbook import headers, opened, part_of, sheet_of_hauls

_Row: TypeAlias = tuple[Sequence[Any], Sequence[Any], Sequence[Merged]]
"""The cells of a row, its formulas where the sheet has any, and the merged ranges that cover it."""

# What the libraries raise for parts that are missing, cut short, packed otherwise or no XML.
_BROKEN: Final = (
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


def read(path: Path, own: OwnWords) -> Log:
    """The log in a workbook; raises ProblemsFoundError where its first row is no header."""
    batches = _batches_of_file(path, own)
    # Runs up to the header, so that a wrong header is reported when the log is opened.
    assert next(batches) is None
    # How many rows a sheet has is known once it is read to its end.
    return Log(str(path), (ReadRows(batch) for batch in batches if batch), None, own)


def _batches_of_file(path: Path, own: OwnWords) -> Iterator[Batch | None]:
    """None once the header is read, then the rows; what is broken is a problem of the file."""
    openpyxl = needed("openpyxl", "xlsx", path)
    try:
        with ExitStack() as books:
            yield from _read(path, own, openpyxl, books)
    except _BROKEN as error:
        found = f"a file that is no XLSX workbook ({shorten(str(error))})"
        problem = Problem(str(path), Mark(1, 1), found, "a workbook with a sheet")
        raise ProblemsFoundError([problem]) from error


def _read(path: Path, own: OwnWords, openpyxl: Any, books: ExitStack) -> Iterator[Batch | None]:
    reader = opened(openpyxl, path, books, results=True)
    sheet = sheet_of_hauls(reader, str(path), own)
    texts, found = headers(sheet), part_of(reader, sheet)
    merged = found.rows()
    _refuse_merged(str(path), texts, next(merged))
    marks = [Mark(1, place) for place in range(1, len(texts) + 1)]
    columns = columns_of(str(path), texts, marks, own)
    yield None
    formulas: Iterable[Sequence[Any]] = repeat(())
    if found.has_formulas:
        same = opened(openpyxl, path, books, results=False).wb[sheet.title]
        formulas = same.iter_rows(min_row=2, values_only=True)
    rows = zip(sheet.iter_rows(min_row=2), formulas, merged, strict=False)
    numbered = enumerate(rows, start=2)
    while some := list(islice(numbered, PART_ROWS)):
        yield _batch(some, columns)


def _refuse_merged(file: str, texts: Sequence[str], merged: Sequence[Merged]) -> None:
    problems = [
        Problem(file, Mark(1, each.left), f"a merged cell {each.cells}", "a header in each column")
        for each in merged
        if each.bottom > 1 or any(texts[each.left - 1 : each.right])
    ]
    if problems:
        raise ProblemsFoundError(problems)


def _batch(rows: Sequence[tuple[int, _Row]], columns: Sequence[Column | None]) -> Batch:
    numbers: list[int] = []
    taken: list[Sequence[Cell]] = []
    refused: list[Refused] = []
    read_row = _RowReader(columns)
    for number, row in rows:
        cells = read_row(*row)
        if isinstance(cells, str):
            refused.append(Refused(number, cells))
        elif cells:
            taken.append(cells)
            numbers.append(number)
    return batch_of_rows(columns, numbers, taken, refused)


class _RowReader:
    """Reads rows below the header one by one."""

    def __init__(self, columns: Sequence[Column | None]) -> None:
        self.columns = columns
        self.quantities = [
            (place, column, node_of(column.field)["quantity"] == "ratio")
            for place, column in enumerate(columns)
            if column is not None and column.role is Role.QUANTITY
        ]

    def __call__(
        self, row: Sequence[Any], formulas: Sequence[Any], merged: Sequence[Merged]
    ) -> Sequence[Cell] | str:
        """A cell for each column, none for a blank row; or a text that says why it is refused."""
        if len(row) > MOST_COLUMNS:
            return f"found a cell in column {len(row):,}; wanted at most {MOST_COLUMNS:,} columns"
        width = len(self.columns)
        cells = [*map(_cell, row), *[None] * (width - len(row))]
        for each in merged:
            if self._hides(each, cells):
                one = "column" if each.top == each.bottom else "row"
                return f"found a merged cell {each.cells}; wanted a value in each {one}"
        if any(
            cell is None and formula is not None and column is not None
            for cell, formula, column in zip(cells, formulas, self.columns, strict=False)
        ):
            return _EMPTY
        if all(map(_is_blank, cells)):
            return ()
        if not all(map(_is_blank, cells[width:])):
            return "found a cell to the right of the last header"
        if any(isinstance(cell, str) and len(cell) > MOST_CELL for cell in cells):
            return TOO_LONG
        return self._as_shown(row, cells[:width])

    def _hides(self, merged: Merged, cells: Sequence[Cell]) -> bool:
        """Whether people see a value in cells that look blank here, in a column that counts."""
        inside = slice(merged.left - 1, merged.right)
        if merged.right <= len(self.columns) and not any(self.columns[inside]):
            return False
        return merged.top < merged.bottom or not all(map(_is_blank, cells[inside]))

    def _as_shown(self, row: Sequence[Any], cells: list[Cell]) -> Sequence[Cell] | str:
        """The cells, with what is shown as 7 % as that text.

        A sheet holds it as 0.07, which under a header with `[%]` would count as 0.07 %.
        """
        for place, column, is_share in self.quantities:
            value = cells[place]
            if isinstance(value, bool) or not isinstance(value, int | float):
                continue
            code = row[place].number_format
            if shows_unit(code):
                unit = f", as {column.unit}" if column.unit else ""
                found = f"found a number shown as {quoted(code)}"
                return f"{found}; wanted it without a unit of its own{unit}"
            if is_share and shows_share(code):
                cells[place] = f"{value * 100:.12g} %"
        return cells


def _cell(cell: Any) -> Cell:
    """A value of the sheet; times and spans of time are none of ours and are refused as text."""
    value = cell.value
    if value is None:
        # The result of a formula may be a text of no letters, which the library gives as nothing.
        return "" if cell.data_type == "str" else None
    if isinstance(value, str | int | float | date):
        return value.date() if isinstance(value, datetime) else value
    return str(value)


def _is_blank(cell: Cell) -> bool:
    return cell is None or cell == ""
