"""Opens a workbook and selects its sheet: the first visible one, the only one with hauls."""

import warnings
from collections.abc import Sequence
from contextlib import ExitStack
from pathlib import Path
from typing import Any

from checker.documents.problems import Mark, Problem, ProblemsFoundError, listed, quoted
from checker.logs.columns import WANTED, ColumnError, mapped_column
from checker.logs.model import LogMapping
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


def sheet_of_hauls(reader: Any, file: str, mapping: LogMapping) -> Any:
    """The sheet to read; raises ProblemsFoundError if other sheets have hauls too."""
    seen = [sheet for sheet in reader.wb.worksheets if sheet.sheet_state == "visible"]
    if not seen:
        raise _problem(file, "no sheet that is visible", "the hauls in one")
    with_hauls = [quoted(sheet.title) for sheet in seen if _has_hauls(headers(sheet), mapping)]
    if len(with_hauls) > 1:
        found = f"{listed(with_hauls[:-1])} and {with_hauls[-1]}"
        wanted = "all hauls in one sheet, or in files of their own"
        raise _problem(file, f"headers of hauls in the sheets {found}", wanted)
    return seen[0]


def part_of(reader: Any, sheet: Any) -> SheetPart:
    """The formulas and merged ranges of a sheet that is being read."""
    names = {each.name: relation.target for each, relation in reader.parser.find_sheets()}
    part: SheetPart = reader.archive.found[names[sheet.title]]
    return part


def headers(sheet: Any) -> Sequence[str]:
    """The texts of the first row, without blanks at the end."""
    cells = next(sheet.iter_rows(max_row=1, values_only=True), ())
    texts = ["" if cell is None else str(cell).strip() for cell in cells]
    while texts and not texts[-1]:
        texts.pop()
    return texts


def _has_hauls(texts: Sequence[str], mapping: LogMapping) -> bool:
    return all(any(_is(text, role, mapping) for text in texts) for role in WANTED)


def _is(header: str, field: str, mapping: LogMapping) -> bool:
    try:
        column = mapped_column(header, mapping)
    except ColumnError:
        return False
    return column is not None and column.field == field


def _problem(file: str, found: str, wanted: str) -> ProblemsFoundError:
    return ProblemsFoundError([Problem(file, Mark(1, 1), found, wanted)])
