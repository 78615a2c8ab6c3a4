"""A log gives the same rows in every form; faults of a form are refused with their row."""

import json
import math
import re
import sys
import zipfile
from collections.abc import Callable
from datetime import date, datetime, time
from pathlib import Path
from typing import Any

import openpyxl
import pyarrow
import pyarrow.parquet
import pytest

from checker.documents.problems import ProblemsFoundError
from checker.logs.decode import FigureDecoder
from checker.logs.model import PART_ROWS, Batch, Cell, LogMapping, Refused
from checker.logs.opening import FORMS, open_log
from tests.season.one_by_one import settled

HEADERS = ["load", "date", "articles.1.weight [lb]", "walkaround.chains_crossed", "trip.places"]
ROWS: list[list[Any]] = [
    ["sxs", date(2026, 7, 2), 1500.5, True, ["US-UT", "US-AZ"]],
    ["mower", date(2026, 7, 3), None, None, None],
]
"""Hauls as a program would hold them; each writer below puts them down as its form does."""


def as_csv(file: Path) -> None:
    file.write_text(
        ",".join(HEADERS) + '\nsxs,2026-07-02,1500.5,yes,"[US-UT, US-AZ]"\n\nmower,2026-07-03, ,,\n'
    )


def as_json_lines(file: Path) -> None:
    nested = {
        "load": "sxs",
        "date": "2026-07-02",
        "articles": [{"weight [lb]": 1500.5}],
        "walkaround": {"chains_crossed": True},
        "trip": {"places": ["US-UT", "US-AZ"]},
    }
    file.write_text(f'{json.dumps(nested)}\n\n{{"load": "mower", "date": "2026-07-03"}}\n')


def as_workbook(file: Path) -> None:
    book = openpyxl.Workbook()
    sheet: Any = book.active
    sheet.append(HEADERS)
    sheet.append([*ROWS[0][:4], "US-UT; US-AZ"])
    sheet.append([])
    sheet.append(["mower", datetime(2026, 7, 3, 6, 30)])
    book.save(file)


def as_parquet(file: Path) -> None:
    columns = [list(column) for column in zip(*ROWS, strict=True)]
    table = pyarrow.table(dict(zip(HEADERS, columns, strict=True)))
    pyarrow.parquet.write_table(table, file)


WRITERS: dict[str, tuple[Callable[[Path], None], list[int]]] = {
    ".csv": (as_csv, [2, 4]),
    ".jsonl": (as_json_lines, [1, 3]),
    ".ndjson": (as_json_lines, [1, 3]),
    ".xlsx": (as_workbook, [2, 4]),
    ".parquet": (as_parquet, [1, 2]),
}


def only_batch(file: Path) -> Batch:
    (batch,) = settled(open_log(file))
    return batch


def refused(file: Path) -> list[tuple[int, str]]:
    return [(each.row, each.reason) for batch in settled(open_log(file)) for each in batch.refused]


def test_every_form_has_a_writer_here() -> None:
    assert {*WRITERS, ".yaml", ".yml"} == set(FORMS)


@pytest.mark.parametrize("suffix", WRITERS)
def test_a_log_reads_alike_in_every_form(tmp_path: Path, suffix: str) -> None:
    write, numbers = WRITERS[suffix]
    file = tmp_path / f"season{suffix}"
    write(file)
    batch = only_batch(file)
    assert list(batch.numbers) == numbers
    assert not batch.refused
    by_field = {column.field: column for column in batch.columns}
    assert by_field["articles.1.weight"].unit == "lb"
    assert list(batch.cells["load"]) == ["sxs", "mower"]
    assert list(batch.cells["date"]) == [date(2026, 7, 2), date(2026, 7, 3)]
    weight, blank = batch.cells["articles.1.weight"]
    assert float(str(weight)) == 1500.5
    assert blank is None
    answer: list[Cell] = ["yes" if suffix == ".csv" else True, None]
    assert list(batch.cells["walkaround.chains_crossed"]) == answer
    places, no_places = batch.cells["trip.places"]
    assert re.findall("US-..", str(places)) == ["US-UT", "US-AZ"]
    assert no_places is None


