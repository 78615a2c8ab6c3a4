"""Parts with only refused or blank rows do not affect other rows of the log."""

import json
from collections.abc import Callable
from pathlib import Path

import openpyxl
import pyarrow
import pyarrow.parquet
import pytest

from checker.logs import csv_log, excel, parquet_groups, yaml_folder
from checker.logs.model import LogMapping
from checker.logs.opening import FORMS, open_log
from checker.season.hauls.reading import ParsedPart, read_part

ROWS = 4
"""Rows of a batch in these tests: so many are good, then so many refused, then so many good."""
GOOD = ("sxs", "2026-07-02", "H7")


@pytest.fixture(autouse=True)
def small_batches(monkeypatch: pytest.MonkeyPatch) -> None:
    for module in (csv_log, excel, parquet_groups):
        monkeypatch.setattr(module, "PART_ROWS", ROWS)
    monkeypatch.setattr("checker.logs.json_lines.PART_ROWS", ROWS)
    monkeypatch.setattr(yaml_folder, "FILES_OF_A_PART", ROWS)


def csv_lines(file: Path, *, bad: int, good: int) -> None:
    # A cell in quotes sends the text through the csv module, which makes batches of rows.
    row = '"sxs",2026-07-02,H7\n'
    file.write_text("load,date,haul\n" + row * good + "sxs,2026-07-02\n" * bad + row * good)


def json_lines(file: Path, *, bad: int, good: int) -> None:
    row = json.dumps(dict(zip(("load", "date", "haul"), GOOD, strict=True))) + "\n"
    file.write_text(row * good + '{"haul": "H7", "haul": "H8"}\n' * bad + row * good)


def workbook(file: Path, *, bad: int, good: int) -> None:
    book = openpyxl.Workbook()
    sheet = book.worksheets[0]
    rows = [GOOD] * good + [(*GOOD, "beyond the headers")] * bad + [GOOD] * good
    for row in [("load", "date", "haul"), *rows]:
        sheet.append(row)
    book.save(file)


def table(file: Path, *, bad: int, good: int) -> None:
    # A count of microseconds that is no day of the calendar.
    never = 2**62
    times = [1_780_000_000_000_000] * good + [never] * bad + [1_780_000_000_000_000] * good
    columns = {
        "load": ["sxs"] * len(times),
        "date": pyarrow.array(times, type=pyarrow.timestamp("us")),
        "haul": ["H7"] * len(times),
    }
    pyarrow.parquet.write_table(pyarrow.table(columns), file)


def folder(file: Path, *, bad: int, good: int) -> None:
    file.mkdir()
    for number in range(2 * good + bad):
        is_bad = good <= number < good + bad
        text = "kind: haul\nload: sxs\n" + ("" if is_bad else "date: 2026-07-02\n")
        (file / f"{number:03}.yaml").write_text(text)


WRITERS: dict[str, Callable[..., None]] = {
    "csv": csv_lines,
    "jsonl": json_lines,
    "xlsx": workbook,
    "parquet": table,
    "folder.yaml": folder,
}


def test_every_form_has_a_writer_here() -> None:
    same = {".ndjson": ".jsonl", ".yml": ".yaml"}
    assert {f".{name.rpartition('.')[2]}" for name in WRITERS} == {
        same.get(suffix, suffix) for suffix in FORMS
    }


def sheets(file: Path) -> list[ParsedPart]:
    return [read_part(part, LogMapping()) for part in open_log(file).parts]


@pytest.mark.parametrize("form", WRITERS)
@pytest.mark.parametrize("good", [ROWS, 0])
def test_a_batch_of_refused_rows_takes_no_others_with_it(
    form: str, good: int, tmp_path: Path
) -> None:
    file = tmp_path / f"season.{form}"
    WRITERS[form](file, bad=2 * ROWS, good=good)
    read = sheets(file)
    assert sum(len(sheet.hauls) for sheet in read) == 2 * good
    assert sum(len(sheet.refused) for sheet in read) == 2 * ROWS
    assert sum(sheet.read for sheet in read) == 2 * good + 2 * ROWS
    # The haul of every row that was not refused keeps its name.
    rows = [row for sheet in read for row in sheet.hauls.rows.tolist()]
    assert set(rows) <= {row for sheet in read for row in sheet.names}


@pytest.mark.parametrize("form", [form for form in WRITERS if form != "folder.yaml"])
def test_a_log_without_a_row_is_read(form: str, tmp_path: Path) -> None:
    file = tmp_path / f"season.{form}"
    WRITERS[form](file, bad=0, good=0)
    assert [(sheet.read, len(sheet.hauls)) for sheet in sheets(file)] in ([], [(0, 0)])
