"""Figures of an explanation: more digits than in a check, in units that fit one calculation."""

from checker.advice.explain import Explanation, WorkedFormula
from checker.documents.schemas import field_kind, word_for_none
from checker.facts.catalogue import ANSWER
from checker.load.model import Origin
from checker.reports.shared.comparison_words import FormulaWords, answer, at_row
from checker.reports.shared.glossary import words_of
from checker.reports.shared.place_words import facts_in_words
from checker.units.formatting import FORCE, System, show, show_for_calculation
from checker.units.parsing import parse

DIGITS = 5
INDENT = "  "
_WRITTEN_PLAIN = ("count", "number")
"""Kinds without a unit."""


def number_words(value: float, kind: str, system: System) -> str:
    """A number for calculation."""
    return show_for_calculation(value, kind, system, digits=DIGITS)


def shown_words(value: float, kind: str, system: System) -> str:
    """A number for calculation; a length also as a tape reads it, a force as on a label."""
    if kind == ANSWER:
        return answer(value)
    usual = show(value, kind, system, digits=DIGITS)
    plain = number_words(value, "load" if kind == FORCE else kind, system)
    return f"{plain} ({usual})" if kind in ("length", FORCE) and plain != usual else plain


def field_words(field: str, origin: Origin, system: System) -> str:
    """A field in the reader's units, as written, and its location."""
    kind, written = field_kind(field), origin.text
    if kind is None or kind in _WRITTEN_PLAIN or written == word_for_none(field):
        return f"{written} ({origin})"
    value = number_words(parse(written, kind).value, kind, system)
    same = value.replace(",", "") == written.replace(",", "")
    return f"{value} ({origin})" if same else f"{value}, written '{written}' ({origin})"


def formula_words(worked: WorkedFormula, explanation: Explanation, system: System) -> FormulaWords:
    """The words for the names of one formula, with the numbers of the row that decides."""
    row = worked.deciding.row
    return FormulaWords(
        facts=facts_in_words(words_of(explanation.check.load)),
        thresholds=worked.thresholds,
        values={name: at_row(value, row) for name, value in worked.env.items()},
        system=system,
        metric=worked.metric,
        digits=DIGITS,
        reckon=True,
    )
