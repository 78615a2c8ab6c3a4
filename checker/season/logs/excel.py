"""Haul logs in the first sheet of an XLSX workbook, headers in its first row.

Formulas count by the result that was saved with them. One saved without a result would look like
a blank, which means something else here, so its row is refused.
"""

import re
import warnings
import zipfile
import zlib
from collections.abc import Iterable, Iterator, Sequence
from datetime import date, datetime
from itertools import compress, repeat
from pathlib import Path
from typing import Any, Final

from checker.documents.problems import Mark, Problem, ProblemsFoundError, tamed
from checker.season.logs.columns import columns_of
from checker.season.logs.extras import needed
from checker.season.logs.model import BATCH_ROWS, Batch, Cell, Column, Log, OwnWords, Refused

_CHUNK: Final = 1 << 20
_FORMULA: Final = re.compile(rb"<(?:\w+:)?f[ />]")
# What the library raises for parts that are missing, cut short or no XML.
_BROKEN: Final = (
    OSError,
    EOFError,
    KeyError,
    ValueError,
    IndexError,
    TypeError,
    SyntaxError,
    zipfile.BadZipFile,
    zlib.error,
)
_EMPTY: Final = "found a formula without a saved result; open the file, let it work out, save it"


def read(path: Path, own: OwnWords) -> Log:
    """The log in a workbook; raises ProblemsFoundError where its first row is no header."""
    openpyxl = needed("openpyxl", "xlsx", path)
    try:
        book = _opened(openpyxl, path, results=True)
        texts = _opened(openpyxl, path, results=False) if _has_formulas(path) else None
        rows = _rows(book)
        formulas: Iterable[Sequence[Any]] = _rows(texts) if texts else repeat(())
        headers = _headers(next(rows, ()))
    except _BROKEN as error:
        raise _no_workbook(path, error) from error
    below = formulas if texts is None else _after_first(formulas)
    pairs = _told(path, zip(rows, below, strict=False))
    marks = [Mark(1, place) for place in range(1, len(headers) + 1)]
    columns = columns_of(str(path), headers, marks, own)
    return Log(str(path), _batches(pairs, columns))


def _no_workbook(path: Path, error: Exception) -> ProblemsFoundError:
    found = f"a file that is no XLSX workbook ({tamed(str(error))})"
    return ProblemsFoundError([Problem(str(path), Mark(1, 1), found, "a workbook with a sheet")])


def _told(
    path: Path, pairs: Iterator[tuple[Sequence[Any], Sequence[Any]]]
) -> Iterator[tuple[Sequence[Any], Sequence[Any]]]:
    """The same, with what is broken on the way told as a problem of the file."""
    try:
        yield from pairs
    except _BROKEN as error:
        raise _no_workbook(path, error) from error


def _opened(openpyxl: Any, path: Path, *, results: bool) -> Any:
    with warnings.catch_warnings():
        # It warns of styles and extensions it leaves out, none of which a log needs.
        warnings.simplefilter("ignore")
        return openpyxl.load_workbook(path, read_only=True, data_only=results)


def _rows(book: Any) -> Iterator[Sequence[Any]]:
    sheet = book.worksheets[0]
    # Some programs save a wrong size of the sheet, and rows beyond it would be lost.
    sheet.reset_dimensions()
    rows: Iterator[Sequence[Any]] = sheet.iter_rows(values_only=True)
    return rows


def _after_first(rows: Iterable[Sequence[Any]]) -> Iterator[Sequence[Any]]:
    below = iter(rows)
    next(below, None)
    return below


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


def _headers(cells: Sequence[Any]) -> list[str]:
    texts = ["" if cell is None else str(cell).strip() for cell in cells]
    while texts and not texts[-1]:
        texts.pop()
    return texts


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
        if _without_result(cells, formulas):
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


def _without_result(cells: Sequence[Cell], formulas: Sequence[Any]) -> bool:
    pairs = zip(cells, formulas, strict=False)
    return any(cell is None and formula is not None for cell, formula in pairs)
