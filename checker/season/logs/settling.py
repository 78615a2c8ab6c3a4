"""Interprets cells in all forms of log: words of the mapping file, names, days."""

from collections.abc import Mapping
from datetime import date, datetime
from typing import Final

from checker.documents.problems import quoted
from checker.season.logs.model import Cell, Column, LogMapping, Role

NO_LOAD = "found no load; wanted the name of a load profile"

_FIRST_YEAR: Final = 1970
_LAST_YEAR: Final = 2099
"""A day outside these years is a typing error, and reports list all months up to it."""


def words_for(column: Column, mapping: LogMapping) -> Mapping[str, Cell]:
    """The meanings of the mapping file's words in a column."""
    words = mapping.words.get(column.field, {})
    return {**mapping.answers, **words} if column.role is Role.ANSWER else words


def translate(cell: Cell, words: Mapping[str, Cell]) -> Cell:
    """The cell stripped, None if blank, with a word of the mapping file replaced by its meaning."""
    bare = (cell.strip() or None) if isinstance(cell, str) else cell
    # A blank is not looked up, even if a mapping has the word None.
    return bare if bare is None or not words else words.get(as_text(bare), bare)


def as_text(cell: Cell) -> str:
    """A cell as text, as in names and mapping files; a whole number is `1`, also from a sheet."""
    whole = isinstance(cell, float) and cell.is_integer()
    return str(int(cell)) if whole and isinstance(cell, float) else str(cell)


def day_of(cell: Cell, form: str | None) -> date | None:
    """The day in a cell, in the format `form`; None if it is not a day from 1970 to 2099."""
    day = _written(cell, form)
    return day if day is not None and _FIRST_YEAR <= day.year <= _LAST_YEAR else None


def _written(cell: Cell, form: str | None) -> date | None:
    """The day in a cell, of any year; None if there is none."""
    if isinstance(cell, datetime):
        return cell.date()
    if isinstance(cell, date):
        return cell
    if not isinstance(cell, str):
        return None
    try:
        if form is None:
            # Python reads 20260514 and 2026-W20-4 as well, which profiles do not.
            return date.fromisoformat(cell) if cell[4:5] == cell[7:8] == "-" else None
        return datetime.strptime(cell, form).date()
    except ValueError:
        return None


def date_fault(cell: Cell, form: str | None) -> str:
    """The fault of a date cell without a valid day."""
    found = "nothing" if cell is None else quoted(str(cell))
    wanted = f"such as {date(2026, 5, 14).strftime(form or '%Y-%m-%d')}"
    if _written(cell, form):
        wanted = f"from {_FIRST_YEAR} to {_LAST_YEAR}"
    return f"found {found} in date; wanted a day {wanted}"
