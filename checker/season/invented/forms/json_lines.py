"""Hauls as JSON, one object a line, without what is blank."""

import json
from collections.abc import Iterable
from pathlib import Path

from checker.season.logs.model import Batch


def write(path: Path, batches: Iterable[Batch]) -> None:
    """Write batches to a new file."""
    encode = json.JSONEncoder(ensure_ascii=False, default=str).encode
    with path.open("x", encoding="utf-8", newline="") as file:
        for batch in batches:
            headers = [column.header for column in batch.columns]
            columns = [batch.cells[column.field] for column in batch.columns]
            for row in zip(*columns, strict=True):
                named = zip(headers, row, strict=True)
                file.write(encode({name: cell for name, cell in named if cell is not None}) + "\n")
