"""How large the columns of a Parquet file become once they are read, before they are.

A file of a few kilobytes may have a column that unpacks to gigabytes, or one long text that stands
in every row. Sizes are what the file says of itself; the texts of each group of rows are looked at.
"""

from collections.abc import Sequence
from pathlib import Path
from typing import Any, BinaryIO, Final

from checker.documents.problems import Mark, Problem, ProblemsFoundError, quoted
from checker.season.logs.extras import needed
from checker.season.logs.limits import MOST_CELL, MOST_GROUP_BYTES
from checker.season.logs.model import PART_ROWS

_PART_TEXT: Final = 1 << 26
"""Letters that one column of a part may come to at most."""
_MOST_OF_A_LIST: Final = 50
"""Entries of a list in a cell, on average."""


def rows_of_a_part(path: Path, raw: BinaryIO, file: Any, wanted: Sequence[str]) -> int:
    """How many rows to read at a time, fewer where texts are long, of the columns to read.

    Raises ProblemsFoundError where a column of some group of rows is larger than a log's.
    """
    metadata = file.metadata
    longest = 0
    for number in range(metadata.num_row_groups):
        group = metadata.row_group(number)
        columns = [
            column
            for column in map(group.column, range(group.num_columns))
            if any(f"{column.path_in_schema}.".startswith(f"{name}.") for name in wanted)
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
    """Letters of the longest text that a group of rows holds for all of its rows."""
    parquet = needed("pyarrow.parquet", "arrow", path)
    compute = needed("pyarrow.compute", "arrow", path)
    # So read, the first row brings with it each text that the group has for all its rows.
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
    said = f"{found}, which is very large"
    return ProblemsFoundError([Problem(str(path), Mark(1, 1), said, f"at most {most}")])
