"""Which rows of a table are no hauls, as the mapping file says, and the count of them."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from checker.logs.cells import PLAIN, as_text, day_of, translate, words_for
from checker.logs.columns import header_text
from checker.logs.layout import LeaveOut
from checker.logs.model import Cell, Column, LeftOut, LogMapping, Role

ABOVE: Final = "above the headers"
_MOST_ROWS: Final = 20
"""Most rows listed for each reason; all are counted."""


class RowSorter:
    """Finds the rows of a table that the mapping file leaves out."""

    def __init__(
        self, headers: Sequence[str], columns: Sequence[Column | None], mapping: LogMapping
    ) -> None:
        """`headers` are those of the table, whose rows have the same columns."""
        self._leave_out: LeaveOut = mapping.layout.leave_out
        self._dates = mapping.dates
        self._headers = _without_end(headers)
        self._words = [
            (index, header, word)
            for index, header in enumerate(headers)
            for word in self._leave_out.words.get(header, ())
        ]
        self._load, self._date = (
            next(
                (index, words_for(column, mapping))
                for index, column in enumerate(columns)
                if column is not None and column.role is role
            )
            for role in (Role.LOAD, Role.DATE)
        )
        self.is_idle = self._leave_out == LeaveOut()
        """True if no row is left out."""

    def left_out(self, number: int, cells: Sequence[Cell]) -> LeftOut | None:
        """Why a row is left out; None for a row to check. `cells` may be more or fewer."""
        reason = self._reason(number, cells)
        return LeftOut(number, reason, states_haul=self._states_haul(cells)) if reason else None

    def _reason(self, number: int, cells: Sequence[Cell]) -> str | None:
        given = self._leave_out
        if any(first <= number <= last for first, last in given.rows):
            return "by its number"
        if given.after_row is not None and number > given.after_row:
            return f"below row {given.after_row}"
        for index, header, word in self._words:
            if index < len(cells) and _has_word(_text(cells[index]), word):
                return f"'{word}' in {header}"
        if given.repeated_headers and _without_end(_as_headers(cells)) == self._headers:
            return "the headers again"
        if given.lone_texts and self._is_lone_text(cells):
            return "a text in one cell alone"
        return None

    def _is_lone_text(self, cells: Sequence[Cell]) -> bool:
        """True for a row with one text, which is no number, no day and no word for a load.

        A row with a load or a day alone is a haul that somebody forgot to fill in.
        """
        filled = [(index, cell) for index, cell in enumerate(cells) if _text(cell)]
        if len(filled) != 1 or not isinstance(filled[0][1], str):
            return False
        text = filled[0][1].strip()
        is_load = filled[0][0] == self._load[0] and text in self._load[1]
        is_day = any(day_of(text, form) for form in (self._dates, None))
        return not (is_load or is_day or PLAIN.fullmatch(text))

    def _states_haul(self, cells: Sequence[Cell]) -> bool:
        """True if a row has a load and a day, as a haul does."""
        if len(cells) <= max(self._load[0], self._date[0]):
            return False
        day = translate(cells[self._date[0]], self._date[1])
        return bool(_text(cells[self._load[0]])) and day_of(day, self._dates) is not None


def _has_word(text: str, word: str) -> bool:
    """True if a cell is a word, also with a colon, or begins with one that ends in `*`."""
    folded, word = text.casefold(), word.casefold()
    if word.endswith("*"):
        return folded.startswith(word[:-1])
    return folded in (word, f"{word}:")


def _text(cell: Cell) -> str:
    return "" if cell is None else as_text(cell).strip()


def _as_headers(cells: Sequence[Cell]) -> list[str]:
    return [header_text(_text(cell)) for cell in cells]


def _without_end(texts: Sequence[str]) -> list[str]:
    """The texts without blanks at their end."""
    kept = list(texts)
    while kept and not kept[-1]:
        kept.pop()
    return kept


@dataclass(slots=True)
class LeftOutRows:
    """The count of rows left out, by reason; adds up in the order of the log."""

    counts: dict[str, int] = field(default_factory=dict)
    first: dict[str, list[int]] = field(default_factory=dict)
    """The first rows left out for each reason."""
    hauls: int = 0
    """How many of them state a load and a day, and so are probably hauls."""

    def add(self, rows: Iterable[LeftOut]) -> None:
        """Count further rows."""
        for each in rows:
            self._count(each.reason, 1, [each.row])
            self.hauls += each.states_haul

    def merge(self, other: "LeftOutRows") -> None:
        """Add the counts of the rows that follow."""
        for reason, number in other.counts.items():
            self._count(reason, number, other.first[reason])
        self.hauls += other.hauls

    def _count(self, reason: str, number: int, rows: Sequence[int]) -> None:
        self.counts[reason] = self.counts.get(reason, 0) + number
        first = self.first.setdefault(reason, [])
        first.extend(rows[: _MOST_ROWS - len(first)])

    @property
    def total(self) -> int:
        """Number of all rows left out."""
        return sum(self.counts.values())

    def words(self) -> Mapping[str, str]:
        """By reason, the rows in words: `rows 1, 2, 214 and 30 more`."""
        return {
            reason: _rows_in_words(self.first[reason], number)
            for reason, number in self.counts.items()
        }


def _rows_in_words(rows: Sequence[int], number: int) -> str:
    noun = "row" if number == 1 else "rows"
    more = f" and {number - len(rows):,} more" if number > len(rows) else ""
    return f"{noun} {', '.join(map(str, rows))}{more}"
