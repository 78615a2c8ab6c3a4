"""Hauls in the one sheet of a workbook."""

from collections.abc import Iterable
from pathlib import Path

from checker.season.logs.extras import needed
from checker.season.logs.model import Batch


def write(path: Path, batches: Iterable[Batch]) -> None:
    """Write batches that all have the same columns to a new file."""
    openpyxl = needed("openpyxl", "xlsx", path)
    book = openpyxl.Workbook(write_only=True)
    sheet = book.create_sheet("Invented hauls")
    try:
        for number, batch in enumerate(batches):
            if number == 0:
                sheet.append([column.header for column in batch.columns])
            columns = [batch.cells[column.field] for column in batch.columns]
            for row in zip(*columns, strict=True):
                sheet.append(row)
    finally:
        # A sheet that is left open complains when it is thrown away.
        sheet.close()
    with path.open("xb") as file:
        book.save(file)
