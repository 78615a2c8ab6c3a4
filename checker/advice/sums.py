"""The calculation of a fact with its numbers, where the fact has one as text.

Facts are calculated by functions; `Fact.sums` holds the same as text, for people with a calculator.
The text is formula syntax over facts and over fields as seen from the fact's own subject
(`article.placed.x`), and `sum(...)` adds up over the articles, tiedowns or axles behind it. A fact
with several ways of calculation has a text for each; the text whose result equals the fact's value
is shown, and none where no text does.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from operator import attrgetter

from checker.documents.schemas import field_kind
from checker.facts.catalogue import ANSWER, Each, catalogue
from checker.facts.view import Facts, Subject
from checker.facts.working import Step
from checker.rulebooks.formula import compile_formula
from checker.units.arithmetic import Number, as_stated, equal
from checker.units.parsing import KINDS

_NAME = r"[a-z][a-z0-9_]*(?:\.[a-z][a-z0-9_]*)+"
_EACH: tuple[Each, ...] = ("article", "tiedown", "axle")
_IN_PROFILE = {
    "tiedown.anchor.": "trailer.anchors.any.",
    "tiedown.": "tiedowns.1.",
    "article.": "articles.1.",
    "axle.": "trailer.axles.any.",
}
"""The profile path of each subject's fields, to look up their kind."""


@dataclass(frozen=True, slots=True)
class Term:
    """The meaning of a name in a calculation. `label` is empty where there is no word for it."""

    label: str
    kind: str
    value: float
    subject: Subject | None


@dataclass(frozen=True, slots=True)
class Calculation:
    """A calculation written out: formula syntax, with each name a single number."""

    text: str
    terms: Mapping[str, Term]


def calculation_of(facts: Facts, step: Step) -> Calculation | None:
    """The calculation that gives a fact's value as stated; None where no text of the fact does."""
    stated = as_stated(step.value)
    # An unknown value has no calculation to show, and parts of it may not exist.
    for text in step.fact.sums if stated == stated else ():
        written = _written_out(facts, step, text)
        env: dict[str, Number] = {name: term.value for name, term in written.terms.items()}
        names = {name: KINDS[term.kind].dimension for name, term in written.terms.items()}
        value = compile_formula(written.text, names, result="number").value(env)
        if equal(value, stated) == 1:
            return written
    return None


def _written_out(facts: Facts, step: Step, text: str) -> Calculation:
    """The text with one addend for each part of a `sum(...)`, and the meaning of its names."""
    terms: dict[str, Term] = {}

    def named(text: str, subject: Subject | None, suffix: str = "") -> str:
        def unique(name: re.Match[str]) -> str:
            terms[f"{name[0]}{suffix}"] = _term(facts, name[0], subject)
            return f"{name[0]}{suffix}"

        return re.sub(_NAME, unique, text)

    def added_up(inner: str) -> str:
        addends = [
            named(inner, part, f".number_{number}")
            for number, part in enumerate(_parts(facts, step, inner), 1)
        ]
        return f"({' + '.join(addends)})" if len(addends) > 1 else next(iter(addends), "0")

    # Every second part is the inside of a `sum(...)`.
    pieces = re.split(r"sum\(([^()]*)\)", text)
    written = "".join(
        added_up(piece) if number % 2 else named(piece, step.subject)
        for number, piece in enumerate(pieces)
    )
    return Calculation(written, terms)


def _parts(facts: Facts, step: Step, inner: str) -> list[Subject]:
    """The articles, tiedowns or axles that a `sum(...)` runs over: those the fact uses."""
    each = next(each for each in _EACH if re.search(rf"\b{each}\.", inner))
    made = facts.inputs(step.fact.name, step.subject)
    used = [part for _, part in made.uses if part and part.each == each]
    return list(dict.fromkeys(used) or facts.subjects(each))


def _term(facts: Facts, name: str, subject: Subject | None) -> Term:
    """A fact by its label, or a field by its path."""
    fact = catalogue().get(name)
    if fact:
        kind = "number" if fact.kind == ANSWER else fact.kind
        value = facts.value(name, subject)
        return Term(fact.label, kind, as_stated(value), subject if fact.each else None)
    for prefix, profile_path in _IN_PROFILE.items():
        if name.startswith(prefix):
            own = name.removeprefix(prefix)
            value = attrgetter(name)(facts.view(subject))
            label = name.replace("_", " ").replace(".", " ")
            return Term(label, _kind(profile_path + own), as_stated(value), subject)
    return Term(name, _kind(name), as_stated(attrgetter(name)(facts.load)), None)


def _kind(path: str) -> str:
    return field_kind(path) or "number"
