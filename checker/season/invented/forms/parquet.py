"""Hauls in Parquet: figures as numbers, all else as texts."""

from collections.abc import Iterable
from itertools import chain
from pathlib import Path
from typing import Any

from checker.season.logs.extras import needed
from checker.season.logs.model import Batch, Column


def write(path: Path, batches: Iterable[Batch]) -> None:
    """Write batches that all have the same columns to a new file."""
    arrow = needed("pyarrow", "arrow", path)
    parquet = needed("pyarrow.parquet", "arrow", path)
    coming = iter(batches)
    first = next(coming)
    kinds = [arrow.float64() if column.unit else arrow.string() for column in first.columns]
    headers = [column.header for column in first.columns]
    schema = arrow.schema(list(zip(headers, kinds, strict=True)))
    with path.open("xb") as file, parquet.ParquetWriter(file, schema) as writer:
        for batch in chain([first], coming):
            columns = [
                arrow.array(_cells(batch, column), kind)
                for column, kind in zip(batch.columns, kinds, strict=True)
            ]
            writer.write_batch(arrow.record_batch(columns, schema=schema))


def _cells(batch: Batch, column: Column) -> list[Any]:
    cells = batch.cells[column.field]
    return list(cells) if column.unit else [cell if cell is None else str(cell) for cell in cells]
