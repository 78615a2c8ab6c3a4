"""A log that would fill the memory is refused with a message, before it is read."""

import io
import json
import zipfile
from pathlib import Path

import openpyxl
import pyarrow
import pyarrow.parquet
import pytest

from checker.documents.problems import ProblemsFoundError
from checker.logs import limits
from checker.logs.model import LogMapping
from checker.logs.opening import open_log
from checker.season.hauls.reading import read_part
from tests.season.one_by_one import settled

NAMESPACE = 'xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"'
SHEET = "xl/worksheets/sheet1.xml"
HEADER = (
    '<row r="1"><c r="A1" t="inlineStr"><is><t>load</t></is></c>'
    '<c r="B1" t="inlineStr"><is><t>date</t></is></c></row>'
)
TEXT = '<c r="A2" t="inlineStr"><is><t>{}</t></is></c>'


def sheet(rows: str, *, before: str = "", after: str = "") -> str:
    data = f"<sheetData>{HEADER}{rows}</sheetData>"
    return f'<?xml version="1.0"?>{before}<worksheet {NAMESPACE}>{data}{after}</worksheet>'


def entities() -> str:
    """Eight entities, each thirty times the one before: thirty to the eighth letters."""
    each = (
        f'<!ENTITY {name} "{f"&{inner};" * 30}">'
        for inner, name in zip("abcdefg", "bcdefgh", strict=True)
    )
    return f'<!DOCTYPE x [<!ENTITY a "aa">{"".join(each)}]>'


STRINGS = f"<sst {NAMESPACE}>{{}}</sst>"
BOMBS = {
    "rows": ({SHEET: sheet("<row/>" * 60_000)}, "at most 50,000 rows or texts"),
    "cells of a row": ({SHEET: sheet(f"<row>{'<c/>' * 20_000}</row>")}, "16,384 in a row"),
    "outside of rows": ({SHEET: sheet("<x/>" * 1_500_000)}, "4,194,304 bytes that are no rows"),
    "one cell": ({SHEET: sheet(f"<row>{TEXT.format('a' * 2_000_000)}</row>")}, "letters in a cell"),
    "far cell": ({SHEET: sheet('<row r="2"><c r="XFD2"/></row>')}, "702 columns, up to ZZ"),
    "merged cells": (
        {SHEET: sheet("", after='<mergeCell ref="A1:B1048576"/>' * 200_000)},
        "4,194,304 bytes that are no rows",
    ),
    "merged over each other": (
        {SHEET: sheet("<row/>" * 3, after='<mergeCell ref="A1:B1048576"/>' * 1_000)},
        "more than 702 merged ranges over row 1",
    ),
    "entities": (
        {SHEET: sheet(f"<row>{TEXT.format('&h;')}</row>", before=entities())},
        "no plain XML in UTF-8",
    ),
    "another encoding": ({SHEET: sheet("").encode("utf-16")}, "no plain XML in UTF-8"),
    "a row that comes late": (
        {SHEET: sheet('<row r="5"></row><row r="3"></row>')},
        "found row 3 behind row 5",
    ),
    "a row past all": (
        {SHEET: sheet('<row r="99999999999999999999"></row>')},
        "found a row numbered '99999999999999'.*wanted rows from 1 to 50,000",
    ),
    "a row just past all": ({SHEET: sheet("<row r='50001'></row>")}, "a row numbered '50001'"),
    "a row without a number": ({SHEET: sheet('<row r="1e9"></row>')}, "a row numbered '1e9'"),
    "texts": ({"xl/sharedStrings.xml": STRINGS.format("<si/>" * 60_000)}, "rows or texts"),
    "formats": (
        {"xl/styles.xml": f"<styleSheet {NAMESPACE}>{'<xf/>' * 300_000}</styleSheet>"},
        "200,000 tags beside sheets and texts",
    ),
    "sheets": (
        {"xl/workbook.xml": f"<workbook {NAMESPACE}>{'<sheet />' * 300}</workbook>"},
        "at most 250 sheets",
    ),
}


def workbook(file: Path, parts: dict[str, str | bytes]) -> None:
    """A sound workbook with some of its parts in place of its own."""
    plain = io.BytesIO()
    book = openpyxl.Workbook()
    book.worksheets[0].append(["load", "date"])
    book.save(plain)
    texts = "application/vnd.openxmlformats-officedocument.spreadsheetml.sharedStrings+xml"
    listed = f'<Override PartName="/xl/sharedStrings.xml" ContentType="{texts}"/></Types>'
    with zipfile.ZipFile(plain) as old, zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            content: str | bytes = parts.get(name, old.read(name))
            if name == "[Content_Types].xml" and "xl/sharedStrings.xml" in parts:
                content = old.read(name).decode().replace("</Types>", listed)
            new.writestr(name, content)
        for name in parts.keys() - set(old.namelist()):
            new.writestr(name, parts[name])


