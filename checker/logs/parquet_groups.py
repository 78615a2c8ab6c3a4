"""Checks the unpacked size of a Parquet file before its columns are read.

A file of a few kilobytes may have a column that unpacks to gigabytes, or one long text repeated in
every row. The sizes come from the metadata; the longest text of each row group is read.
"""

from collections.abc import Sequence
from pathlib import Path
from typing import Any, BinaryIO, Final

from checker.documents.problems import Mark, Problem, ProblemsFoundError, quoted
from checker.logs.limits import MOST_CELL, MOST_GROUP_BYTES
from checker.logs.model import PART_ROWS
from checker.logs.opening import import_optional

_PART_TEXT: Final = 1 << 26
"""Most characters of one column of a part."""
_MOST_OF_A_LIST: Final = 50
"""Most entries of a list in a cell, on average."""


def rows_of_a_part(path: Path, raw: BinaryIO, file: Any, names_read: Sequence[str]) -> int:
    """The number of rows to read at a time; fewer if texts in the columns to read are long.

    Raises ProblemsFoundError if a column of a row group is too large for a log.
    """
    metadata = file.metadata
    longest = 0
    for number in range(metadata.num_row_groups):
        group = metadata.row_group(number)
        columns = [
            column
            for column in map(group.column, range(group.num_columns))
            if any(f"{column.path_in_schema}.".startswith(f"{name}.") for name in names_read)
        ]
        for column in columns:
            found = f"the column {quoted(column.path_in_schema)} of row group {number + 1}"
            if column.total_uncompressed_size > MOST_GROUP_BYTES:
                raise _too_large(path, found, f"{MOST_GROUP_BYTES:,} bytes")
            if column.num_values > _MOST_OF_A_LIST * group.num_rows:
                raise _too_large(path, found, f"{_MOST_OF_A_LIST} entries in a list")
        texts = [
            column.path_in_schema for column in columns if column.physical_type == "BYTE_ARRAY"
        ]
        if texts and group.num_rows:
            longest = max(longest, _longest(path, raw, metadata, number, texts))
    return max(1, min(PART_ROWS, _PART_TEXT // max(longest, 1)))


def _longest(path: Path, raw: BinaryIO, metadata: Any, number: int, texts: Sequence[str]) -> int:
    """Length of the longest text in the dictionaries of a row group."""
    parquet = import_optional("pyarrow.parquet", "arrow", path)
    compute = import_optional("pyarrow.compute", "arrow", path)
    # Read this way, the first row comes with the dictionary of the whole row group.
    probe = parquet.ParquetFile(
        raw, metadata=metadata, read_dictionary=texts, buffer_size=1 << 18, pre_buffer=False
    )
    rows = probe.iter_batches(1, row_groups=[number], columns=texts, use_threads=False)
    longest = 0
    for name, array in zip(texts, next(rows).columns, strict=True):
        inside = array
        while hasattr(inside, "offsets"):
            inside = inside.flatten()
        if str(getattr(inside.type, "value_type", "")) not in ("string", "binary"):
            continue
        size = compute.max(compute.binary_length(inside.dictionary)).as_py() or 0
        if size > MOST_CELL:
            found = f"a text in the column {quoted(name)} of row group {number + 1}"
            raise _too_large(path, found, f"{MOST_CELL:,} letters")
        longest = max(longest, size)
    return longest


def _too_large(path: Path, found: str, most: str) -> ProblemsFoundError:
    found = f"{found}, which is very large"
    return ProblemsFoundError([Problem(str(path), Mark(1, 1), found, f"at most {most}")])
