"""Sheets as people see them: sheets out of sight."""

import re
import zipfile
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from checker.documents.problems import ProblemsFoundError
from checker.season.logs.model import Batch, Column, OwnWords, Role
from checker.season.logs.opening import open_log
from checker.season.logs.settling import settled

HEADERS = ["load", "date", "crew", "walkaround.chains_crossed"]
DAY = date(2026, 7, 2)


@pytest.fixture
def file(tmp_path: Path) -> Path:
    return tmp_path / "season.xlsx"


def with_rows(sheet: Any, rows: Sequence[Sequence[Any]], headers: Sequence[str] = HEADERS) -> None:
    for row in (headers, *rows):
        sheet.append(row)


def only_batch(file: Path, own: OwnWords | None = None) -> Batch:
    (batch,) = settled(open_log(file, own))
    return batch


def test_a_sheet_that_is_out_of_sight_is_no_log(file: Path) -> None:
    book = openpyxl.Workbook()
    first: Any = book.active
    with_rows(first, [["hidden", DAY]])
    first.sheet_state = "hidden"
    with_rows(book.create_sheet("Season"), [["seen", DAY, "=1+1"], ["seen", DAY]])
    very: Any = book.create_sheet("Lists")
    with_rows(very, [["hidden", DAY]])
    very.sheet_state = "veryHidden"
    book.active = 1
    book.save(file)
    batch = only_batch(file)
    assert list(batch.cells["load"]) == ["seen"]
    assert [each.row for each in batch.refused] == [2]  # the formulas are those of the same sheet


def test_a_workbook_without_a_sheet_in_sight_is_told(file: Path) -> None:
    whole = file.with_name("whole.xlsx")
    book = openpyxl.Workbook()
    with_rows(book.active, [["a", DAY]])
    book.save(whole)
    rewritten(whole, file, "xl/workbook.xml", rb'state="visible"', b'state="hidden"')
    said = "found no sheet that is visible; wanted the hauls in one"
    with pytest.raises(ProblemsFoundError, match=said):
        open_log(file)


def test_hauls_in_two_sheets_are_told(file: Path) -> None:
    book = openpyxl.Workbook()
    june: Any = book.active
    june.title = "June"
    with_rows(june, [["a", DAY]])
    with_rows(book.create_sheet("Notes"), [["Gate 4 is shut"]], ["What", "date"])
    with_rows(book.create_sheet("August"), [["a", DAY]], ["Trailer", "date", "anything"])
    book.save(file)
    assert list(only_batch(file).cells["load"]) == ["a"]
    own = OwnWords(columns={"Trailer": Column("Trailer", "load", Role.LOAD)})
    said = (
        "found headers of hauls in the sheets 'June' and 'August'; "
        "wanted all hauls in one sheet, or in files of their own"
    )
    with pytest.raises(ProblemsFoundError, match=said):
        open_log(file, own)


def rewritten(old: Path, new: Path, part: str, found: bytes, replacement: bytes) -> None:
    """Another workbook, as another program would have saved it."""
    with zipfile.ZipFile(old) as before, zipfile.ZipFile(new, "w") as after:
        for name in before.namelist():
            content = before.read(name)
            changed = re.sub(found, replacement, content)
            assert name != part or changed != content
            after.writestr(name, changed if name == part else content)
