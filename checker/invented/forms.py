"""Writes batches of hauls with the same columns in each form that can be read."""

import csv
import json
import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from io import TextIOWrapper
from itertools import chain
from pathlib import Path
from typing import BinaryIO, Final

from checker.logs.model import OF_THE_HAUL, Batch, Cell, Role
from checker.logs.opening import import_optional

_PLAIN: Final = re.compile(r"[\w/][\w ./+-]*")


def _rows(batch: Batch) -> Iterator[tuple[Cell, ...]]:
    return zip(*(batch.cells[column.field] for column in batch.columns), strict=True)


def _with_header(batches: Iterable[Batch]) -> Iterator[tuple[Cell, ...]]:
    """The row of headers, then all rows."""
    for number, batch in enumerate(batches):
        if number == 0:
            yield tuple(column.header for column in batch.columns)
        yield from _rows(batch)


def _write_csv(file: BinaryIO, _target: Path, batches: Iterable[Batch]) -> None:
    text = TextIOWrapper(file, encoding="utf-8", newline="")
    writer = csv.writer(text, lineterminator="\n")
    writer.writerows(map(_plain_numbers, _with_header(batches)))
    text.detach()


def _plain_numbers(row: tuple[Cell, ...]) -> list[Cell]:
    return [str(cell).removesuffix(".0") if isinstance(cell, float) else cell for cell in row]


def _write_json_lines(file: BinaryIO, _target: Path, batches: Iterable[Batch]) -> None:
    """Write one object a line, without blank cells."""
    encode = json.JSONEncoder(ensure_ascii=False, default=str).encode
    for batch in batches:
        headers = [column.header for column in batch.columns]
        for row in _rows(batch):
            named = zip(headers, row, strict=True)
            line = encode({name: cell for name, cell in named if cell is not None})
            file.write(f"{line}\n".encode())


def _write_workbook(file: BinaryIO, target: Path, batches: Iterable[Batch]) -> None:
    book = import_optional("openpyxl", "xlsx", target).Workbook(write_only=True)
    sheet = book.create_sheet("Invented hauls")
    try:
        for row in _with_header(batches):
            sheet.append(row)
    finally:
        # The library warns if a sheet is not closed.
        sheet.close()
    book.save(file)


def _write_parquet(file: BinaryIO, target: Path, batches: Iterable[Batch]) -> None:
    """Write figures as numbers, all other cells as texts."""
    arrow = import_optional("pyarrow", "arrow", target)
    parquet = import_optional("pyarrow.parquet", "arrow", target)
    coming = iter(batches)
    first = next(coming)
    columns = {column.field: (column.header, bool(column.unit)) for column in first.columns}
    schema = arrow.schema(
        [
            (header, arrow.float64() if plain else arrow.string())
            for header, plain in columns.values()
        ]
    )
    with parquet.ParquetWriter(file, schema) as writer:
        for batch in chain([first], coming):
            arrays = [
                arrow.array(
                    [cell if plain or cell is None else str(cell) for cell in batch.cells[field]],
                    schema.field(header).type,
                )
                for field, (header, plain) in columns.items()
            ]
            writer.write_batch(arrow.record_batch(arrays, schema=schema))


def write_folder(path: Path, batches: Iterable[Batch]) -> None:
    """Write a YAML file for each haul, named after the haul."""
    path.mkdir()
    for batch in batches:
        for number, row in zip(batch.numbers, _rows(batch), strict=True):
            text = "".join(f"{line}\n" for line in _yaml_lines(batch, row))
            file = path / f"invented-{number:07}.yaml"
            file.write_text(text, encoding="utf-8", newline="\n")


def _yaml_lines(batch: Batch, row: tuple[Cell, ...]) -> Iterator[str]:
    of_haul: list[str] = []
    differs: list[str] = []
    for column, cell in zip(batch.columns, row, strict=True):
        if cell is None or column.role is Role.HAUL:
            continue
        text = str(cell)
        written = text if _PLAIN.fullmatch(text) else json.dumps(text, ensure_ascii=False)
        line = f"{column.field}: {written}" + (f" {column.unit}" if column.unit else "")
        (of_haul if column.role in OF_THE_HAUL else differs).append(line)
    yield from ("kind: haul", *of_haul)
    if differs:
        yield from ("differs:", *(f"  {line}" for line in differs))


FORMS: Final[Mapping[str, Callable[[BinaryIO, Path, Iterable[Batch]], None]]] = {
    ".csv": _write_csv,
    ".jsonl": _write_json_lines,
    ".ndjson": _write_json_lines,
    ".xlsx": _write_workbook,
    ".parquet": _write_parquet,
}
"""The function that writes each form, by the suffix of the file."""