@pytest.mark.parametrize("suffix", WRITERS)
def test_a_file_that_is_none_of_its_form_is_told(tmp_path: Path, suffix: str) -> None:
    file = tmp_path / f"season{suffix}"
    file.write_bytes(b"\xff\xfe\x00nothing of the kind")
    if suffix in (".jsonl", ".ndjson"):  # a line is a row, and rows are refused
        assert refused(file) == [(1, "found a line that is no UTF-8 text")]
        return
    with pytest.raises(ProblemsFoundError, match="found a file that is no"):
        list(settled(open_log(file)))


@pytest.mark.parametrize("suffix", [".csv", ".jsonl", ".xlsx", ".parquet"])
def test_a_file_that_is_not_there_is_told(tmp_path: Path, suffix: str) -> None:
    with pytest.raises(ProblemsFoundError, match="found a file that"):
        open_log(tmp_path / f"none{suffix}")


def test_another_form_is_told_with_those_there_are(tmp_path: Path) -> None:
    with pytest.raises(ProblemsFoundError, match=r"'\.csvx'; wanted a folder.*mean 'season\.csv'"):
        open_log(tmp_path / "season.csvx")


def test_an_optional_library_that_is_missing_is_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for module, extra, suffix in (("openpyxl", "xlsx", ".xlsx"), ("pyarrow", "arrow", ".parquet")):
        file = tmp_path / f"season{suffix}"
        WRITERS[suffix][0](file)
        with monkeypatch.context() as patch:
            patch.setitem(sys.modules, module, None)
            patch.delitem(sys.modules, f"{module}.parquet", raising=False)
            with pytest.raises(ProblemsFoundError, match=rf"pip install 'cinchbook\[{extra}\]'"):
                open_log(file)


def test_rows_of_csv_that_are_no_rows(tmp_path: Path) -> None:
    file = tmp_path / "season.csv"
    file.write_bytes(
        b"\xef\xbb\xbfload,date,crew\r\n"
        b'a,2026-07-02,"two\nlines"\r\n'  # begins on line 2
        b'a,2026-07-02,"north"crew\r\n'  # 4
        b"a,2026-07-02\r\n"
        b"a,2026-07-02,b,c\r\n"
        b",2026-07-02,b\r\n"
        b"a,,b\r\n"
        b"a,20260702,b\r\n"
        b"a,2026-07-03,b\r\n"
    )
    batch = only_batch(file)
    assert list(batch.numbers) == [2, 10]
    assert batch.cells["crew"] == ["two\nlines", "b"]
    assert [each.row for each in batch.refused] == [4, 5, 6, 7, 8, 9]
    said = [each.reason for each in batch.refused]
    assert said[0].startswith("found a row that is no CSV")
    assert said[1:] == [
        "found more or fewer cells than columns: 2; wanted 3",
        "found more or fewer cells than columns: 4; wanted 3",
        "found no load; wanted the name of a load profile",
        "found nothing in date; wanted a day such as 2026-05-14",
        "found '20260702' in date; wanted a day such as 2026-05-14",
    ]


def problems(file: Path, content: bytes) -> list[str]:
    """What is wrong with a log as a whole, without its folder."""
    file.write_bytes(content)
    with pytest.raises(ProblemsFoundError) as told:
        list(settled(open_log(file)))
    return str(told.value).replace(f"{file.parent}/", "").splitlines()


@pytest.mark.parametrize(
    ("header", "line", "parted"),
    [
        ("load;date;crew", 1, "';'"),
        ("load\tdate\tcrew", 1, "tabs"),
        ('"load";"date"', 1, "';'"),
        ("\n,,\nload;date", 3, "';'"),
    ],
)
def test_columns_parted_otherwise_than_by_commas_are_told_once(
    tmp_path: Path, header: str, line: int, parted: str
) -> None:
    said = problems(tmp_path / "a.csv", f"{header}\na;2026-07-02;1,5\n".encode())
    word = {"';'": "semicolon", "tabs": "tab"}[parted]
    wanted = f"commas, or `separator: {word}` in a mapping file"
    assert said == [f"a.csv:{line}:1: found columns parted by {parted}; wanted {wanted}"]


