"""Haul logs in a sheet of an XLSX workbook, headers in its first row.

Formulas count by the result that was saved with them. One saved without a result would look like
a blank, which means something else here, so its row is refused.
"""

import re
import zipfile
import zlib
from collections.abc import Iterable, Iterator, Sequence
from contextlib import ExitStack
from datetime import date, datetime
from itertools import compress, repeat
from pathlib import Path
from typing import Any, Final

from checker.documents.problems import Mark, Problem, ProblemsFoundError, tamed
from checker.season.logs.collecting import in_parts
from checker.season.logs.columns import columns_of, node_of
from checker.season.logs.extras import needed
from checker.season.logs.model import BATCH_ROWS, Batch, Cell, Column, Log, OwnWords, Refused, Role
from checker.season.logs.workbook import headers, opened, sheet_of_hauls

_CHUNK: Final = 1 << 20
_FORMULA: Final = re.compile(rb"<(?:\w+:)?f[ />]")
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
    batches = _told(path, own)
    # Runs up to the header, so that whoever opens a log hears of it at once.
    assert next(batches) is None
    rows = (batch for batch in batches if batch is not None)
    # How many rows a sheet has is known once it is read to its end.
    return Log(str(path), in_parts(rows, lambda: 0, 0), None, own)


def _told(path: Path, own: OwnWords) -> Iterator[Batch | None]:
    """Nothing once the header is read, then the rows; what is broken is a problem of the file."""
    openpyxl = needed("openpyxl", "xlsx", path)
    try:
        with ExitStack() as books:
            yield from _read(path, own, openpyxl, books)
    except _BROKEN as error:
        found = f"a file that is no XLSX workbook ({tamed(str(error))})"
        problem = Problem(str(path), Mark(1, 1), found, "a workbook with a sheet")
        raise ProblemsFoundError([problem]) from error


def _read(path: Path, own: OwnWords, openpyxl: Any, books: ExitStack) -> Iterator[Batch | None]:
    sheet = sheet_of_hauls(opened(openpyxl, path, books, results=True), str(path), own)
    texts = headers(sheet)
    marks = [Mark(1, place) for place in range(1, len(texts) + 1)]
    columns = columns_of(str(path), texts, marks, own)
    yield None
    rows = _rows(sheet, shares=any(map(_is_share, columns)))
    formulas: Iterable[Sequence[Any]] = repeat(())
    if _has_formulas(path):
        same = opened(openpyxl, path, books, results=False)[sheet.title]
        formulas = _rows(same, shares=False)
    yield from _batches(zip(rows, formulas, strict=False), columns)


def _is_share(column: Column | None) -> bool:
    if column is None or column.role is not Role.QUANTITY:
        return False
    return bool(node_of(column.field)["quantity"] == "ratio")


def _rows(sheet: Any, *, shares: bool) -> Iterator[Sequence[Any]]:
    """The rows below the first; with `shares`, what is shown as 7 % is given as that text.

    A sheet holds it as 0.07, which under a header with `[%]` would count as 0.07 %.
    """
    rows: Iterator[Sequence[Any]] = sheet.iter_rows(min_row=2, values_only=not shares)
    return ([_as_shown(cell) for cell in row] for row in rows) if shares else rows


def _as_shown(cell: Any) -> Any:
    value = cell.value
    if type(value) in (int, float) and "%" in cell.number_format:
        return f"{value * 100:.12g} %"
    return value


def _has_formulas(path: Path) -> bool:
    """Whether any sheet has a formula: then all is read twice, once for them."""
    with zipfile.ZipFile(path) as parts:
        for name in parts.namelist():
            if not name.startswith("xl/worksheets/"):
                continue
            end = b""
            with parts.open(name) as part:
                while chunk := part.read(_CHUNK):
                    if _FORMULA.search(end + chunk):
                        return True
                    end = chunk[-64:]
    return False


def _batches(
    pairs: Iterator[tuple[Sequence[Any], Sequence[Any]]], columns: Sequence[Column | None]
) -> Iterator[Batch]:
    width = len(columns)
    used = [column for column in columns if column is not None]
    numbers: list[int] = []
    rows: list[Sequence[Cell]] = []
    refused: list[Refused] = []

    def batch() -> Batch:
        turned = list(zip(*rows, strict=True)) if rows else [()] * width
        kept = compress(turned, columns)
        cells = {column.field: list(cells) for column, cells in zip(used, kept, strict=True)}
        return Batch(used, numbers, cells, refused)

    for number, (row, formulas) in enumerate(pairs, start=2):
        cells = (*map(_cell, row), *[None] * (width - len(row)))
        if any(
            cell is None and formula is not None and column is not None
            for cell, formula, column in zip(cells, formulas, columns, strict=False)
        ):
            refused.append(Refused(number, _EMPTY))
        elif all(cell is None for cell in cells):
            continue
        elif any(cell is not None for cell in cells[width:]):
            refused.append(Refused(number, "found a cell to the right of the last header"))
        else:
            rows.append(cells[:width])
            numbers.append(number)
        if len(rows) + len(refused) == BATCH_ROWS:
            yield batch()
            numbers, rows, refused = [], [], []
    if rows or refused:
        yield batch()


def _cell(value: Any) -> Cell:
    """A value of the sheet; times and spans of time are none of ours and are refused as text."""
    if value is None or isinstance(value, str | int | float | date):
        return value.date() if isinstance(value, datetime) else value
    return str(value)
