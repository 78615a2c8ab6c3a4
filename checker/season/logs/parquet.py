"""Haul logs in Parquet, one haul a row, read a batch at a time."""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any, Final

from checker.documents.problems import Mark, Problem, ProblemsFoundError, tamed
from checker.season.logs.columns import columns_of
from checker.season.logs.extras import needed
from checker.season.logs.json_lines import as_list
from checker.season.logs.model import BATCH_ROWS, Batch, Cell, Column, Log, OwnWords

PART_ROWS: Final = 16_384

# What every error of the library derives from, so that it need not be imported to name them.
_BROKEN = (OSError, ValueError, KeyError, IndexError, TypeError, RuntimeError)


def read(path: Path, own: OwnWords) -> Log:
    """The log in a Parquet file; raises ProblemsFoundError where its columns are not a log's."""
    parquet = needed("pyarrow.parquet", "arrow", path)
    try:
        # Read in pieces: a file of one large group of rows would else be held whole.
        file = parquet.ParquetFile(path, buffer_size=1 << 18, pre_buffer=False)
    except _BROKEN as error:
        raise _no_parquet(path, error) from error
    names = list(file.schema_arrow.names)
    marks = [Mark(1, place) for place in range(1, len(names) + 1)]
    columns = columns_of(str(path), [name.strip() for name in names], marks, own)
    return Log(str(path), _told(path, _parts(file, names, columns)), file.metadata.num_rows, own)


def _no_parquet(path: Path, error: Exception) -> ProblemsFoundError:
    found = f"a file that is no Parquet ({tamed(str(error))})"
    return ProblemsFoundError([Problem(str(path), Mark(1, 1), found, "a Parquet file")])


def _told(path: Path, parts: Iterator["_Table"]) -> Iterator["_Table"]:
    """The same, with what is broken on the way told as a problem of the file."""
    try:
        yield from parts
    except _BROKEN as error:
        raise _no_parquet(path, error) from error


def _parts(file: Any, names: Sequence[str], columns: Sequence[Column | None]) -> Iterator["_Table"]:
    used = [column for column in columns if column is not None]
    wanted = [name for name, column in zip(names, columns, strict=True) if column is not None]
    first = 1
    with file:
        for table in file.iter_batches(PART_ROWS, columns=wanted, use_threads=False):
            by_name = dict(zip(table.schema.names, table.columns, strict=True))
            arrays = {
                column.field: by_name[name] for name, column in zip(wanted, used, strict=True)
            }
            yield _Table(used, first, table.num_rows, arrays)
            first += table.num_rows


@dataclass(frozen=True, slots=True)
class _Table:
    """Some rows as arrays of Arrow, by field; `first` is the number of the first of them."""

    columns: Sequence[Column]
    first: int
    size: int
    arrays: Mapping[str, Any]

    def batches(self) -> Iterator[Batch]:
        for start in range(0, self.size, BATCH_ROWS):
            stop = min(start + BATCH_ROWS, self.size)
            cells = {field: _cells(array[start:stop]) for field, array in self.arrays.items()}
            numbers = range(self.first + start, self.first + stop)
            yield Batch(self.columns, numbers, cells, [])


def _cells(array: Any) -> list[Cell]:
    return [
        cell if cell is None or type(cell) in (str, int, bool) else _cell(cell)
        for cell in array.to_pylist()
    ]


def _cell(value: Any) -> Cell:
    """A value as a cell; a float that is no number is how tables store a blank."""
    if isinstance(value, float):
        return None if math.isnan(value) else value
    if isinstance(value, datetime):
        return value.date()
    if isinstance(value, date):
        return value
    return as_list(value) if isinstance(value, list) else str(value)
