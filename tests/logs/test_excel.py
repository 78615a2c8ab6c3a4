"""Sheets as people see them: merged cells, hidden sheets, numbers shown with units."""

import re
import zipfile
from collections.abc import Iterator, Sequence
from datetime import date
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from checker.documents.problems import ProblemsFoundError
from checker.logs import workbook_parts
from checker.logs.model import Batch, Column, LogMapping, Refused, Role
from checker.logs.number_formats import shows_share, shows_unit
from checker.logs.opening import open_log
from tests.season.one_by_one import settled

HEADERS = ["load", "date", "crew", "walkaround.chains_crossed"]
DAY = date(2026, 7, 2)


@pytest.fixture
def file(tmp_path: Path) -> Path:
    return tmp_path / "season.xlsx"


def with_rows(sheet: Any, rows: Sequence[Sequence[Any]], headers: Sequence[str] = HEADERS) -> None:
    for row in (headers, *rows):
        sheet.append(row)


def only_batch(file: Path, mapping: LogMapping | None = None) -> Batch:
    (batch,) = settled(open_log(file, mapping))
    return batch


def refusals(batch: Batch) -> Iterator[tuple[int, str]]:
    return ((each.row, each.reason) for each in batch.refused)


def test_rows_that_share_a_merged_cell_are_refused(file: Path) -> None:
    book = openpyxl.Workbook()
    sheet: Any = book.active
    with_rows(sheet, [["a", DAY, "north", "no"] for _ in range(5)])
    sheet.merge_cells("D3:D5")
    book.save(file)
    batch = only_batch(file)
    assert list(batch.numbers) == [2, 6]
    said = "found a merged cell D3:D5; wanted a value in each row"
    assert batch.refused == [Refused(row, said) for row in (3, 4, 5)]


def test_a_cell_merged_over_columns_is_refused_unless_it_is_blank(file: Path) -> None:
    book = openpyxl.Workbook()
    sheet: Any = book.active
    with_rows(sheet, [["a", DAY], ["a", DAY, "no"], ["a", DAY], ["a", DAY]])
    sheet.merge_cells("C2:D2")
    sheet.merge_cells("C4:D5")  # blank, but nobody can tell which row it is about
    sheet.merge_cells("C3:D3")  # merged out of order
    book.save(file)
    batch = only_batch(file)
    assert list(batch.numbers) == [2]
    assert list(refusals(batch)) == [
        (3, "found a merged cell C3:D3; wanted a value in each column"),
        (4, "found a merged cell C4:D5; wanted a value in each row"),
        (5, "found a merged cell C4:D5; wanted a value in each row"),
    ]


def test_cells_merged_in_columns_that_are_let_be_do_not_matter(file: Path) -> None:
    book = openpyxl.Workbook()
    sheet: Any = book.active
    with_rows(sheet, [["a", DAY, "week 27"], ["a", DAY]], ["load", "date", "Week"])
    sheet.merge_cells("C2:C3")
    book.save(file)
    batch = only_batch(file, LogMapping(ignored=frozenset({"Week"})))
    assert list(batch.numbers) == [2, 3]
    assert not batch.refused


@pytest.mark.parametrize("cells", ["C1:D1", "A1:A2"])
def test_a_merged_header_is_a_problem_of_the_file(file: Path, cells: str) -> None:
    book = openpyxl.Workbook()
    sheet: Any = book.active
    with_rows(sheet, [["a", DAY]])
    sheet.merge_cells(cells)
    book.save(file)
    said = f"found a merged cell {cells}; wanted a header in each column"
    with pytest.raises(ProblemsFoundError, match=said):
        open_log(file)


