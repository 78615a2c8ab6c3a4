"""Writes every haul and every finding of it as a table, to be read by other programs.

`findings_columns.py` has the columns. The process that evaluates a task writes its rows; the files
of all tasks joined in order, with what they are about at the head, are the whole table.
"""

import io
import json
from abc import ABC, abstractmethod
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from datetime import date
from importlib import import_module
from pathlib import Path
from typing import Any, BinaryIO, Final, TypeAlias

import numpy as np

from checker.documents.files import new_file
from checker.logs.model import Refused
from checker.season.hauls.chunk_result import ChunkResult
from checker.season.records.findings_columns import COLUMNS, SCHEMA, ColumnType, FindingsColumn
from checker.season.records.findings_rows import (
    EPOCH,
    ROWS_AT_ONCE,
    Column,
    Columns,
    columns_of_findings,
    columns_of_hauls,
    columns_of_refused,
)

Names: TypeAlias = Mapping[int, str]
"""The names of hauls that the log states, by row."""

_ABOUT: Final = b"cinchbook_findings"
"""The key of the Parquet file's metadata under which it says what it is about, as JSON."""


class FindingsFile(ABC):
    """Collects rows of hauls, of findings and of refused rows in the form of a file."""

    def add(self, result: ChunkResult, names: Names) -> None:
        """Add the hauls of a chunk and their findings."""
        self._write(columns_of_hauls(result, names))
        for columns in columns_of_findings(result, names):
            self._write(columns)

    def add_refused(self, refused: Sequence[Refused], names: Names) -> None:
        """Add rows of the log that were not checked."""
        self._write(columns_of_refused(refused, names))

    @abstractmethod
    def content(self) -> bytes:
        """The bytes of the file."""

    @abstractmethod
    def _write(self, columns: Columns) -> None:
        """Add rows."""


class JsonLines(FindingsFile):
    """Collects rows as JSON lines, one object for each."""

    def __init__(self) -> None:
        self._file = io.BytesIO()

    def content(self) -> bytes:
        """The bytes of all lines."""
        return self._file.getvalue()

    def _write(self, columns: Columns) -> None:
        texts = [
            list(_json_members(each, columns[each.name]))
            for each in COLUMNS
            if each.name in columns
        ]
        lines = (f"{{{', '.join(members)}}}\n" for members in zip(*texts, strict=True))
        self._file.write("".join(lines).encode())


def _json_members(about: FindingsColumn, column: Column) -> Iterator[str]:
    # Few values are distinct in a season, so each is formatted once.
    distinct: Any
    if column.words is not None:
        distinct, codes = column.words, column.values
    else:
        distinct, codes = np.unique(column.values, return_inverse=True)
    texts = [f'"{about.name}": {_text(_plain(about.type, each))}' for each in distinct]
    return map(texts.__getitem__, codes.tolist())


def _plain(kind: ColumnType, value: Any) -> Any:
    """A value as JSON can hold it: dates as text, NaN as None."""
    plain = value.item() if isinstance(value, np.generic) else value
    if kind == "day":
        return date.fromordinal(plain + EPOCH).isoformat()
    return None if plain != plain else plain


def _text(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False)


class Parquet(FindingsFile):
    """Collects rows as a Parquet table; stores each distinct text of a column once."""

    def __init__(self) -> None:
        parquet: Any = import_module("pyarrow.parquet")
        self._file = io.BytesIO()
        self._schema = _arrow_schema()
        self._writer = parquet.ParquetWriter(self._file, self._schema)

    def content(self) -> bytes:
        """The bytes of the file."""
        self._writer.close()
        return self._file.getvalue()

    def _write(self, columns: Columns) -> None:
        arrow: Any = import_module("pyarrow")
        rows = len(columns["kind"].values)
        arrays = [_array(arrow, field, columns.get(field.name), rows) for field in self._schema]
        self._writer.write_table(arrow.table(arrays, schema=self._schema))


def _arrow_schema() -> Any:
    """The columns of a Parquet file, each with its meaning in its metadata."""
    arrow: Any = import_module("pyarrow")
    types: dict[ColumnType, Any] = {
        "text": arrow.dictionary(arrow.int32(), arrow.string()),
        "list of texts": arrow.list_(arrow.string()),
        "whole number": arrow.int64(),
        "number": arrow.float64(),
        "day": arrow.date32(),
        "yes/no": arrow.bool_(),
    }
    return arrow.schema(
        [
            arrow.field(each.name, types[each.type], metadata={"meaning": each.meaning})
            for each in COLUMNS
        ]
    )


def _array(arrow: Any, field: Any, column: Column | None, rows: int) -> Any:
    if column is None:
        return arrow.nulls(rows, field.type)
    values, words = column
    if words is None:
        whole = values.astype(np.int32) if arrow.types.is_date32(field.type) else values
        return arrow.array(whole, type=field.type, mask=values != values)
    codes = arrow.array(values, type=arrow.int32())
    if arrow.types.is_list(field.type):
        return arrow.array([[*word] for word in words if word is not None], field.type).take(codes)
    texts = arrow.array(words, type=arrow.string())
    if texts.null_count:
        # A dictionary has no null: the code of one is null instead.
        codes = arrow.compute.if_else(texts.is_null().take(codes), None, codes)
        texts = texts.fill_null("")
    return arrow.DictionaryArray.from_arrays(codes, texts)


FORMS: Final[Mapping[str, Callable[[], FindingsFile]]] = {
    ".jsonl": JsonLines,
    ".parquet": Parquet,
}
"""The class that writes each form, by the suffix of the file."""


def join_findings(parts: Iterable[Path], target: Path, about: Mapping[str, Any]) -> None:
    """Write one file with the rows of all tasks; nothing is left if that fails.

    It begins with `about`, what was audited and by what, and the meaning of each column: JSON lines
    in a first line of the kind `about`, Parquet in its metadata. Raises NotWrittenError.
    """
    join = _join_tables if target.suffix == ".parquet" else _join_lines
    with new_file(target) as file:
        join(parts, file, {"schema": SCHEMA, **about, "columns": _meanings()})


def _meanings() -> list[dict[str, Any]]:
    return [
        {"name": each.name, "type": each.type, "rows": each.rows, "meaning": each.meaning}
        for each in COLUMNS
    ]


def _join_lines(parts: Iterable[Path], target: BinaryIO, about: Mapping[str, Any]) -> None:
    target.write(f"{_text({'kind': 'about', 'about': about})}\n".encode())
    for part in parts:
        target.write(part.read_bytes())


def _join_tables(parts: Iterable[Path], target: BinaryIO, about: Mapping[str, Any]) -> None:
    arrow: Any = import_module("pyarrow")
    parquet: Any = import_module("pyarrow.parquet")
    schema = _arrow_schema().with_metadata({_ABOUT: _text(about)})
    with parquet.ParquetWriter(target, schema) as writer:
        waiting: list[Any] = []

        def write() -> None:
            if waiting:
                whole = arrow.concat_tables(waiting).unify_dictionaries().combine_chunks()
                writer.write_table(whole.replace_schema_metadata(schema.metadata))
                waiting.clear()

        for part in parts:
            read = parquet.ParquetFile(part)
            for group in range(read.num_row_groups):
                waiting.append(read.read_row_group(group))
                if sum(map(len, waiting)) >= ROWS_AT_ONCE:
                    write()
        write()
