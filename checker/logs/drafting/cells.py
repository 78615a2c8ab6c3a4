"""What the cells of a column show: days, answers, figures, and how they are written."""

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Final

from checker.logs.cells import as_text, day_of
from checker.logs.decimal_sign import fits
from checker.logs.drafting.scalars import can_be_written
from checker.logs.model import Cell, DecimalSign

_TIMES: Final = ("", " %H:%M", " %H:%M:%S", "T%H:%M:%S", " %I:%M %p")
_DAYS: Final = (
    *("%m/%d/%Y", "%d/%m/%Y", "%d.%m.%Y", "%m-%d-%Y", "%d-%m-%Y", "%Y/%m/%d", "%Y%m%d"),
    *("%m/%d/%y", "%d/%m/%y", "%d.%m.%y", "%d-%b-%Y", "%d %b %Y", "%b %d, %Y", "%b %d %Y"),
    *("%d-%b-%y", "%B %d, %Y", "%d %B %Y", "%Y-%m-%d", "%Y.%m.%d"),
)
_SHARE: Final = 0.7
"""Share of the cells that must fit before a column counts as one of days or answers."""

YES: Final = frozenset(
    ("y", "yes", "ja", "j", "oui", "si", "sí", "true", "ok", "okay", "pass", "passed", "good", "✓")
)
NO: Final = frozenset(("n", "no", "nein", "non", "false", "fail", "failed", "bad", "not ok"))
_OPPOSITE: Final = {"Y": "N", "y": "n", "Ja": "Nein", "ja": "nein", "J": "N", "Yes": "No"}
"""The words that come with a word for yes or no, should one not occur in the sample."""
_FIGURE: Final = re.compile(r"[-+]?[0-9][0-9.,\s]*")


@dataclass(frozen=True, slots=True)
class DayForms:
    """The forms that read the days of a column; both orders where the cells fit both.

    `stated` is empty for days that need no form: 2026-05-14, and days of a workbook. `mixed` holds
    an example of each order where no form reads all.
    """

    stated: Sequence[str] = ()
    days: int = 0
    mixed: Sequence[str] = ()


def days_of(cells: Sequence[Cell]) -> DayForms | None:
    """How the days of a column are written; None if it holds other things than days."""
    filled = [cell for cell in cells if not is_empty(cell)]
    texts = Counter(cell for cell in filled if isinstance(cell, str))
    others = sum(isinstance(cell, date) for cell in filled)
    if not filled:
        return None
    iso = sum(number for text, number in texts.items() if day_of(text, None))
    if iso + others >= _SHARE * len(filled):
        return DayForms((), iso + others)
    counts: dict[str, int] = {}
    for form in (day + time for time in _TIMES for day in _DAYS):
        fitting = sum(number for text, number in texts.items() if day_of(text, form))
        if fitting:
            counts[form] = fitting
    best = max(counts.values(), default=0)
    if best + others < _SHARE * len(filled):
        orders = [form for form in counts if _swapped(form) in counts]
        both = {text for text in texts for form in orders if day_of(text, form)}
        if len(orders) > 1 and sum(texts[text] for text in both) >= _SHARE * len(filled):
            mixed = _mixed(orders[0], texts)
            # Without an example of each they differ otherwise, as 05/14/2026 and 5/14/26 do.
            return mixed if all(mixed.mixed) else None
        return None
    stated = [form for form, number in counts.items() if number == best]
    if len(stated) == 1 and counts.get(other := _swapped(stated[0]), 0):
        alone = [text for text in texts if day_of(text, other) and not day_of(text, stated[0])]
        if alone:
            return _mixed(stated[0], texts)
    return DayForms(stated[:2], best + others)


@dataclass(slots=True)
class WayOfDays:
    """One of several ways in which the days of a column are written."""

    shown: str
    """The first cell written so."""
    first: int
    """The index of that cell."""
    cells: int = 0


