"""Hauls as a folder of YAML files, one haul in each."""

import json
import re
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Final

from checker.season.logs.model import OF_THE_HAUL, Batch, Cell, Role

_PLAIN: Final = re.compile(r"[\w/][\w ./+-]*")


def write(path: Path, batches: Iterable[Batch]) -> None:
    """Write batches to a new folder; the name of each file is that of its haul."""
    path.mkdir()
    for batch in batches:
        columns = [batch.cells[column.field] for column in batch.columns]
        for number, row in zip(batch.numbers, zip(*columns, strict=True), strict=True):
            lines = "".join(f"{line}\n" for line in _lines(batch, row))
            name = f"invented-{number:07}.yaml"
            (path / name).write_text(lines, encoding="utf-8", newline="\n")


def _lines(batch: Batch, row: tuple[Cell, ...]) -> Iterator[str]:
    told = [
        (column, cell) for column, cell in zip(batch.columns, row, strict=True) if cell is not None
    ]
    yield "kind: haul"
    for column, cell in told:
        if column.role in OF_THE_HAUL and column.role is not Role.HAUL:
            yield f"{column.field}: {_text(cell)}"
    differs = [(column, cell) for column, cell in told if column.role not in OF_THE_HAUL]
    if differs:
        yield "differs:"
    for column, cell in differs:
        yield f"  {column.field}: {_text(cell)}" + (f" {column.unit}" if column.unit else "")


def _text(cell: Cell) -> str:
    text = str(cell)
    return text if _PLAIN.fullmatch(text) else json.dumps(text, ensure_ascii=False)