@pytest.mark.parametrize("more", [0, 1, 70_000])
@pytest.mark.parametrize(
    ("text", "place"),
    [
        ('load,date,crew\na,2026-07-02,b\na,2026-07-02,"b\n', "3:14"),
        ('load,date,crew\r\na,2026-07-02,b\r\na,"2026-07-02,b\r\n', "3:3"),
        ('load,date,crew\na,2026-07-02,"b"\n\na,2026-07-02,"b ""x""\n', "4:14"),
        ('load,date,crew\n"a\n,",2026-07-02,"b\n', "3:15"),
        ('load,date,"crew\n', "1:11"),
        ('load,date,crew\n"a,2026-07-02,b\nc,2026-07-02,"b"\n', "2:1"),
    ],
)
def test_a_quote_that_is_not_closed_is_told_where_it_opens(
    tmp_path: Path, text: str, place: str, more: int
) -> None:
    said = problems(tmp_path / "a.csv", (text + "c,2026-07-02,d\n" * more).encode())
    wanted = "another at the end of its cell"
    assert said == [f"a.csv:{place}: found a quote that is not closed; wanted {wanted}"]


def test_a_header_that_is_no_csv_is_told(tmp_path: Path) -> None:
    (said,) = problems(tmp_path / "a.csv", b'\nload,"date"s\na,2026-07-02\n')
    assert re.fullmatch(r"a.csv:2:1: found a header that is no CSV \(.*\); wanted .* commas", said)


@pytest.mark.parametrize("quotes", ["", '"'])
@pytest.mark.parametrize("marks", [b"", b"\xef\xbb\xbf"])
def test_text_that_is_not_utf_8_is_told_where_it_stops_being_that(
    tmp_path: Path, marks: bytes, quotes: str
) -> None:
    rows = f"a,2026-07-02,{quotes}é{quotes}\n" * 1000
    text = marks + f"load,date,crew\n{rows}".encode() + b"a,2026-07-02,\xc3\xa9\xe9\n"
    said = "found a file that is no CSV text (the byte 0xe9 here); wanted UTF-8 text, or "
    said += "`encoding: windows-1252` or `encoding: utf-16` in a mapping file"
    assert problems(tmp_path / "a.csv", text) == [f"a.csv:1002:15: {said}"]
    assert problems(tmp_path / "a.csv", marks + b"load,\xe9\n") == [f"a.csv:1:6: {said}"]
    (said,) = problems(tmp_path / "a.csv", "load,date\na,2026-07-02\n".encode("utf-16"))
    assert said.startswith("a.csv:1:1: found a file that is no CSV text (the byte 0xff here)")


@pytest.mark.parametrize("quotes", ["", '"'])
def test_blank_rows_of_csv_are_passed_over_as_empty_lines_are(tmp_path: Path, quotes: str) -> None:
    file = tmp_path / "season.csv"
    file.write_text(
        ",,,\n\nload,date,crew\n,,\na,2026-07-02,b\n\n , ,\t\n,,,,\n   \n"
        f"{quotes}c{quotes},2026-07-03,\n,,\n"
    )
    batch = only_batch(file)
    assert list(batch.numbers) == [5, 10]
    assert batch.cells["load"] == ["a", "c"]
    assert not batch.refused


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ('{"load": "a"', "found a line that is no JSON"),
        ('\ufeff{"load": "a"}', "found a line that is no JSON (Unexpected UTF-8 BOM"),
        ("[1]", "found a line that is no JSON object"),
        ('{"load": "a", "load": "b"}', "found 'load' twice"),
        ('{"trip": {"speed": "4 mph"}, "trip.speed": "5 mph"}', "found trip.speed twice"),
        ('{"trip.sped": "4 mph"}', "did you mean 'trip.speed'?"),
        ('{"articles.1.weight [lb]": NaN}', "found NaN; wanted a number, or null"),
        ('{"crew": ' + "9" * 5000 + "}", "found a line that is no haul"),
        ("[" * 100_000, "found a line that is no haul"),
        ('{"crew": "' + "x" * 1_048_576 + '"}', "found a line of more than 1,048,576 bytes"),
        ('{"a":' * 20 + "1" + "}" * 20, "found very deep nesting"),
        ('{"trip.speed [mph]": 45}', "found 'trip.speed [mph]'; wanted 'trip.speed', as in"),
    ],
)
def test_lines_of_json_that_are_no_rows(tmp_path: Path, line: str, said: str) -> None:
    good = '{"load": "a", "date": "2026-07-02", "trip.speed": "45 mph"}'
    file = tmp_path / "season.jsonl"
    file.write_text(f"\ufeff{good}\n{line}\n{good}\n")
    batch = only_batch(file)
    assert list(batch.numbers) == [1, 3]
    (bad,) = batch.refused
    assert bad.row == 2
    assert said in bad.reason


