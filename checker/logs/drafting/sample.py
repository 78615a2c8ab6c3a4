"""The first rows of a log as they stand in the file, before anything says how to read them."""

import csv
import io
import json
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import ExitStack
from dataclasses import dataclass, field
from datetime import date, datetime
from itertools import islice
from pathlib import Path
from typing import Any, Final

from checker.documents.files import is_folder
from checker.documents.problems import Mark, Problem, ProblemsFoundError
from checker.logs.excel import BROKEN_WORKBOOK
from checker.logs.json_lines import as_list
from checker.logs.layout import ENCODINGS, SEPARATORS
from checker.logs.limits import MOST_COLUMNS
from checker.logs.model import Cell
from checker.logs.opening import import_optional, open_log_file
from checker.logs.parquet_groups import rows_of_a_part
from checker.logs.sheet_part import Merged
from checker.logs.workbook import open_workbook, part_of
from checker.logs.yaml_folder import ENDINGS

MOST_ROWS: Final = 5_000
"""Rows that a proposal rests on; later ones are seen when the log is read with it."""
_MOST_BYTES: Final = 1 << 22
_MOST_DEPTH: Final = 12
_MARKS_OF_UTF_16: Final = (b"\xff\xfe", b"\xfe\xff")


@dataclass(frozen=True, slots=True)
class Sample:
    """Some rows of a table, each with its number; rows without any cell are left out.

    `sheet` is its name in a workbook with several visible sheets. `separator` and `encoding` are
    words of a mapping file, None for those that need not be stated. `header_row` is 0 where the
    names of the columns stand in no row, as in Parquet. `is_cut` says that the log has more rows.
    """

    rows: Sequence[tuple[int, Sequence[Cell]]]
    sheet: str | None = None
    separator: str | None = None
    encoding: str | None = None
    header_row: int | None = None
    merged: Mapping[int, Sequence[Merged]] = field(default_factory=dict)
    is_cut: bool = False
    is_text: bool = False
    """True for CSV, where the headers are in the first row with any cell."""


def samples_of(path: Path) -> list[Sample]:
    """The sample of each table in a log, whose form its suffix says; of a workbook one a sheet.

    Raises ProblemsFoundError where the log cannot be read at all.
    """
    readers: Mapping[str, Callable[[Path], list[Sample]]] = {
        ".csv": _of_csv,
        ".xlsx": _of_workbook,
        ".jsonl": _of_json_lines,
        ".ndjson": _of_json_lines,
        ".parquet": _of_parquet,
    }
    if path.suffix.lower() not in readers:
        found = f"a log of the form '{path.suffix or path.name}'"
        if is_folder(path) or path.suffix.lower() in ENDINGS:
            found = "hauls in YAML, which name their fields themselves"
        raise _problem(path, found, f"a log with columns: {', '.join(readers)}")
    return readers[path.suffix.lower()](path)


def _problem(path: Path, found: str, wanted: str) -> ProblemsFoundError:
    return ProblemsFoundError([Problem(str(path), Mark(1, 1), found, wanted)])


def _of_csv(path: Path) -> list[Sample]:
    with open_log_file(path, "CSV text") as file:
        content = file.read(_MOST_BYTES)
        is_cut = bool(file.read(1))
    if is_cut:
        content = content[: content.rfind(b"\n") + 1]
    encoding = _encoding_of(content)
    # What no encoding explains is read with a sign in its place: the audit says where it stands.
    text = content.decode(ENCODINGS[encoding], "replace")
    parted = {word: _parted(text, sign) for word, sign in SEPARATORS.items()}
    word = max(parted, key=lambda each: (_usual_width(parted[each]), each == "comma"))
    rows = parted[word]
    return [
        Sample(
            rows[:MOST_ROWS],
            separator=word if word != "comma" else None,
            encoding=encoding if encoding != "utf-8" else None,
            is_cut=is_cut or len(rows) > MOST_ROWS,
            is_text=True,
        )
    ]


def _encoding_of(content: bytes) -> str:
    """The encoding of a text: told by its byte order mark, else UTF-8 if it can be."""
    if content.startswith(_MARKS_OF_UTF_16):
        return "utf-16"
    try:
        content.decode()
    except UnicodeDecodeError:
        return "windows-1252"
    return "utf-8"


