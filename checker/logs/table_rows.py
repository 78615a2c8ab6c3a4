"""What becomes of each row of a table: cells to check, left out, refused, or skipped as blank."""

from collections.abc import Sequence

from checker.logs.layout_keys import ensure_words_have_headers
from checker.logs.left_out import RowSorter
from checker.logs.model import Cell, Column, LeftOut, LogMapping

TakenRow = Sequence[Cell] | str | LeftOut
"""The cells, none for a blank row; or why the row is refused or left out."""


class TableRows:
    """Decides about the rows below the headers of a table."""

    def __init__(
        self, headers: Sequence[str], columns: Sequence[Column | None], mapping: LogMapping
    ) -> None:
        """Raises ProblemsFoundError where the mapping file names a header that is not there."""
        ensure_words_have_headers(mapping, headers)
        self.columns = columns
        self._sorter = RowSorter(headers, columns, mapping)
        self._gaps = [index for index, header in enumerate(headers) if not header]

    def left_out(self, number: int, cells: Sequence[Cell]) -> LeftOut | None:
        """Why a row that is not blank is left out; None for a row to check."""
        return None if self._sorter.is_idle else self._sorter.left_out(number, cells)

    def fault(self, cells: Sequence[Cell]) -> str | None:
        """The fault of a row with a cell in a column without a header; else None."""
        for index in self._gaps:
            if not is_blank(cells[index]):
                return f"found a cell in column {index + 1}, which has no header"
        return None


def is_blank(cell: Cell) -> bool:
    """True if a cell has nothing to read."""
    return cell is None or (isinstance(cell, str) and not cell.strip())
