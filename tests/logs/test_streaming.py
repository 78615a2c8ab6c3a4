"""Logs of any length: memory use does not grow with them, and no row is lost."""

import csv
import io
import json
import os
import subprocess
import sys
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any
from zipfile import ZIP_DEFLATED, ZipFile

import numpy as np
import openpyxl
import pyarrow
import pyarrow.parquet
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from checker.logs import csv_log
from checker.logs.opening import open_log
from tests.season.one_by_one import settled

HEADERS = ["load", "date", "articles.1.weight [lb]", "walkaround.chains_crossed", "trip.speed"]

MOST_OF_PARQUET = 400_000

STATUS = Path("/proc/self/status")

# glibc keeps freed blocks smaller than a limit that it raises as it runs, some 2 MB more or less by
# chance. With a fixed limit it gives them back, and what remains is what the program holds.
FIXED_LIMIT = {"MALLOC_MMAP_THRESHOLD_": str(1 << 16)}

# For each log of one form, smallest first: the rows that a fresh process came upon, and the most
# memory that it held at the end of a batch, in kB. What getrusage tells would count what its parent
# held as well.
PROGRAM = """
import re, sys
from pathlib import Path
from checker.logs.opening import open_log
for log in sys.argv[1:]:
    rows = most = 0
    for part in open_log(Path(log)).parts:
        batch = part.read()
        rows += len(batch.numbers) + len(batch.refused)
        status = Path("/proc/self/status").read_text()
        most = max(most, int(re.search(r"VmRSS:\\s*([0-9]+)", status)[1]))
    print(rows, most)
"""

# One row of each form. Cells of the sheet hold their texts themselves: one as openpyxl writes it,
# which takes twenty times as long; the others plain, as that is read in half the time.
JSON = ", ".join(f'"{header}": "%s"' for header in HEADERS)
TEXT, PLAIN = '<c t="inlineStr"><is><t>%s</t></is></c>', '<c t="str"><v>%s</v></c>'
SHEET_ROW = f"<row>{PLAIN}{PLAIN}<c><v>%s</v></c>{TEXT}{PLAIN}</row>"


def cells(number: int) -> tuple[str, ...]:
    """What a row states, by its number."""
    return (f"load {number % 50}", "2026-07-02", f"{number / 7:.4f}", "yes", f"{number % 60} mph")


def lines(form: str, count: int) -> str:
    return "".join([form % cells(number) for number in range(count)])


def write(file: Path, count: int) -> None:
    match file.suffix:
        case ".csv":
            head = ",".join(HEADERS) + "\n"
            file.write_text(head + lines("%s,%s,%s,%s,%s\n", count))
        case ".jsonl":
            file.write_text(lines(f"{{{JSON}}}\n", count))
        case ".xlsx":
            write_sheet(file, count)
        case _:
            pyarrow.parquet.write_table(columns()[:count], file, row_group_size=count)


def write_sheet(file: Path, count: int) -> None:
    """A workbook with the header, and then all rows in place of the first one."""
    book = openpyxl.Workbook(write_only=True)
    sheet: Any = book.create_sheet()
    sheet.append(HEADERS)
    empty = file.with_name("header.xlsx")
    book.save(empty)
    with ZipFile(empty) as parts, ZipFile(file, "w", ZIP_DEFLATED, compresslevel=1) as filled:
        for name in parts.namelist():
            text = parts.read(name).decode()
            if name == "xl/worksheets/sheet1.xml":
                text = text.replace("</sheetData>", f"{lines(SHEET_ROW, count)}</sheetData>")
            filled.writestr(name, text)


@cache
def columns() -> Any:
    """The table of the most rows that a Parquet file has here: the same cells.

    All but the weights come again after as many rows as loads, and as speeds, go into.
    """
    again = np.arange(MOST_OF_PARQUET) % 300
    some = zip(*map(cells, range(300)), strict=True)
    found = {
        header: pyarrow.array(texts).take(again)
        for header, texts in zip(HEADERS, some, strict=True)
    }
    found[HEADERS[2]] = [f"{number / 7:.4f}" for number in range(MOST_OF_PARQUET)]
    return pyarrow.table(found)


