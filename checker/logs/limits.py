"""Limits on the size of a log, so that no file can fill the memory; the same for all forms.

Each limit is far above the needs of a season. profiles/README.md lists them; a test compares.
"""

from typing import Final

MOST_COLUMNS: Final = 702
"""Columns of a table, including ignored ones: up to ZZ in a sheet."""
MOST_FIELDS: Final = 300
"""Fields in all rows of a part, for forms in which each row names its fields."""
MOST_ROW_BYTES: Final = 1 << 20
"""Bytes of one row of text, or of the XML of a sheet."""
MOST_CELL: Final = 1 << 17
"""Characters of one cell."""
TOO_LONG: Final = f"found a cell of more than {MOST_CELL:,} letters; wanted a word or a figure"

MOST_SHEET_ROWS: Final = 1_048_576
"""Rows of a sheet, the limit of spreadsheet programs; also the number of distinct texts."""
MOST_SHEET_CELLS: Final = 20_000_000
MOST_SHEET_BYTES: Final = 1 << 30
"""Bytes of a sheet of a workbook, unpacked."""
MOST_TEXT_BYTES: Final = 1 << 26
"""Bytes of the shared texts of a workbook, unpacked."""
MOST_OTHER_BYTES: Final = 1 << 24
"""Bytes of all other parts of a workbook, unpacked: formats, names, properties."""

MOST_GROUP_BYTES: Final = 1 << 27
"""Bytes of one column of one row group of a Parquet file, unpacked."""
