"""Days and figures that may be read in two ways, held against what the mapping file says.

`05/06/2026` fits both orders of day and month. A cell that fits only the other order shows that
the mapping file is wrong, and then every cell that fits both was read wrongly too.
"""

import re
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Final

from checker.documents.problems import Mark, Problem, ProblemsFoundError, quoted
from checker.logs.cells import day_of, translate, words_for
from checker.logs.decimal_sign import fits
from checker.logs.model import Batch, Cell, Column, DecimalSign, LogMapping, Role

_MOST_ROWS: Final = 5
_TWELFTH: Final = 12
_DAY_AND_MONTH: Final = re.compile(r"%[dm]")

_Fits = Callable[[str], tuple[bool, bool]]
"""Whether a text fits what the mapping file says, and whether it fits the other reading."""


@dataclass(slots=True)
class Readings:
    """How the cells of a column fit what the mapping file says and the other reading.

    `key` is that of the mapping file, `stated` what it says there.
    """

    header: str
    key: str
    stated: str
    only: int = 0
    both: int = 0
    other: int = 0
    example: str = ""
    """The first cell that fits both."""
    first_other: list[tuple[int, str]] = field(default_factory=list)
    """Rows and cells that fit the other reading alone."""
    held_as_days: int = 0
    """Cells that a workbook holds as days."""
    after_the_12th: int = 0
    """How many of those are after the 12th of a month."""

    @property
    def may_be_swapped(self) -> bool:
        """True if a workbook holds as days only what fits both orders, and as texts only the rest.

        So it is where a program read days in the other order, and left as texts what had none.
        """
        return bool(self.held_as_days and self.only) and not (self.both or self.after_the_12th)

    def merge(self, other: "Readings") -> None:
        """Add the counts of the rows that follow."""
        self.only += other.only
        self.both += other.both
        self.other += other.other
        self.held_as_days += other.held_as_days
        self.after_the_12th += other.after_the_12th
        self.example = self.example or other.example
        self.first_other += other.first_other[: _MOST_ROWS - len(self.first_other)]


def readings(batch: Batch, mapping: LogMapping) -> Iterator[Readings]:
    """The readings of each column that may be read in two ways."""
    for column in batch.columns:
        found = _of_column(column, mapping)
        if found is not None:
            counts, fitting = found
            words = words_for(column, mapping)
            cells = [translate(cell, words) for cell in batch.cells[column.field]]
            _count(counts, fitting, cells, batch.numbers)
            yield counts


def _of_column(column: Column, mapping: LogMapping) -> tuple[Readings, _Fits] | None:
    form = mapping.dates
    if column.role is Role.DATE and form is not None:
        swapped = _DAY_AND_MONTH.sub(lambda found: "%m" if found[0] == "%d" else "%d", form)
        if len(_DAY_AND_MONTH.findall(form)) != 2 or form.startswith("%Y"):
            return None

        def days_fit(text: str) -> tuple[bool, bool]:
            own, other = day_of(text, form), day_of(text, swapped)
            # 05/05/2026 is the same day in both orders.
            return own != other and own is not None, own != other and other is not None

        return Readings(column.header, "dates", form), days_fit
    if column.role is Role.QUANTITY and column.decimal is not DecimalSign.USUAL:
        sign = column.decimal
        return Readings(column.header, "decimal", sign.value), lambda text: fits(text, sign)
    return None


def _count(counts: Readings, fitting: _Fits, cells: Sequence[Cell], numbers: Sequence[int]) -> None:
    others = set()
    days = [cell.day for cell in cells if isinstance(cell, date)]
    counts.held_as_days, counts.after_the_12th = len(days), sum(day > _TWELFTH for day in days)
    # Only texts may be read in two ways, and each distinct one is looked at once.
    for text, number in Counter(cell for cell in cells if isinstance(cell, str)).items():
        match fitting(text):
            case True, True:
                counts.both += number
                counts.example = counts.example or text
            case True, False:
                counts.only += number
            case False, True:
                counts.other += number
                others.add(text)
    if others:
        found = (
            (row, str(cell)) for row, cell in zip(numbers, cells, strict=True) if cell in others
        )
        counts.first_other = [each for each, _ in zip(found, range(_MOST_ROWS), strict=False)]


def refuse_contradicted(log: str, counts: Iterable[Readings]) -> None:
    """Raise ProblemsFoundError if cells show that the mapping file is wrong about a column."""
    problems = [
        Problem(log, Mark(each.first_other[0][0], 1), *_contradiction(each))
        for each in counts
        if each.other
    ]
    if problems:
        raise ProblemsFoundError(problems)


def _contradiction(each: Readings) -> tuple[str, str]:
    """What is found and wanted where cells contradict the mapping file."""
    rows = ", ".join(f"{quoted(text)} in row {row}" for row, text in each.first_other)
    more = f" and {each.other - len(each.first_other):,} more" * (
        each.other > len(each.first_other)
    )
    found = f"{rows}{more} under {quoted(each.header)}"
    if each.stated == DecimalSign.UNKNOWN:
        return (
            f"{found}, where the comma may part thousands or begin decimals",
            "`decimal: comma` or `decimal: point` in a mapping file",
        )
    fit = "fits" if each.only == 1 else "fit"
    also = f"of its other cells {each.only:,} {fit} that alone and {each.both:,} both"
    return (
        f"{found}, which `{each.key}: {each.stated}` cannot read and the other way can ({also})",
        f"`{each.key}:` as all cells are written; else the rows corrected or left out",
    )
