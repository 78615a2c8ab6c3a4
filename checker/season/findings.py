"""Writes every finding of every haul as a table, to be read by other programs.

The table has one row for each rule that applies to a haul; `row` is the row of the haul in the log.
The process that evaluates a task writes its findings; the files of all tasks joined in order are
the whole table.
"""

import io
import json
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from datetime import date
from importlib import import_module
from pathlib import Path
from typing import Any, BinaryIO, Final, TypeAlias

import numpy as np
from numpy.typing import NDArray

from checker.documents.files import new_file
from checker.evaluation.rule_rows import DOES_NOT_APPLY, expand
from checker.rulebooks.verdicts import WORST_FIRST
from checker.season.chunk import Labels
from checker.season.chunk_result import ChunkResult

_EPOCH: Final = date(1970, 1, 1).toordinal()

_Column: TypeAlias = tuple[NDArray[Any], Sequence[Any] | None]
"""One value for each finding; if words are given, the values are indices into them."""


class JsonLines:
    """Collects findings as JSON lines, one object for each."""

    def __init__(self) -> None:
        self._lines: list[str] = []

    def add(self, result: ChunkResult) -> None:
        """Add the findings of a chunk."""
        columns = _columns(result)
        texts = [list(_json_members(name, column)) for name, column in columns.items()]
        self._lines += (f"{{{', '.join(members)}}}\n" for members in zip(*texts, strict=True))

    def content(self) -> bytes:
        """The bytes of all lines."""
        return "".join(self._lines).encode()


def _json_members(name: str, column: _Column) -> Iterator[str]:
    values, words = column
    # Few values are distinct in a season, so each is formatted once.
    distinct, codes = (
        (words, values) if words is not None else np.unique(values, return_inverse=True)
    )
    texts = [f'"{name}": {_text(_plain(name, each))}' for each in distinct]
    return map(texts.__getitem__, codes.tolist())


def _plain(name: str, value: Any) -> Any:
    """A value as JSON can hold it: dates as text, NaN as None."""
    plain = value.item() if isinstance(value, np.generic) else value
    if name == "date":
        return date.fromordinal(plain + _EPOCH).isoformat()
    return None if plain != plain else plain


def _text(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False)


class Parquet:
    """Collects findings as a Parquet table; stores each distinct text of a column once."""

    def __init__(self) -> None:
        self._tables: list[Any] = []

    def add(self, result: ChunkResult) -> None:
        """Add the findings of a chunk."""
        if columns := _columns(result):
            arrow: Any = import_module("pyarrow")
            arrays = {name: _array(arrow, name, *column) for name, column in columns.items()}
            self._tables.append(arrow.table(arrays))

    def content(self) -> bytes:
        """The bytes of the file; empty if there are no findings."""
        if not self._tables:
            return b""
        parquet: Any = import_module("pyarrow.parquet")
        file = io.BytesIO()
        with parquet.ParquetWriter(file, self._tables[0].schema) as writer:
            for table in self._tables:
                writer.write_table(table)
        return file.getvalue()


def _array(arrow: Any, name: str, values: NDArray[Any], words: Sequence[Any] | None) -> Any:
    if words is not None:
        texts = arrow.array(words, type=arrow.string())
        return arrow.DictionaryArray.from_arrays(arrow.array(values, type=arrow.int32()), texts)
    if name == "date":
        return arrow.array(values.astype(np.int32), type=arrow.date32())
    return arrow.array(values, mask=values != values)


def _columns(result: ChunkResult) -> Mapping[str, _Column]:
    """The findings of a chunk in the order of the rules; empty if no rule applies to any haul."""
    chunk = result.chunk
    found = []
    for each in result.rules:
        verdicts = expand(each.verdicts, chunk.hauls)
        indices = np.flatnonzero(verdicts != DOES_NOT_APPLY)
        more = (each.margins, each.near(result.near_share), each.excused)
        if indices.size:
            found.append(
                (
                    each,
                    indices,
                    verdicts[indices],
                    *(expand(one, chunk.hauls)[indices] for one in more),
                )
            )
    if not found:
        return {}
    rules, of_rule, *rest = zip(*found, strict=True)
    indices = np.concatenate(of_rule)
    verdicts, margins, near, excused = map(np.concatenate, rest)
    rule = np.repeat(np.arange(len(rules)), list(map(len, of_rule)))
    load = chunk.load_of[indices]
    return {
        "row": (chunk.rows[indices], None),
        "date": (chunk.days[indices] - _EPOCH, None),
        "crew": (chunk.crew_of[indices], chunk.crews),
        "load": (load, [each.load for each in chunk.loads]),
        "trailer": (load, [each.trailer for each in chunk.loads]),
        "trailer_title": (load, [_titles(each, "trailer", each.trailer) for each in chunk.loads]),
        "machine": (load, ["; ".join(each.machines) for each in chunk.loads]),
        "machine_title": (load, [_titles(each, "machine", *each.machines) for each in chunk.loads]),
        "tow_vehicle": (load, [each.tow_vehicle for each in chunk.loads]),
        "tow_vehicle_title": (
            load,
            [_titles(each, "tow vehicle", each.tow_vehicle) for each in chunk.loads],
        ),
        "rulebook": (rule, [each.book.id for each in rules]),
        "rule": (rule, [each.rule.id for each in rules]),
        "level": (rule, [each.rule.level for each in rules]),
        "verdict": (verdicts, [verdict.value for verdict in WORST_FIRST]),
        "margin": (margins, None),
        "near": (near, None),
        "excused": (excused, None),
    }


def _titles(labels: Labels, kind: str, *keys: str) -> str:
    return "; ".join(labels.titles[kind].get(key, "") for key in keys)


FORMS: Final[Mapping[str, Callable[[], JsonLines | Parquet]]] = {
    ".jsonl": JsonLines,
    ".parquet": Parquet,
}
"""The class that writes each form, by the suffix of the file."""


def join_findings(parts: Iterable[Path], target: Path) -> None:
    """Write one file with the findings of all tasks; nothing is left if that fails.

    Raises NotWrittenError.
    """
    join = _join_tables if target.suffix == ".parquet" else _join_lines
    with new_file(target) as file:
        join(parts, file)


def _join_lines(parts: Iterable[Path], target: BinaryIO) -> None:
    for part in parts:
        target.write(part.read_bytes())


def _join_tables(parts: Iterable[Path], target: BinaryIO) -> None:
    parquet: Any = import_module("pyarrow.parquet")
    writer = None
    for part in parts:
        if part.stat().st_size:
            read = parquet.ParquetFile(part)
            writer = writer or parquet.ParquetWriter(target, read.schema_arrow)
            for group in range(read.num_row_groups):
                writer.write_table(read.read_row_group(group))
    if writer is not None:
        writer.close()