def test_rows_of_a_sheet_that_are_no_rows(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    sheet: Any = book.active
    sheet.append(["load", "date", "trip.speed [mph]"])
    sheet.append(["a", date(2026, 7, 2), "=40+5"])  # saved by a program that works nothing out
    sheet.append(["a", date(2026, 7, 2), 45, "beside"])
    sheet.append(["a", 46205, 45])  # a day as the bare number the sheet holds it by
    sheet.append(["a", date(2026, 7, 2), time(4, 5)])
    book.save(tmp_path / "season.xlsx")
    batch = only_batch(tmp_path / "season.xlsx")
    assert list(batch.numbers) == [5]
    assert batch.cells["trip.speed"] == ["04:05:00"]
    assert batch.refused == [
        Refused(
            2, "found a formula without a saved result; open the file, let it work out, save it"
        ),
        Refused(3, "found a cell to the right of the last header"),
        Refused(4, "found '46205' in date; wanted a day such as 2026-05-14"),
    ]


def test_a_formula_counts_by_its_saved_result(tmp_path: Path) -> None:
    # What a spreadsheet program saves: formula and result side by side in the cell.
    file, saved = tmp_path / "season.xlsx", tmp_path / "saved.xlsx"
    book = openpyxl.Workbook()
    sheet: Any = book.active
    sheet.append(["load", "date", "trip.speed [mph]"])
    sheet.append(["a", "2026-07-02", "=40+5"])
    book.save(file)
    with zipfile.ZipFile(file) as before, zipfile.ZipFile(saved, "w") as after:
        for name in before.namelist():
            content = before.read(name)
            after.writestr(name, re.sub(rb"<v ?/>|<v></v>", b"<v>45</v>", content))
    batch = only_batch(saved)
    assert batch.cells["trip.speed"] == [45]
    assert not batch.refused


def test_a_share_counts_as_the_sheet_shows_it(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    sheet: Any = book.active
    sheet.append(["load", "date", "trip.steepest_grade [%]"])
    sheet.append(["a", date(2026, 7, 2), 0.07])
    sheet["C2"].number_format = "0%"
    sheet.append(["a", date(2026, 7, 2), 7])
    book.save(tmp_path / "season.xlsx")
    batch = only_batch(tmp_path / "season.xlsx")
    grade = FigureDecoder(next(each for each in batch.columns if each.unit == "%"), {})
    assert grade(batch.cells["trip.steepest_grade"]).values.tolist() == [0.07, 0.07]


def test_rows_that_a_sheet_leaves_out_are_counted(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    sheet: Any = book.active
    sheet.append(["load", "date", "Remarks"])
    sheet["A7"], sheet["B7"], sheet["C7"] = "a", date(2026, 7, 2), "=1+1"
    book.save(tmp_path / "season.xlsx")
    mapping = LogMapping(ignored=frozenset({"Remarks"}))
    (batch,) = settled(open_log(tmp_path / "season.xlsx", mapping))
    assert list(batch.numbers) == [7]


def of_columns(file: Path, **columns: Any) -> Path:
    """Three rows in Parquet with the same load and day but for what is given."""
    table = {"load": ["a", "b", "c"], "date": [date(2026, 7, 2)] * 3} | columns
    pyarrow.parquet.write_table(pyarrow.table(table), file)
    return file


NOON = 1_782_993_600_000_000_000  # 2026-07-02 12:00 in nanoseconds since 1970
ENDS = pyarrow.array([0, 1, 3, 4], pyarrow.int32()).buffers()[1]
CUT = pyarrow.Array.from_buffers(
    pyarrow.string(), 3, [None, ENDS, pyarrow.py_buffer(b"n\xff\xfes")]
)
"""The texts n, one of two bytes that are no UTF-8, and s."""


def test_nan_is_no_blank_in_any_form(tmp_path: Path) -> None:
    weights = pyarrow.array([1500.5, math.nan, None], from_pandas=False)
    file = of_columns(tmp_path / "season.parquet", **{"articles.1.weight [lb]": weights})
    batch = only_batch(file)
    assert batch.cells["articles.1.weight"] == [1500.5, None]
    (of_parquet,) = batch.refused
    (tmp_path / "season.jsonl").write_text('{"articles.1.weight [lb]": NaN}\n')
    assert (of_parquet.row, of_parquet.reason) == (
        2,
        "articles.1.weight: " + refused(tmp_path / "season.jsonl")[0][1],
    )


@pytest.mark.parametrize(
    ("name", "cells", "said"),
    [
        ("date", pyarrow.array([NOON, NOON + 1, NOON], pyarrow.timestamp("ns")), "Nanosecond"),
        ("date", pyarrow.array([20_636, 2**30, 20_636], pyarrow.date32()), "days=1073741824"),
        ("crew", CUT, "'utf-8' codec can't decode byte 0xff in position 0"),
    ],
)
def test_a_row_of_parquet_with_a_value_that_cannot_be_read_is_refused(
    tmp_path: Path, name: str, cells: Any, said: str
) -> None:
    batch = only_batch(of_columns(tmp_path / "season.parquet", **{name: cells}))
    assert list(batch.numbers) == [1, 3]
    assert batch.cells["load"] == ["a", "c"]
    assert batch.cells["date"] == [date(2026, 7, 2)] * 2
    assert batch.cells.get("crew", ["n", "s"]) == ["n", "s"]
    (bad,) = batch.refused
    assert bad.row == 2
    assert bad.reason.startswith(f"{name}: found a value that cannot be read ({said}")
    assert bad.reason.endswith("); wanted a text, a number or a day")


def test_a_time_zone_that_nobody_knows_is_a_problem_of_the_file(tmp_path: Path) -> None:
    days = {
        zone: pyarrow.array([NOON // 10**9] * 3, pyarrow.timestamp("s", tz=zone))
        for zone in ("Nowhere/City", "+02:00")
    }
    wrong = of_columns(tmp_path / "wrong.parquet", date=days["Nowhere/City"])
    with pytest.raises(ProblemsFoundError, match=r":1:2: found the time zone 'Nowhere/City'; wan"):
        open_log(wrong)
    right = of_columns(
        tmp_path / "right.parquet", date=days["+02:00"], Remarks=days["Nowhere/City"]
    )
    (batch,) = settled(open_log(right, LogMapping(ignored=frozenset({"Remarks"}))))
    assert batch.cells["date"] == [date(2026, 7, 2)] * 3


def test_batches_are_of_a_bounded_size_and_count_refused_rows(tmp_path: Path) -> None:
    file = tmp_path / "season.csv"
    rows = ["a,2026-07-02\n" if number % 3 else "a\n" for number in range(PART_ROWS + 5)]
    file.write_text("load,date\n" + "".join(rows))
    sizes = [len(batch.numbers) + len(batch.refused) for batch in settled(open_log(file))]
    assert sum(sizes) == PART_ROWS + 5
    assert max(sizes) <= PART_ROWS
