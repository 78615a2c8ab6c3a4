"""Every finding of every haul as a table, for those who have tools of their own.

One row for each rule that applies to a haul: `row` is the haul's in the log. A
task's findings are made where it is judged; put one behind the other they are the whole table.
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
from checker.season.chunk_result import ChunkResult

_EPOCH: Final = date(1970, 1, 1).toordinal()

_Column: TypeAlias = tuple[NDArray[Any], Sequence[Any] | None]
"""A value of each finding; with words beside it, the index of its word."""


class JsonLines:
    """Findings as JSON, one a line."""

    def __init__(self) -> None:
        self._lines: list[str] = []

    def add(self, result: ChunkResult) -> None:
        """Take the findings of a chunk."""
        columns = _columns(result)
        texts = [list(_json_members(name, column)) for name, column in columns.items()]
        self._lines += (f"{{{', '.join(members)}}}\n" for members in zip(*texts, strict=True))

    def content(self) -> bytes:
        """All of them."""
        return "".join(self._lines).encode()


def _json_members(name: str, column: _Column) -> Iterator[str]:
    values, words = column
    # A season repeats itself: each distinct value is written once.
    distinct, codes = (
        (words, values) if words is not None else np.unique(values, return_inverse=True)
    )
    texts = [f'"{name}": {_text(_plain(name, each))}' for each in distinct]
    return map(texts.__getitem__, codes.tolist())


def _plain(name: str, value: Any) -> Any:
    """A value as JSON has it."""
    plain = value.item() if isinstance(value, np.generic) else value
    if name == "date":
        return date.fromordinal(plain + _EPOCH).isoformat()
    return None if plain != plain else plain


def _text(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False)


class Parquet:
    """Findings as a Parquet table; every text of few kinds is kept once."""

    def __init__(self) -> None:
        self._tables: list[Any] = []

    def add(self, result: ChunkResult) -> None:
        """Take the findings of a chunk."""
        if columns := _columns(result):
            arrow: Any = import_module("pyarrow")
            arrays = {name: _array(arrow, name, *column) for name, column in columns.items()}
            self._tables.append(arrow.table(arrays))

    def content(self) -> bytes:
        """All of them; nothing where there are none."""
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
    """The findings of a chunk, rule after rule; nothing where no rule applies to any haul."""
    chunk = result.chunk
    found = []
    for each in result.rules:
        verdicts = expand(each.verdicts, chunk.hauls)
        places = np.flatnonzero(verdicts != DOES_NOT_APPLY)
        more = (each.margins, each.near(result.near_share), each.excused)
        if places.size:
            found.append(
                (
                    each,
                    places,
                    verdicts[places],
                    *(expand(one, chunk.hauls)[places] for one in more),
                )
            )
    if not found:
        return {}
    rules, of_rule, *rest = zip(*found, strict=True)
    places = np.concatenate(of_rule)
    verdicts, margins, near, excused = map(np.concatenate, rest)
    rule = np.repeat(np.arange(len(rules)), list(map(len, of_rule)))
    load = chunk.load_of[places]
    return {
        "row": (chunk.rows[places], None),
        "date": (chunk.days[places] - _EPOCH, None),
        "crew": (chunk.crew_of[places], chunk.crews),
        "load": (load, [each.load for each in chunk.loads]),
        "trailer": (load, [each.trailer for each in chunk.loads]),
        "machine": (load, ["; ".join(each.machines) for each in chunk.loads]),
        "tow_vehicle": (load, [each.tow_vehicle for each in chunk.loads]),
        "rulebook": (rule, [each.book.id for each in rules]),
        "rule": (rule, [each.rule.id for each in rules]),
        "level": (rule, [each.rule.level for each in rules]),
        "verdict": (verdicts, [verdict.value for verdict in WORST_FIRST]),
        "margin": (margins, None),
        "near": (near, None),
        "excused": (excused, None),
    }


FORMS: Final[Mapping[str, Callable[[], JsonLines | Parquet]]] = {
    ".jsonl": JsonLines,
    ".parquet": Parquet,
}
"""What makes each form, by the suffix of the file."""


def put_together(parts: Iterable[Path], target: Path) -> None:
    """Write one file of the findings of all tasks; it is there whole or not at all.

    Raises NotWrittenError.
    """
    join = _joined_tables if target.suffix == ".parquet" else _joined_lines
    with new_file(target) as file:
        join(parts, file)


def _joined_lines(parts: Iterable[Path], target: BinaryIO) -> None:
    for part in parts:
        target.write(part.read_bytes())


def _joined_tables(parts: Iterable[Path], target: BinaryIO) -> None:
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
