"""Spreadsheet cells: text from a file must not run as a formula."""

import csv
import io
from collections.abc import Iterable, Mapping, Sequence

# A spreadsheet runs a cell that begins with one of these as a formula. East Asian editions read the
# full-width forms as the others.
_RUNS = ("=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20")


def would_run(text: str) -> bool:
    """True if a spreadsheet might take the text for a formula; numbers stay numbers."""
    if not text.startswith(_RUNS):
        return False
    try:
        float(text)
    except ValueError:
        return True
    return False


def tame(text: str) -> str:
    """The text for a CSV cell, with an apostrophe in front where a spreadsheet would run it."""
    return f"'{text}" if would_run(text) else text


def csv_table(columns: Sequence[str], rows: Iterable[Mapping[str, object]]) -> str:
    """Rows below a line of headers as CSV; a column that a row does not have is blank."""
    text = io.StringIO()
    table = csv.DictWriter(text, columns, lineterminator="\r\n")
    table.writeheader()
    for row in rows:
        table.writerow({name: tame(str(value)) for name, value in row.items()})
    return text.getvalue()
