"""Hauls in CSV: a header line, commas, UTF-8."""

import csv
from collections.abc import Iterable
from pathlib import Path

from checker.season.logs.model import Batch, Cell


def write(path: Path, batches: Iterable[Batch]) -> None:
    """Write batches that all have the same columns to a new file."""
    with path.open("x", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        for number, batch in enumerate(batches):
            if number == 0:
                writer.writerow([column.header for column in batch.columns])
            columns = [map(_text, batch.cells[column.field]) for column in batch.columns]
            writer.writerows(zip(*columns, strict=True))


def _text(cell: Cell) -> Cell:
    return str(cell).removesuffix(".0") if isinstance(cell, float) else cell