def ways_of_days(cells: Sequence[Cell]) -> Sequence[WayOfDays]:
    """The ways in which days are written, the most frequent first; none if few cells are days."""
    filled = {index: cell for index, cell in enumerate(cells) if not is_empty(cell)}
    left, found = dict(filled), []
    forms = (None, *(day + time for time in _TIMES for day in _DAYS))
    while left:
        # Forms that read none of the cells left read none later.
        read = {form: [at for at, cell in left.items() if day_of(cell, form)] for form in forms}
        forms = tuple(form for form in forms if read[form])
        if not forms:
            break
        fitting = max(read.values(), key=lambda indices: (len(indices), -min(indices, default=0)))
        found.append(WayOfDays(as_text(filled[fitting[0]]), fitting[0], len(fitting)))
        for at in fitting:
            del left[at]
    return found if len(filled) - len(left) >= _SHARE * len(filled) else []


def _mixed(form: str, texts: Mapping[str, int]) -> DayForms:
    other = _swapped(form)
    one = next((text for text in texts if day_of(text, form) and not day_of(text, other)), "")
    two = next((text for text in texts if day_of(text, other) and not day_of(text, form)), "")
    return DayForms((form, other), 0, (one, two))


def _swapped(form: str) -> str:
    """The form with day and month in the other order."""
    return form.replace("%d", "%-").replace("%m", "%d").replace("%-", "%m")


@dataclass(frozen=True, slots=True)
class Answers:
    """The words of a column that mean yes and no, and those of unclear meaning."""

    words: Mapping[str, str] = field(default_factory=dict)
    unclear: Sequence[str] = ()
    never_no: bool = False
    """True if no word in the cells means no."""


def are_answers(cells: Sequence[Cell]) -> bool:
    """True if most cells are words for yes or no."""
    words = [as_text(cell).strip().casefold() for cell in cells if not is_empty(cell)]
    return bool(words) and sum(word in YES | NO for word in words) >= _SHARE * len(words)


def answers_of(cells: Sequence[Cell]) -> Answers:
    """What the words of a column of answers mean."""
    texts = dict.fromkeys(as_text(cell).strip() for cell in cells if not is_empty(cell))
    known = {text: "yes" for text in texts if text.casefold() in YES}
    known |= {text: "no" for text in texts if text.casefold() in NO}
    never_no = "no" not in known.values()
    for yes, no in _OPPOSITE.items():
        if yes in known:
            known[no] = "no"
    own = {
        text: meaning for text, meaning in known.items() if text != meaning and can_be_written(text)
    }
    return Answers(own, [text for text in texts if text not in known], never_no)


def has_figures(cells: Sequence[Cell]) -> bool:
    """True if most cells are numbers, with or without a unit behind them."""
    filled = [cell for cell in cells if not is_empty(cell)]
    figures = sum(
        isinstance(cell, int | float) or (isinstance(cell, str) and bool(_FIGURE.match(cell)))
        for cell in filled
    )
    return bool(filled) and figures >= _SHARE * len(filled)


def bare_figures(cells: Sequence[Cell]) -> bool:
    """True if some cell is a number without a unit."""
    return any(
        isinstance(cell, int | float) or (isinstance(cell, str) and _FIGURE.fullmatch(cell))
        for cell in cells
        if not isinstance(cell, bool)
    )


def decimal_signs(cells: Sequence[Cell]) -> Mapping[DecimalSign, str]:
    """By decimal sign, a cell that fits it alone; under UNKNOWN one that fits both."""
    found: dict[DecimalSign, str] = {}
    for cell in cells:
        if isinstance(cell, str) and _FIGURE.match(cell):
            match fits(cell, DecimalSign.COMMA):
                case True, True:
                    found.setdefault(DecimalSign.UNKNOWN, cell)
                case True, False:
                    found.setdefault(DecimalSign.COMMA, cell)
                case False, True:
                    found.setdefault(DecimalSign.POINT, cell)
    return found


def is_empty(cell: Cell) -> bool:
    """True if a cell has nothing in it."""
    return cell is None or (isinstance(cell, str) and not cell.strip())
