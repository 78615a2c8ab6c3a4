"""Hauls in CSV: a header line, commas, UTF-8."""

import re
from collections.abc import Iterable
from pathlib import Path
from typing import Final

from checker.season.logs.model import Batch, Cell

_MOST_KEPT: Final = 65_536
_MARKS: Final = re.compile('[,"\\r\\n]')


def write(path: Path, batches: Iterable[Batch]) -> None:
    """Write batches that all have the same columns to a new file."""
    words: dict[str, _Words] = {}
    with path.open("x", encoding="utf-8", newline="") as file:
        for batch in batches:
            if not words:
                words = {column.field: _Words() for column in batch.columns}
                headers = [_quoted(column.header) for column in batch.columns]
                file.write(",".join(headers) + "\n")
            columns = [
                map(words[column.field].__getitem__, batch.cells[column.field])
                for column in batch.columns
            ]
            file.writelines([",".join(row) + "\n" for row in zip(*columns, strict=True)])


class _Words(dict[Cell, str]):
    """The text of each cell of one column: a season repeats itself, and so each is made once."""

    def __missing__(self, cell: Cell) -> str:
        if isinstance(cell, float):
            text = str(cell).removesuffix(".0")
        else:
            text = "" if cell is None else _quoted(str(cell))
        if len(self) < _MOST_KEPT:
            self[cell] = text
        return text


def _quoted(text: str) -> str:
    if _MARKS.search(text):
        return '"' + text.replace('"', '""') + '"'
    return text
