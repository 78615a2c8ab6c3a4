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
from typing import Any, BinaryIO, Final

import numpy as np

from checker.documents.files import new_file
from checker.evaluation.rule_rows import DOES_NOT_APPLY, RuleRows, expand
from checker.rulebooks.verdicts import WORST_FIRST
from checker.season.chunk import Labels
from checker.season.chunk_result import ChunkResult

_FIRST_OF_1970: Final = date(1970, 1, 1).toordinal()


class JsonLines:
    """Findings as JSON, one a line."""

    def __init__(self) -> None:
        self._lines: list[str] = []

    def add(self, result: ChunkResult) -> None:
        """Take the findings of a chunk."""
        chunk = result.chunk
        days = [date.fromordinal(day).isoformat() for day in chunk.days.tolist()]
        rows = chunk.rows.tolist()
        crews = [_text(crew) for crew in chunk.crews]
        loads = [_text(_labels(each))[1:-1] for each in chunk.loads]
        of_haul = [
            f'{{"row": {row}, "date": "{day}", "crew": {crews[crew]}, {loads[load]}'
            for row, day, crew, load in zip(
                rows, days, chunk.crew_of.tolist(), chunk.load_of.tolist(), strict=True
            )
        ]
        for each, places, codes, margins, near, freed in _applying(result):
            rule = _text(_of_rule(each))[1:-1]
            for place, code, margin, is_near, is_freed in zip(
                places.tolist(), codes, margins.tolist(), near, freed, strict=True
            ):
                found = {
                    "verdict": WORST_FIRST[code].value,
                    "margin": None if np.isnan(margin) else margin,
                    "near": bool(is_near),
                    "excused": bool(is_freed),
                }
                self._lines.append(f"{of_haul[place]}, {rule}, {_text(found)[1:-1]}}}\n")

    def content(self) -> bytes:
        """All of them."""
        return "".join(self._lines).encode()


class Parquet:
    """Findings as a Parquet table; every text of few kinds is kept once."""

    def __init__(self) -> None:
        self._tables: list[Any] = []

    def add(self, result: ChunkResult) -> None:
        """Take the findings of a chunk."""
        arrow: Any = import_module("pyarrow")
        chunk = result.chunk
        found = list(_applying(result))
        if not found:
            return
        places = np.concatenate([each[1] for each in found])
        counts = [len(each[1]) for each in found]
        rules = [_of_rule(each[0]) for each in found]
        labels = [_labels(each) for each in chunk.loads]
        margins = np.concatenate([each[3] for each in found])

        def coded(codes: Any, names: Sequence[str]) -> Any:
            return arrow.DictionaryArray.from_arrays(
                arrow.array(codes, type=arrow.int32()), arrow.array(names, type=arrow.string())
            )

        columns = {
            "row": arrow.array(chunk.rows[places]),
            "date": arrow.array(
                (chunk.days[places] - _FIRST_OF_1970).astype(np.int32), type=arrow.date32()
            ),
            "crew": coded(chunk.crew_of[places], list(chunk.crews)),
            **{
                name: coded(chunk.load_of[places], [each[name] for each in labels])
                for name in labels[0]
            },
            **{
                name: coded(
                    np.repeat(np.arange(len(rules)), counts), [each[name] for each in rules]
                )
                for name in rules[0]
            },
            "verdict": coded(
                np.concatenate([each[2] for each in found]),
                [verdict.value for verdict in WORST_FIRST],
            ),
            "margin": arrow.array(margins, mask=np.isnan(margins)),
            "near": arrow.array(np.concatenate([each[4] for each in found])),
            "excused": arrow.array(np.concatenate([each[5] for each in found])),
        }
        self._tables.append(arrow.table(columns))

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


def _applying(result: ChunkResult) -> Iterator[tuple[RuleRows, Any, Any, Any, Any, Any]]:
    """Each rule with the indices of the hauls it applies to, and what it comes to for them."""
    hauls = result.chunk.hauls
    for each in result.rules:
        verdicts = expand(each.verdicts, hauls)
        index = np.flatnonzero(verdicts != DOES_NOT_APPLY)
        if index.size:
            margins, near, excused = (
                expand(column, hauls)[index]
                for column in (each.margins, each.near(result.near_share), each.excused)
            )
            yield each, index, verdicts[index], margins, near, excused


def _labels(of: Labels) -> dict[str, str]:
    machines = "; ".join(of.machines)
    return {
        "load": of.load,
        "trailer": of.trailer,
        "machine": machines,
        "tow_vehicle": of.tow_vehicle,
    }


def _of_rule(each: RuleRows) -> dict[str, str]:
    rule = each.rule
    return {"rulebook": each.book.id, "rule": rule.id, "level": rule.level}


def _text(data: Any) -> str:
    return json.dumps(data, ensure_ascii=False, allow_nan=False)
