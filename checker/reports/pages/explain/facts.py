"""The facts of a rule, each followed by what it is calculated from, down to the profile."""

import re
from collections.abc import Callable, Iterator

import numpy as np

from checker.advice.explain import Explanation
from checker.advice.sums import Term
from checker.facts.catalogue import STATED
from checker.facts.printed_kind import printed_kind
from checker.facts.tiedown_ratings import DEVICE_RATING, tables_used
from checker.facts.view import Subject
from checker.facts.working import Step
from checker.reports.pages.explain.figures import INDENT, field_words, number_words, shown_words
from checker.reports.shared.comparison_words import at_row, with_signs
from checker.reports.shared.glossary import words_of
from checker.reports.shared.page import Page
from checker.units.arithmetic import Number
from checker.units.formatting import System

_DEEPEST = 8
"""Levels beyond this are not indented further, so that lines fit narrow pages."""


def print_facts(explanation: Explanation, page: Page, system: System) -> None:
    """Print every fact once, one level deeper than the fact that uses it."""
    if explanation.steps:
        page.heading("FACTS IT USES - each followed by what it is calculated from")
    for step in explanation.steps:
        lead = INDENT * min(step.depth, _DEEPEST)
        page.line(_fact(explanation, step, system), lead=lead)
        for line in () if step.again else _behind(explanation, step, system):
            page.line(line, lead=lead + INDENT)


def _fact(explanation: Explanation, step: Step, system: System) -> str:
    governs = explanation.finding.subject if explanation.finding else None
    named = step.subject and step.subject != governs
    words = words_of(explanation.check.load)
    whose = f" ({words.name(step.subject)})" if step.subject and named else ""
    again = ", as above" if step.again else ""
    value = _ranged(step.value, printed_kind(step.fact), system)
    return f"{words.label(step.fact)}{whose}: {value}{again} [{step.fact.name}]"


def _ranged(value: Number, kind: str, system: System) -> str:
    """A fact as stated, and its range under the stated tolerances."""
    middle = shown_words(at_row(value, 0), kind, system)
    if not np.ndim(value) or np.isnan(value).any():
        return middle
    low, high = (shown_words(float(end), kind, system) for end in (np.min(value), np.max(value)))
    return middle if low == high else f"{middle} ({low} to {high} within the tolerances)"


def _behind(explanation: Explanation, step: Step, system: System) -> Iterator[str]:
    """The meaning of the fact, its calculation, and the profile fields it reads itself."""
    if step.fact.source != STATED:
        yield words_of(explanation.check.load)(step.fact.meaning)
        yield f"By: {step.fact.source}"
        yield from (f"Table: {name}" for name in _tables(explanation, step))
        yield from _sum(explanation, step, system)
    for field, origin in step.stated.items():
        yield f"{field}: {field_words(field, origin, system)}"
    for field in step.missing:
        yield f"{field}: not stated"
    for field, origin in step.instead.items():
        yield f"where needed, {field}: {field_words(field, origin, system)}"


def _tables(explanation: Explanation, step: Step) -> list[str]:
    """The tables that a device without a mark was found in."""
    tiedowns = explanation.check.load.tiedowns
    if step.fact.name != DEVICE_RATING or step.subject is None or tiedowns is None:
        return []
    return tables_used(tiedowns[step.subject.index], explanation.check.facts.unmarked)


def _sum(explanation: Explanation, step: Step, system: System) -> Iterator[str]:
    """The calculation in words, then with numbers, where the fact has one."""
    found = explanation.sums.get((step.fact.name, step.subject))
    if found is None:
        return

    words = words_of(explanation.check.load)

    def word(term: Term) -> str:
        return f"{words(term.label)}{_one_of_several(explanation, term.subject)}"

    def number(term: Term) -> str:
        return number_words(term.value, term.kind, system)

    yield _written(found.text, found.terms.__getitem__, word)
    yield _written(found.text, found.terms.__getitem__, number)


def _written(text: str, term: Callable[[str], Term], spell: Callable[[Term], str]) -> str:
    names = r"[a-z][a-z0-9_]*\.[a-z0-9_.]*"
    return f"= {re.sub(names, lambda name: spell(term(name[0])), with_signs(text))}"


def _one_of_several(explanation: Explanation, subject: Subject | None) -> str:
    """The name of an article, tiedown or axle, if there are several."""
    if subject is None or len(explanation.check.facts.subjects(subject.each)) == 1:
        return ""
    return f" ({words_of(explanation.check.load).name(subject)})"