@pytest.mark.skipif(not STATUS.exists(), reason="peak memory is read where Linux tells it")
@pytest.mark.parametrize(
    ("suffix", "few", "many"),
    [
        (".csv", 20_000, 200_000),
        (".jsonl", 20_000, 200_000),
        (".parquet", 200_000, MOST_OF_PARQUET),
        # A part of a sheet is 4,096 rows, and the memory for it is reached before 9,000.
        (".xlsx", 9_000, 27_000),
    ],
)
def test_memory_does_not_grow_with_the_log(
    tmp_path: Path, suffix: str, few: int, many: int
) -> None:
    logs = [tmp_path / f"{count}{suffix}" for count in (few, many)]
    for log, count in zip(logs, (few, many), strict=True):
        write(log, count)
    done = subprocess.run(
        [sys.executable, "-c", PROGRAM, *map(str, logs)],
        env=os.environ | FIXED_LIMIT,
        capture_output=True,
        text=True,
        check=True,
    )
    found = [map(int, line.split()) for line in done.stdout.splitlines()]
    read, kilobytes = zip(*found, strict=True)
    assert read == (few, many)
    small, large = (each / 1024 for each in kilobytes)
    # Held whole, 180,000 rows of five texts are more than 50 MB, and 18,000 of a sheet more than 8.
    # A column of Parquet keeps up to 1 MB of distinct texts, which is reached late.
    assert large - small < (5 if suffix == ".xlsx" else 12), (small, large)


CELLS = st.one_of(
    st.just(""),
    st.just(" "),
    st.just("2026-07-02"),
    st.text(st.characters(exclude_categories=["Cs"], exclude_characters='"\r\n\0'), max_size=6),
)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(st.lists(st.lists(CELLS, max_size=5), max_size=30))
def test_rows_of_csv_given_out_and_refused_add_up(tmp_path: Path, table: list[list[str]]) -> None:
    text = io.StringIO()
    csv.writer(text, lineterminator="\n").writerows(table)
    file = tmp_path / "season.csv"
    file.write_text("load,date,crew\n" + text.getvalue(), encoding="utf-8", newline="")
    batches = list(settled(open_log(file)))
    seen = [row for batch in batches for row in batch.numbers]
    seen += [each.row for batch in batches for each in batch.refused]
    told = [any(cell.strip() for cell in row) for row in table]
    assert sorted(seen) == [line for line, says in enumerate(told, start=2) if says]


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(
    st.lists(
        st.one_of(
            st.binary(max_size=20).map(lambda junk: junk.replace(b"\n", b" ")),
            st.fixed_dictionaries(
                {"load": CELLS, "date": st.just("2026-07-02")},
                optional={"crew": CELLS, "trip.speed": st.none() | st.integers(), "junk": CELLS},
            ).map(lambda row: json.dumps(row).encode()),
        ),
        max_size=30,
    )
)
def test_lines_of_json_given_out_and_refused_add_up(tmp_path: Path, lines: list[bytes]) -> None:
    file = tmp_path / "season.jsonl"
    file.write_bytes(b"\n".join(lines))
    batches = list(settled(open_log(file)))
    seen = [row for batch in batches for row in batch.numbers]
    seen += [each.row for batch in batches for each in batch.refused]
    mark = b"\xef\xbb\xbf"
    stripped = [line.removeprefix(mark) if at == 0 else line for at, line in enumerate(lines)]
    assert sorted(seen) == [at for at, line in enumerate(stripped, start=1) if line.strip()]
    for batch in batches:
        assert all(len(cells) == len(batch.numbers) for cells in batch.cells.values())
        assert all(isinstance(day, date) for day in batch.cells["date"])
        assert all(isinstance(load, str) and load for load in batch.cells["load"])


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(
    st.lists(
        st.tuples(st.sampled_from(["a", "b, c", 'd "e"', "f\ng", "h\r\ni"]), st.integers(0, 9999)),
        max_size=40,
    ),
    st.integers(1, 90),
    st.sampled_from(["\n", "\r\n"]),
)
def test_rows_of_csv_are_those_of_the_csv_module_wherever_parts_end(
    tmp_path: Path, table: list[tuple[str, int]], size: int, ending: str
) -> None:
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator=ending)
    writer.writerow(["load", "date", "crew", "trip.speed [mph]"])
    writer.writerows([f"load {crew}", "2026-07-02", crew, speed] for crew, speed in table)
    file = tmp_path / "season.csv"
    file.write_text(text.getvalue(), newline="")
    reader = csv.reader(io.StringIO(text.getvalue(), newline=""))
    expected, before = [], 0
    for cells in reader:
        expected.append((before + 1, cells))
        before = reader.line_num
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(csv_log, "PART_BYTES", size)
        found = [
            (number, list(cells))
            for part in open_log(file).parts
            for batch in [part.read()]
            for number, *cells in zip(batch.numbers, *batch.cells.values(), strict=True)
        ]
    assert found == expected[1:]