@pytest.mark.parametrize("size", [100, 307, 4096])
def test_merged_cells_are_found_wherever_the_sheet_is_cut(
    file: Path, size: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    book = openpyxl.Workbook()
    sheet: Any = book.active
    with_rows(sheet, [["a", DAY, "=1+1"]] * 40)
    for row in range(2, 40, 3):
        sheet.merge_cells(start_row=row, end_row=row + 1, start_column=27, end_column=28)
    book.save(file)
    monkeypatch.setattr(workbook_parts, "_CHUNK", size)
    name = "xl/worksheets/sheet1.xml"
    with file.open("rb") as raw, workbook_parts.WorkbookParts(raw, file) as parts:
        parts.open(name).close()
        found = parts.found[name]
    assert found.has_formulas
    expected = [[f"AA{row}:AB{row + 1}"] for row in range(2, 40, 3) for _ in range(2)]
    covered = [
        [each.cells for each in merged] for _, merged in zip(range(40), found.rows(), strict=False)
    ]
    assert [each for each in covered if each] == expected
    assert [row for row, each in enumerate(covered, start=1) if not each] == [1, *range(4, 41, 3)]


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


def test_merged_cells_are_those_of_the_sheet_that_is_read(file: Path) -> None:
    book = openpyxl.Workbook()
    first: Any = book.active
    first.merge_cells("A1:D4")
    first.sheet_state = "hidden"
    with_rows(book.create_sheet("Season"), [["seen", DAY]])
    book.active = 1
    book.save(file)
    assert list(only_batch(file).cells["load"]) == ["seen"]


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
    mapping = LogMapping(columns={"Trailer": Column("Trailer", "load", Role.LOAD)})
    said = (
        "found headers of hauls in the sheets 'June' and 'August'; "
        "wanted all hauls in one sheet, or `sheet:` in a mapping file"
    )
    with pytest.raises(ProblemsFoundError, match=said):
        open_log(file, mapping)


def rewritten(old: Path, new: Path, part: str, found: bytes, replacement: bytes) -> None:
    """Another workbook, as another program would have saved it."""
    with zipfile.ZipFile(old) as before, zipfile.ZipFile(new, "w") as after:
        for name in before.namelist():
            content = before.read(name)
            changed = re.sub(found, replacement, content)
            assert name != part or changed != content
            after.writestr(name, changed if name == part else content)


def test_a_formula_with_an_empty_result_is_a_blank_cell(file: Path) -> None:
    whole = file.with_name("whole.xlsx")
    book = openpyxl.Workbook()
    sheet: Any = book.active
    with_rows(sheet, [["a", DAY, '=IF(1=1,"","x")'], ["a", DAY, "north", "=1+1"]])
    sheet["A4"], sheet["D4"] = '=IF(1=1,"","x")', '=IF(1=1,"","x")'  # nothing but blanks
    sheet["A5"], sheet["B5"], sheet["F5"] = "a", DAY, '=IF(1=1,"","x")'  # right of the headers
    book.save(whole)
    found = rb"<c r=\"(\w+)\"( t=\"str\")?><f>(IF[^<]*)</f><v ?/?>(?:</v>)?</c>"
    saved = rb'<c r="\1" t="str"><f>\3</f><v></v></c>'
    rewritten(whole, file, "xl/worksheets/sheet1.xml", found, saved)
    batch = only_batch(file)
    assert list(batch.numbers) == [2, 5]
    assert batch.cells["crew"] == [None, None]
    assert [each.row for each in batch.refused] == [3]


def test_a_number_shown_with_a_unit_is_refused(file: Path) -> None:
    book = openpyxl.Workbook()
    sheet: Any = book.active
    headers = ["load", "date", "articles.1.weight [lb]", "tow_vehicle.seats", "crew"]
    with_rows(sheet, [["a", DAY, 680, 2, 4] for _ in range(4)], headers)
    sheet["C3"].number_format = '0" kg"'
    sheet["D4"].number_format = '0 "seats"'
    sheet["C5"].number_format = '"$"#,##0.00_);[Red]("$"#,##0.00)'
    sheet["E5"].number_format = '"crew "0'
    book.save(file)
    batch = only_batch(file)
    assert list(batch.numbers) == [2, 5]
    assert list(refusals(batch)) == [
        (3, "found a number shown as '0\" kg\"'; wanted it without a unit of its own, as lb"),
        (4, "found a number shown as '0 \"seats\"'; wanted it without a unit of its own"),
    ]


@pytest.mark.parametrize(
    ("code", "unit"),
    [
        ("General", False),
        ("#,##0.00", False),
        ("##0.0E+0", False),
        ("0%", False),
        ('"$"#,##0.00_);[Red]("$"#,##0.00)', False),
        ("[$EUR ]#,##0.00_-", False),
        ('_(* #,##0_);_(* \\(#,##0\\);_(* "-"_);_(@_)', False),
        ("0_k", False),
        ('0" kg"', True),
        ("0\\ \\k\\g", True),
        ("0 kg", True),
        ('General" lb"', True),
        ('0;0" t"', True),
        ("0\\'", True),
        ("0'", True),
        ('0\\"', True),
        ('0"°"', True),
        ('0"%"', True),
    ],
)
def test_formats_that_show_a_unit(code: str, unit: bool) -> None:
    assert shows_unit(code) is unit
    assert shows_share(code) is (code == "0%")


def test_a_share_in_quotes_is_refused(file: Path) -> None:
    book = openpyxl.Workbook()
    sheet: Any = book.active
    with_rows(sheet, [["a", DAY, 7]], ["load", "date", "trip.steepest_grade [%]"])
    sheet["C2"].number_format = '0"%"'  # shown as 7%, which the sheet holds as 7
    book.save(file)
    assert [each.row for each in only_batch(file).refused] == [2]