def _parted(text: str, separator: str) -> list[tuple[int, Sequence[Cell]]]:
    """The rows of a text with this separator, by line."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator)
    rows: list[tuple[int, Sequence[Cell]]] = []
    try:
        line = 1
        for row in islice(reader, MOST_ROWS + 1):
            if any(map(str.strip, row)):
                rows.append((line, [cell.strip() for cell in row[:MOST_COLUMNS]]))
            line = reader.line_num + 1
    except csv.Error:  # the rows before it tell enough
        pass
    return rows


def _usual_width(rows: Sequence[tuple[int, Sequence[Cell]]]) -> int:
    """The number of columns that a quarter of the rows have at least: titles have one."""
    widths = sorted(len(row) for _, row in rows)
    return widths[3 * len(widths) // 4] if widths else 0


def _of_workbook(path: Path) -> list[Sample]:
    openpyxl = import_optional("openpyxl", "xlsx", path)
    try:
        with ExitStack() as books:
            reader = open_workbook(openpyxl, path, books, results=True)
            sheets = [each for each in reader.wb.worksheets if each.sheet_state == "visible"]
            return [_of_sheet(reader, sheet, is_alone=len(sheets) == 1) for sheet in sheets]
    except BROKEN_WORKBOOK as error:
        raise _problem(path, f"a file that is no XLSX workbook ({error})", "a workbook") from error


def _of_sheet(reader: Any, sheet: Any, *, is_alone: bool) -> Sample:
    rows: list[tuple[int, Sequence[Cell]]] = []
    for number, cells in enumerate(sheet.iter_rows(values_only=True, max_row=MOST_ROWS), start=1):
        row = [_cell(cell) for cell in cells[:MOST_COLUMNS]]
        if any(cell is not None for cell in row):
            rows.append((number, row))
    above = islice(part_of(reader, sheet).rows(), 100)
    merged = {number: each for number, each in enumerate(above, start=1) if each}
    return Sample(
        rows,
        sheet=None if is_alone else sheet.title,
        merged=merged,
        is_cut=bool(rows) and rows[-1][0] == MOST_ROWS,
    )


def _cell(value: Any) -> Cell:
    if isinstance(value, datetime):
        return value.date()
    if value is None or isinstance(value, bool | int | float | date):
        return value
    return _readable(str(value)).strip() or None


def _readable(text: str) -> str:
    """The text without halves of characters, which no file can hold."""
    return text.encode("utf-8", "replace").decode()


def _of_json_lines(path: Path) -> list[Sample]:
    found: list[dict[str, Cell]] = []
    with open_log_file(path, "JSON lines") as file:
        lines = list(islice(iter(lambda: file.readline(_MOST_BYTES), b""), MOST_ROWS + 1))
    for line in lines[:MOST_ROWS]:
        try:
            data = json.loads(line)
        except (ValueError, RecursionError):  # the latter: deep nesting
            continue
        if isinstance(data, dict):
            found.append(dict(_flat(data, "", 0)))
    names = list(dict.fromkeys(name for row in found for name in row))[:MOST_COLUMNS]
    rows = [(index, [row.get(name) for name in names]) for index, row in enumerate(found, start=1)]
    return [Sample([(0, names), *rows], header_row=0, is_cut=len(lines) > MOST_ROWS)]


def _flat(data: Mapping[str, Any], at: str, depth: int) -> Iterator[tuple[str, Cell]]:
    """The values of a haul by dotted path; lists of mappings tell nothing here."""
    for key, value in data.items():
        name = _readable(f"{at}.{key}" if at else str(key))
        if isinstance(value, dict) and depth < _MOST_DEPTH:
            yield from _flat(value, name, depth + 1)
        elif isinstance(value, list):
            yield name, as_list(value)
        else:
            yield name, _cell(value)


def _of_parquet(path: Path) -> list[Sample]:
    parquet = import_optional("pyarrow.parquet", "arrow", path)
    try:
        with open_log_file(path, "a Parquet file") as raw:
            file = parquet.ParquetFile(raw, buffer_size=1 << 18, pre_buffer=False)
            names = [name.strip() for name in file.schema_arrow.names][:MOST_COLUMNS]
            rows = rows_of_a_part(path, raw, file, file.schema_arrow.names)
            table = next(file.iter_batches(rows, use_threads=False), None)
            read = [] if table is None else table.to_pylist()
            is_cut = file.metadata.num_rows > len(read)
    except (OSError, ValueError, KeyError, RuntimeError) as error:
        raise _problem(path, f"a file that is no Parquet ({error})", "a Parquet file") from error
    cells = [[_cell(value) for value in row.values()] for row in read]
    return [Sample([(0, names), *enumerate(cells, start=1)], header_row=0, is_cut=is_cut)]
