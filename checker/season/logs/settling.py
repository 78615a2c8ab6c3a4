"""What cells of all forms of log mean: officer's words, names, days."""

from collections.abc import Mapping
from datetime import date, datetime
from typing import Final

from checker.documents.problems import quoted
from checker.season.logs.model import Cell, Column, OwnWords, Role

NO_LOAD = "found no load; wanted the name of a load profile"

_FIRST_YEAR: Final = 1970
_LAST_YEAR: Final = 2099
"""A day outside is a slip of the pen, and a list of all months up to it would have no end."""


def words_for(column: Column, own: OwnWords) -> Mapping[str, Cell]:
    """What the officer's words in a column mean in ours."""
    words = own.words.get(column.field, {})
    return {**own.answers, **words} if column.role is Role.ANSWER else words


def translated(cell: Cell, words: Mapping[str, Cell]) -> Cell:
    """A cell without white space around it, a blank one as None, an officer's word as ours."""
    bare = (cell.strip() or None) if isinstance(cell, str) else cell
    # A blank is no word, not even where a mapping has one that is spelt None.
    return bare if bare is None or not words else words.get(as_text(bare), bare)


def as_text(cell: Cell) -> str:
    """A cell as a name, or as the mapping file has it: `1` for the whole numbers of a sheet too."""
    whole = isinstance(cell, float) and cell.is_integer()
    return str(int(cell)) if whole and isinstance(cell, float) else str(cell)


def day_of(cell: Cell, form: str | None) -> date | None:
    """The day a cell stands for, written as `form` says; None when no haul can have been on it."""
    day = _written(cell, form)
    return day if day is not None and _FIRST_YEAR <= day.year <= _LAST_YEAR else None


def _written(cell: Cell, form: str | None) -> date | None:
    """The day that a cell says, whatever its year; None when it says none."""
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


def no_day(cell: Cell, form: str | None) -> str:
    """What to say of a row whose date is none."""
    said = "nothing" if cell is None else quoted(str(cell))
    wanted = f"such as {date(2026, 5, 14).strftime(form or '%Y-%m-%d')}"
    if _written(cell, form):
        wanted = f"from {_FIRST_YEAR} to {_LAST_YEAR}"
    return f"found {said} in date; wanted a day {wanted}"
