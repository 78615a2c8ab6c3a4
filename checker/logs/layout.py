"""Where the hauls stand in a table, as a mapping file says: sheet, headers, rows to leave out."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

FIND: Final = "find"
"""In place of the number of the header row: the first row that has the headers of the mapping."""

SEPARATORS: Final[Mapping[str, str]] = {
    "comma": ",",
    "semicolon": ";",
    "tab": "\t",
    "vertical bar": "|",
}
"""By its word in a mapping file, what stands between the cells of a CSV text."""

ENCODINGS: Final[Mapping[str, str]] = {
    "utf-8": "utf-8-sig",
    "windows-1252": "cp1252",
    "utf-16": "utf-16",
}
"""By its word in a mapping file, the name of Python's codec."""

KEYS_OF_TABLES: Final = ("header_row", "units_row", "leave_out")
KEYS_OF_TEXTS: Final = ("separator", "encoding")
KEYS_OF_WORKBOOKS: Final = ("sheet",)


@dataclass(frozen=True, slots=True)
class LeaveOut:
    """The rows of a table that are no hauls.

    `rows` holds ranges of row numbers, both ends included. `words` holds by header the words that
    mark a row; one that ends in `*` is the beginning of a cell.
    """

    rows: Sequence[tuple[int, int]] = ()
    after_row: int | None = None
    words: Mapping[str, Sequence[str]] = field(default_factory=dict)
    repeated_headers: bool = False
    lone_texts: bool = False


@dataclass(frozen=True, slots=True)
class Layout:
    """What a mapping file says about the rows of a table, whatever their columns hold.

    `sheet` is the name of a sheet, or its position from 1 among the visible ones. `header_row` is
    a row number or FIND; None is the first row of a sheet, of a text the first with any cell.
    """

    sheet: str | int | None = None
    header_row: int | str | None = None
    units_row: bool = False
    separator: str = ","
    encoding: str = ENCODINGS["utf-8"]
    leave_out: LeaveOut = field(default_factory=LeaveOut)
