"""Opens a workbook and selects its sheet: the one that the mapping file names.

Without one it is the first visible sheet, which must be the only one with hauls.
"""

import warnings
from collections.abc import Sequence
from contextlib import ExitStack
from pathlib import Path
from typing import Any

from checker.documents.problems import (
    Mark,
    Problem,
    ProblemsFoundError,
    listed,
    quoted,
    suggestion_for,
)
from checker.logs.columns import WANTED, ColumnError, header_text, mapped_column
from checker.logs.header import Header, find_header
from checker.logs.model import LogMapping, MappingNeededError
from checker.logs.opening import open_log_file
from checker.logs.sheet_part import SheetPart
from checker.logs.workbook_parts import WorkbookParts


def open_workbook(openpyxl: Any, path: Path, books: ExitStack, *, results: bool) -> Any:
    """The library's reader of a workbook, with the `results` of formulas or with the formulas.

    It returns the reader, not the workbook, because only the reader has a public name for the part
    of the file that holds a sheet.
    """
    file = books.enter_context(open_log_file(path, "a workbook with a sheet"))
    with warnings.catch_warnings():
        # The library warns about styles and extensions that it ignores; a log needs none of them.
        warnings.simplefilter("ignore")
        reader = openpyxl.reader.excel.ExcelReader(
            file, read_only=True, data_only=results, keep_links=False
        )
        reader.archive = WorkbookParts(file, path)
        reader.read()
    for sheet in reader.wb.worksheets:
        # Some programs save a wrong size of the sheet, and rows beyond it would not be read.
        sheet.reset_dimensions()
    return reader


def sheet_of_hauls(reader: Any, file: str, mapping: LogMapping) -> tuple[Any, Header]:
    """The sheet to read and its headers.

    Raises ProblemsFoundError if other sheets have hauls too and the mapping file names none, if it
    names one that is not there, or if the sheet lacks the row of its headers.
    """
    if mapping.layout.sheet is not None:
        named = _sheet_named(reader, file, mapping.layout.sheet)
        return named, headers(named, file, mapping)
    seen = _visible(reader, file)
    with_hauls = [quoted(sheet.title) for sheet in seen if _has_hauls(sheet, file, mapping)]
    if len(with_hauls) > 1:
        found = f"{listed(with_hauls[:-1])} and {with_hauls[-1]}"
        wanted = "all hauls in one sheet, or `sheet:` in a mapping file"
        problem = Problem(file, Mark(1, 1), f"headers of hauls in the sheets {found}", wanted)
        raise MappingNeededError([problem])
    return seen[0], headers(seen[0], file, mapping)


def _visible(reader: Any, file: str) -> list[Any]:
    seen = [sheet for sheet in reader.wb.worksheets if sheet.sheet_state == "visible"]
    if not seen:
        raise _problem(file, "no sheet that is visible", "the hauls in one")
    return seen


def _sheet_named(reader: Any, file: str, name: str | int) -> Any:
    """The sheet of a name, or at a position from 1 among the visible ones."""
    if isinstance(name, int):
        seen = _visible(reader, file)
        if name <= len(seen):
            return seen[name - 1]
        names = listed(quoted(each.title) for each in seen)
        raise _problem(file, f"no sheet {name} of those that are visible", f"one of {names}")
    sheets = {each.title: each for each in reader.wb.worksheets}
    if name in sheets:
        return sheets[name]
    raise _problem(
        file,
        f"no sheet {quoted(name)}",
        f"one of {listed(map(quoted, sheets))}",
        suggestion_for(name, sheets, []),
    )


def part_of(reader: Any, sheet: Any) -> SheetPart:
    """The formulas and merged ranges of a sheet that is being read."""
    names = {each.name: relation.target for each, relation in reader.parser.find_sheets()}
    part: SheetPart = reader.archive.found[names[sheet.title]]
    return part


def headers(sheet: Any, file: str, mapping: LogMapping) -> Header:
    """The headers of a sheet, without blanks at the end; those of its first row by default.

    Raises ProblemsFoundError if the row is not there.
    """
    if mapping.layout.header_row is None:
        first = next(sheet.iter_rows(max_row=1, values_only=True), ())
        return Header(1, _texts(first))
    rows = enumerate(map(_texts, sheet.iter_rows(values_only=True)), start=1)
    return find_header(file, rows, mapping)


def row_texts(sheet: Any, row: int) -> Sequence[str]:
    """The texts of a row, without blanks at the end."""
    return _texts(next(sheet.iter_rows(min_row=row, max_row=row, values_only=True), ()))


def _texts(cells: Sequence[Any]) -> Sequence[str]:
    texts = ["" if cell is None else header_text(str(cell)) for cell in cells]
    while texts and not texts[-1]:
        texts.pop()
    return texts


def _has_hauls(sheet: Any, file: str, mapping: LogMapping) -> bool:
    try:
        texts = headers(sheet, file, mapping).texts
    except ProblemsFoundError:
        return False
    return all(any(_is(text, role, mapping) for text in texts) for role in WANTED)


def _is(header: str, field: str, mapping: LogMapping) -> bool:
    try:
        column = mapped_column(header, mapping)
    except ColumnError:
        return False
    return column is not None and column.field == field


def _problem(
    file: str, found: str, wanted: str, suggestion: str | None = None
) -> ProblemsFoundError:
    return ProblemsFoundError([Problem(file, Mark(1, 1), found, wanted, suggestion)])
