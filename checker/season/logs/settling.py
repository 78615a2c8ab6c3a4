"""What every form of log shares: the officer's words put into ours, rows without load or day."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date, datetime
from itertools import compress

from checker.documents.problems import quoted
from checker.season.logs.model import Batch, Cell, Column, OwnWords, Refused, Role

_MOST_KEPT = 16_384  # days told apart; a log of more is read a little slower


def settled(batches: Iterable[Batch], own: OwnWords) -> Iterator[Batch]:
    """Batches as a reader found them, with blanks, words and days told; rows of neither refused."""
    days = _Days(own.dates)
    for batch in batches:
        cells = {
            column.field: _worded(batch.cells[column.field], _words(column, own))
            for column in batch.columns
        }
        yield _with_load_and_day(batch, cells, days)


def _words(column: Column, own: OwnWords) -> Mapping[str, Cell]:
    words = own.words.get(column.field, {})
    return {**own.answers, **words} if column.role is Role.ANSWER else words


def _worded(cells: Sequence[Cell], words: Mapping[str, Cell]) -> Sequence[Cell]:
    """Cells without white space around them, blank ones as None, an officer's words as ours."""
    told = [(cell.strip() or None) if isinstance(cell, str) else cell for cell in cells]
    if not words:
        return told
    # A blank is no word, not even where a mapping has one that is spelt None.
    return [cell if cell is None else words.get(_as_text(cell), cell) for cell in told]


def _as_text(cell: Cell) -> str:
    """A cell as the mapping file names it: `1` for the whole numbers of a sheet too."""
    whole = isinstance(cell, float) and cell.is_integer()
    return str(int(cell)) if whole and isinstance(cell, float) else str(cell)


class _Days:
    """Cells as days, each distinct text read once."""

    def __init__(self, form: str | None) -> None:
        self.form = form
        self.known: dict[Cell, date | None] = {}

    def day(self, cell: Cell) -> date | None:
        """The day a cell stands for; None when it stands for none."""
        if cell not in self.known:
            if len(self.known) >= _MOST_KEPT:
                self.known.clear()
            self.known[cell] = self._read(cell)
        return self.known[cell]

    def _read(self, cell: Cell) -> date | None:
        if isinstance(cell, datetime):
            return cell.date()
        if isinstance(cell, date):
            return cell
        if not isinstance(cell, str):
            return None
        try:
            if self.form is None:
                # Python reads 20260514 and 2026-W20-4 as well, which profiles do not.
                return date.fromisoformat(cell) if cell[4:5] == cell[7:8] == "-" else None
            return datetime.strptime(cell, self.form).date()
        except ValueError:
            return None

    def wanted(self) -> str:
        """A day in the form of this log."""
        return f"a day such as {date(2026, 5, 14).strftime(self.form or '%Y-%m-%d')}"


def _with_load_and_day(batch: Batch, cells: dict[str, Sequence[Cell]], days: _Days) -> Batch:
    loads = [None if cell is None else _as_text(cell) for cell in cells[Role.LOAD]]
    found = cells[Role.DATE]
    cells[Role.LOAD] = loads
    cells[Role.DATE] = [days.day(cell) for cell in found]
    kept = [
        load is not None and day is not None
        for load, day in zip(loads, cells[Role.DATE], strict=True)
    ]
    if all(kept):
        return Batch(batch.columns, batch.numbers, cells, batch.refused)
    refused = [
        Refused(number, _lack(load, cell, days))
        for number, load, cell, keep in zip(batch.numbers, loads, found, kept, strict=True)
        if not keep
    ]
    return Batch(
        batch.columns,
        list(compress(batch.numbers, kept)),
        {name: list(compress(column, kept)) for name, column in cells.items()},
        sorted([*batch.refused, *refused], key=lambda each: each.row),
    )


def _lack(load: Cell, day: Cell, days: _Days) -> str:
    if load is None:
        return "found no load; wanted the name of a load profile"
    said = "nothing" if day is None else quoted(str(day))
    return f"found {said} in date; wanted {days.wanted()}"