@pytest.mark.parametrize(("parts", "said"), BOMBS.values(), ids=BOMBS)
def test_a_workbook_that_unpacks_to_too_much_is_refused(
    parts: dict[str, str | bytes], said: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("checker.logs.workbook_parts.MOST_SHEET_ROWS", 50_000)
    file = tmp_path / "season.xlsx"
    workbook(file, parts)
    assert file.stat().st_size < 100_000
    with pytest.raises(ProblemsFoundError, match=said):
        list(settled(open_log(file)))


def test_sizes_beside_sheets_are_bounded(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("checker.logs.workbook_parts.MOST_OTHER_BYTES", 3_000)
    file = tmp_path / "season.xlsx"
    workbook(file, {})
    with pytest.raises(ProblemsFoundError, match="at most 3,000 bytes beside sheets and texts"):
        open_log(file)


def test_a_sheet_larger_than_any_season_is_not_unpacked(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("checker.logs.workbook_parts.MOST_SHEET_BYTES", 5_000)
    file = tmp_path / "season.xlsx"
    workbook(file, {SHEET: sheet("<row></row>" * 1_000)})
    with pytest.raises(ProblemsFoundError, match="at most 5,000 bytes unpacked"):
        open_log(file)


ROW = limits.MOST_ROW_BYTES
LINE = b"a,2026-05-14," + b"x" * 70 + b"\n"


@pytest.mark.parametrize(
    ("text", "place", "said"),
    [
        (b"l" * 3 * ROW, "1:1", "a row of more than 1,048,576 bytes"),
        (b"load,date\na,2026-05-14\n" + b"l" * 5 * ROW, "3:1", "a row of more than"),
        (b"load,date,crew\n" + LINE * 40_000 + b"l" * 2 * ROW, "40002:1", "a row of more than"),
        (b'load,date\n"' + b'a","\n' * ROW, "2:1", "a row of more than 1,048,576 bytes"),
        (b"load,date" + b",x" * 1_000, "1:1411", "1,002 columns; wanted at most 702"),
    ],
    ids=["header", "line", "line far below", "row over many lines", "columns"],
)
def test_a_csv_without_line_ends_or_of_very_many_columns_is_refused(
    text: bytes, place: str, said: str, tmp_path: Path
) -> None:
    file = tmp_path / "season.csv"
    file.write_bytes(text)
    with pytest.raises(ProblemsFoundError, match=rf"season.csv:{place}: found .*{said}"):
        list(settled(open_log(file)))


def test_rows_that_state_very_many_fields_between_them_are_refused(tmp_path: Path) -> None:
    file = tmp_path / "season.jsonl"
    rows = [
        {"load": "a", "date": "2026-05-14", f"articles.{n}.weight": "1 lb"} for n in range(1, 900)
    ]
    file.write_text("".join(f"{json.dumps(row)}\n" for row in [*rows, rows[0], rows[-1]]))
    (part,) = open_log(file).parts
    read = read_part(part, LogMapping())
    # Beside load and date; the first row states a field that is there already.
    assert len(read.hauls.heading.figures) == limits.MOST_FIELDS - 2 == 298
    assert (len(read.hauls), len(read.refused)) == (299, 602)
    assert read.refused[0].reason == (
        "found one field more, 'articles.299.weight'; wanted at most 300 fields in the rows "
        "of one part"
    )


def table(file: Path, **columns: object) -> None:
    whole = {"load": ["a"] * 4, "date": ["2026-05-14"] * 4, **columns}
    pyarrow.parquet.write_table(pyarrow.table(whole), file, compression="zstd")


@pytest.mark.parametrize("nested", [False, True])
def test_a_long_text_that_stands_in_many_rows_is_refused(nested: bool, tmp_path: Path) -> None:
    file = tmp_path / "season.parquet"
    long = "a" * 200_000
    table(file, haul=[[long]] * 4 if nested else [long] * 4)
    with pytest.raises(ProblemsFoundError, match=r"a text in the column 'haul.*131,072 letters"):
        list(settled(open_log(file)))


def test_texts_that_are_long_are_read_a_few_rows_at_a_time(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("checker.logs.parquet_groups._PART_TEXT", 25)
    file = tmp_path / "season.parquet"
    table(file, haul=["ten letter"] * 4)
    assert [part.size for part in open_log(file).parts] == [2, 2]


def test_a_column_that_unpacks_to_too_much_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("checker.logs.parquet_groups.MOST_GROUP_BYTES", 10_000)
    file = tmp_path / "season.parquet"
    table(file, haul=["b" * 20_000, "", "", ""])
    with pytest.raises(ProblemsFoundError, match="'haul' of row group 1, which is very large"):
        list(settled(open_log(file)))


def test_lists_without_an_end_are_refused(tmp_path: Path) -> None:
    file = tmp_path / "season.parquet"
    table(file, haul=[["x"] * 1_000] * 4)
    with pytest.raises(ProblemsFoundError, match="at most 50 entries in a list"):
        list(settled(open_log(file)))


def test_a_table_of_very_many_columns_is_refused(tmp_path: Path) -> None:
    file = tmp_path / "season.parquet"
    table(file, **{f"c{number}": [1] * 4 for number in range(800)})
    with pytest.raises(ProblemsFoundError, match="802 columns; wanted at most 702"):
        open_log(file)


def test_the_bounds_in_the_documentation_are_those_of_the_program() -> None:
    text = (Path(__file__).parents[2] / "profiles" / "README.md").read_text()
    section = text.partition("### How large a log may be")[2].partition("### ")[0]
    bounds = [value for name, value in vars(limits).items() if name.startswith("MOST_")]
    assert len(bounds) == 10
    for bound in bounds:
        assert f"{bound:,}" in section
