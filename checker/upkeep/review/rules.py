"""What differs in a rule or a rulebook beside its figures: level, conditions, days, texts."""

from collections.abc import Iterator
from typing import NamedTuple

from checker.documents.jurisdiction_codes import ANYWHERE
from checker.rulebooks.citations import Citation
from checker.rulebooks.days import Stretch
from checker.rulebooks.formula import Formula
from checker.rulebooks.jurisdictions import is_inside
from checker.rulebooks.model import Rule, Rulebook
from checker.upkeep.review.difference import Difference, Effect, Kind
from checker.upkeep.review.formulas import Loads, holds_for

_OF_MORE_LOADS = {
    Loads.FEWER: Effect.LOOSENED,
    Loads.MORE: Effect.TIGHTENED,
    Loads.UNKNOWN: Effect.UNCERTAIN,
}
"""What it does to a rule to apply to more loads, or fewer."""
_OF_REQUIRED = {
    Loads.FEWER: Effect.TIGHTENED,
    Loads.MORE: Effect.LOOSENED,
    Loads.UNKNOWN: Effect.UNCERTAIN,
}


class Found(NamedTuple):
    """What differs, and how."""

    effect: Effect
    kind: Kind
    before: str
    after: str
    days: tuple[Stretch, ...] = ()


def rule_differences(old: Rule, new: Rule, *, same_book_days: bool) -> Iterator[Difference]:
    """The differences of two rules of one id, without those of their figures.

    With `same_book_days` false, days that a rule has from its rulebook are not compared.
    """
    for each in _of_rule(old, new, same_book_days=same_book_days):
        yield Difference(
            effect=each.effect,
            kind=each.kind,
            name=new.id,
            title=new.title,
            before=each.before,
            after=each.after,
            location=str(new.location),
            days=each.days,
            rules=frozenset({new.id}),
        )


def _of_rule(old: Rule, new: Rule, *, same_book_days: bool) -> Iterator[Found]:
    if old.level != new.level:
        effect = Effect.LOOSENED if new.level == "should" else Effect.TIGHTENED
        yield Found(effect, Kind.LEVEL, old.level, new.level)
    if old.basis != new.basis:
        # What is not law may be excused by a variance and loosened by a company.
        effect = Effect.LOOSENED if old.basis == "law" else Effect.TIGHTENED
        if "law" not in (old.basis, new.basis):
            effect = Effect.TEXTS
        yield Found(effect, Kind.BASIS, old.basis, new.basis)
    yield from _of_when(old.when, new.when)
    required = holds_for(new.requires, old.requires)
    if required is not Loads.SAME:
        texts = _text(old.requires), _text(new.requires)
        yield Found(_OF_REQUIRED[required], Kind.REQUIRES, *texts)
    if old.for_each != new.for_each:
        words: tuple[str, str] = (old.for_each or "the load", new.for_each or "the load")
        yield Found(Effect.UNCERTAIN, Kind.FOR_EACH, *words)
    if same_book_days:
        yield from _of_days(old.days, new.days)
    for name, threshold in new.thresholds.items():
        was = old.thresholds.get(name)
        if was and was.stricter != threshold.stricter:
            words = (f"{name}: {was.stricter}", f"{name}: {threshold.stricter}")
            yield Found(Effect.UNCERTAIN, Kind.STRICTER, *words)
    if old.usual_at_limit != new.usual_at_limit:
        effect = Effect.LOOSENED if new.usual_at_limit else Effect.TIGHTENED
        words = ("counted", "none") if new.usual_at_limit else ("none", "counted")
        yield Found(effect, Kind.NEAR, *words)
    named = list(_texts(old, new))
    if named:
        yield Found(Effect.TEXTS, Kind.TEXTS, "", ", ".join(named))


def book_differences(old: Rulebook, new: Rulebook) -> Iterator[Difference]:
    """The differences of two rulebooks in where, when and to what their rules apply."""
    for each in _of_book(old, new):
        yield Difference(
            effect=each.effect,
            kind=each.kind,
            name=new.id,
            title=new.title,
            before=each.before,
            after=each.after,
            location=str(new.location or new.file),
            days=each.days,
            rules=frozenset(rule.id for rule in new.rules),
        )


def _of_book(old: Rulebook, new: Rulebook) -> Iterator[Found]:
    if old.jurisdiction != new.jurisdiction:
        effect = Effect.UNCERTAIN
        if new.jurisdiction == ANYWHERE or is_inside(old.jurisdiction, new.jurisdiction):
            effect = Effect.TIGHTENED
        elif old.jurisdiction == ANYWHERE or is_inside(new.jurisdiction, old.jurisdiction):
            effect = Effect.LOOSENED
        yield Found(effect, Kind.PLACE, old.jurisdiction, new.jurisdiction)
    yield from _of_when(*(each.scope.when if each.scope else None for each in (old, new)))
    yield from _of_days(old.days, new.days)
    if old.subjects != new.subjects:
        # A gate stops loads that touch a subject which no rulebook holds.
        effect = Effect.UNCERTAIN if new.subjects - old.subjects else Effect.TIGHTENED
        yield Found(effect, Kind.SUBJECTS, _subjects(old), _subjects(new))


def _subjects(book: Rulebook) -> str:
    return ", ".join(sorted(book.subjects)) or "none"


def _of_when(old: Formula | None, new: Formula | None) -> Iterator[Found]:
    applies = holds_for(new, old)
    if applies is not Loads.SAME:
        yield Found(_OF_MORE_LOADS[applies], Kind.WHEN, _text(old), _text(new))


def _of_days(old: Stretch | None, new: Stretch | None) -> Iterator[Found]:
    if old == new:
        return
    effect = Effect.UNCERTAIN
    if new is None or (old is not None and new.of_both(old) == old):
        effect = Effect.TIGHTENED
    elif old is None or old.of_both(new) == new:
        effect = Effect.LOOSENED
    days = tuple(each for each in (old, new) if each is not None)
    words = str(old or "") or "always", str(new or "") or "always"
    yield Found(effect, Kind.DAYS, *words, days)


def _texts(old: Rule, new: Rule) -> Iterator[str]:
    """What differs and changes no verdict."""
    for name in old.text.__struct_fields__:
        if getattr(old.text, name) != getattr(new.text, name):
            yield name
    if old.question != new.question:
        yield "question"
    if old.about != new.about:
        yield "about"
    if {name: _text(each) for name, each in old.shows.items()} != {
        name: _text(each) for name, each in new.shows.items()
    }:
        yield "shows"
    if _cited(old.citation) != _cited(new.citation):
        yield "source"


def _cited(citation: Citation) -> tuple[str, ...]:
    source = citation.source
    return (str(citation), source.id, source.edition, source.read_as) if source else ()


def _text(formula: Formula | None) -> str:
    return " ".join(formula.text.split()) if formula else "always"
