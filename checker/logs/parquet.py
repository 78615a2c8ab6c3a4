"""Reads haul logs in Parquet, one haul a row, in batches."""

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import ExitStack
from dataclasses import dataclass
from datetime import date, datetime
from itertools import compress
from pathlib import Path
from typing import Any, BinaryIO

from checker.documents.problems import Mark, Problem, ProblemsFoundError, quoted, shorten
from checker.logs.columns import columns_of, header_text
from checker.logs.json_lines import as_list
from checker.logs.model import NO_NUMBER, Batch, Cell, Column, Log, LogMapping, Refused
from checker.logs.opening import import_optional, open_log_file
from checker.logs.parquet_groups import rows_of_a_part

# Base classes of all errors of the library, so that it need not be imported to catch them.
_BROKEN = (OSError, ValueError, KeyError, IndexError, TypeError, RuntimeError, OverflowError)


class _NotANumberError(ValueError):
    """The value is NaN, which is not a blank: Parquet has null for that."""


def read(path: Path, mapping: LogMapping) -> Log:
    """The log in a Parquet file; raises ProblemsFoundError if its columns are not valid."""
    parquet = import_optional("pyarrow.parquet", "arrow", path)
    with ExitStack() as opened:
        raw = opened.enter_context(open_log_file(path, "a Parquet file"))
        file, columns = _open(path, raw, parquet, mapping)
        # From here on the iterator of the parts closes the file.
        opened.pop_all()
    parts = _broken_as_problems(path, _parts(path, raw, file, columns))
    return Log(str(path), parts, file.metadata.num_rows, mapping)


def _open(
    path: Path, raw: BinaryIO, parquet: Any, mapping: LogMapping
) -> tuple[Any, Sequence[Column | None]]:
    """The library's reader of a file, and its columns; raises ProblemsFoundError."""
    try:
        # Read in blocks, so that a large row group is never in memory as a whole.
        file = parquet.ParquetFile(raw, buffer_size=1 << 18, pre_buffer=False)
        names = list(file.schema_arrow.names)
    except _BROKEN as error:
        raise _no_parquet(path, error) from error
    marks = [Mark(1, column) for column in range(1, len(names) + 1)]
    columns = columns_of(str(path), list(map(header_text, names)), marks, mapping)
    to_zone = import_optional("pyarrow.lib", "arrow", path).string_to_tzinfo
    for column, field, mark in zip(columns, file.schema_arrow, marks, strict=True):
        zone = getattr(field.type, "tz", None)
        if column is not None and zone is not None:
            _check_zone(path, mark, zone, to_zone)
    return file, columns


def _check_zone(path: Path, mark: Mark, zone: str, to_zone: Callable[[str], object]) -> None:
    try:
        to_zone(zone)
    except _BROKEN as error:
        found, wanted = f"the time zone {quoted(zone)}", "one that is known here, or none"
        raise ProblemsFoundError([Problem(str(path), mark, found, wanted)]) from error


def _no_parquet(path: Path, error: Exception) -> ProblemsFoundError:
    found = f"a file that is no Parquet ({shorten(str(error))})"
    return ProblemsFoundError([Problem(str(path), Mark(1, 1), found, "a Parquet file")])


def _broken_as_problems(path: Path, parts: Iterator["_Table"]) -> Iterator["_Table"]:
    """The parts; errors of the library become problems of the file."""
    try:
        yield from parts
    except _BROKEN as error:
        raise _no_parquet(path, error) from error


def _parts(
    path: Path, raw: BinaryIO, file: Any, columns: Sequence[Column | None]
) -> Iterator["_Table"]:
    names = file.schema_arrow.names
    used = [column for column in columns if column is not None]
    names_read = [name for name, column in zip(names, columns, strict=True) if column is not None]
    first = 1
    with raw, file:
        rows = rows_of_a_part(path, raw, file, names_read)
        for table in file.iter_batches(rows, columns=names_read, use_threads=False):
            by_name = dict(zip(table.schema.names, table.columns, strict=True))
            arrays = {
                column.field: by_name[name] for name, column in zip(names_read, used, strict=True)
            }
            yield _Table(used, first, table.num_rows, arrays)
            first += table.num_rows


@dataclass(frozen=True, slots=True)
class _Table:
    """Some rows as Arrow arrays, by field; `first` is the number of the first row."""

    columns: Sequence[Column]
    first: int
    size: int
    arrays: Mapping[str, Any]

    def read(self) -> Batch:
        numbers = range(self.first, self.first + self.size)
        cells: dict[str, Sequence[Cell]] = {}
        wrong: dict[int, str] = {}
        for field, array in self.arrays.items():
            cells[field], faults = _cells(array)
            wrong = {index: f"{field}: {fault}" for index, fault in faults.items()} | wrong
        kept = [index not in wrong for index in range(self.size)]
        return Batch(
            self.columns,
            list(compress(numbers, kept)),
            {field: list(compress(column, kept)) for field, column in cells.items()},
            [Refused(numbers[index], wrong[index]) for index in sorted(wrong)],
        )


def _cells(array: Any) -> tuple[list[Cell], Mapping[int, str]]:
    """The values of an array as cells, and the faults by index; unreadable values are blank."""
    try:
        return _of_values(array.to_pylist()), {}
    except _BROKEN:
        pass
    cells: list[Cell] = []
    faults: dict[int, str] = {}
    for index, value in enumerate(array):
        try:
            cells += _of_values([value.as_py()])
        except _NotANumberError:
            faults[index] = NO_NUMBER.format("NaN")
            cells.append(None)
        except _BROKEN as error:
            reason = f"found a value that cannot be read ({shorten(str(error))})"
            faults[index] = f"{reason}; wanted a text, a number or a day"
            cells.append(None)
    return cells, faults


def _of_values(values: Sequence[Any]) -> list[Cell]:
    return [
        cell if cell is None or type(cell) in (str, int, bool) else _cell(cell) for cell in values
    ]


def _cell(value: Any) -> Cell:
    """A value as a cell; raises _NotANumberError for NaN, which may be a result gone wrong."""
    if isinstance(value, float):
        if math.isnan(value):
            raise _NotANumberError
        return value
    if isinstance(value, datetime):
        return value.date()
    if isinstance(value, date):
        return value
    return as_list(value) if isinstance(value, list) else str(value)
