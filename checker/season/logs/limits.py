"""How much of a log is read at all, so that no file fills the memory; the same bounds in all forms.

Each is far above what a season of hauls needs. profiles/README.md lists them; a test compares.
"""

from typing import Final

MOST_COLUMNS: Final = 702
"""Columns of a table, also those that nobody reads: up to ZZ, as sheets name them."""
MOST_FIELDS: Final = 300
"""Fields that the rows of a part state between them where each row names its own."""
MOST_ROW_BYTES: Final = 1 << 20
"""One row of a text, or of a sheet's XML."""
MOST_CELL: Final = 1 << 17
"""Letters of one cell."""
TOO_LONG: Final = f"found a cell of more than {MOST_CELL:,} letters; wanted a word or a figure"

MOST_SHEET_ROWS: Final = 1_048_576
"""Rows of a sheet, as many as the programs that write them allow; as many distinct texts."""
MOST_SHEET_CELLS: Final = 20_000_000
MOST_SHEET_BYTES: Final = 1 << 30
"""A sheet of a workbook, unpacked."""
MOST_TEXT_BYTES: Final = 1 << 26
"""The texts that the sheets of a workbook share, unpacked; those of a part of a Parquet file."""
MOST_OTHER_BYTES: Final = 1 << 24
"""All parts of a workbook beside those, unpacked: formats, names, properties."""

MOST_GROUP_BYTES: Final = 1 << 27
"""One column of one row group of a Parquet file, unpacked."""
