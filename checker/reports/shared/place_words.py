"""Rules and facts in the words and units of a report: what is printed, and nothing else.

Words are those of the place of the trip. Practice, which no law wrote in a unit of its own, is
printed in the units of the report; a law keeps the figures of its text.
"""

from collections.abc import Mapping, Sequence
from functools import cache
from pathlib import Path

from msgspec.structs import replace

from checker.advice.fixes import Fix
from checker.advice.nearest import NearestOnDemand
from checker.documents.resources import shipped_folder
from checker.evaluation.check import Check
from checker.facts.catalogue import Fact, catalogue
from checker.reports.shared.check_results import CheckedLoad
from checker.reports.shared.glossary import Words, words_of
from checker.reports.shared.written_units import system_of
from checker.rulebooks.jurisdictions import has_law
from checker.rulebooks.model import DatedValue, Rule, Rulebook, Rulebooks
from checker.rulebooks.rule_text import RuleText
from checker.units.formatting import DISTANCE, US, System, Units, show


def checked_load(
    check: Check,
    fixes: Mapping[str, Sequence[Fix]],
    units: Units,
    nearest: NearestOnDemand | None = None,
) -> CheckedLoad:
    """A load for reports, with its units and with the labels of facts in the words of the place."""
    words = words_of(check.load)
    if words.terms:
        labels = facts_in_words(words)
        findings = tuple(replace(each, known=labels) for each in check.findings)
        check = replace(check, findings=findings)
    return CheckedLoad(check, fixes, system_of(check.load, units), nearest)


def rulebooks_in_words(rulebooks: Rulebooks, words: Words, system: System = US) -> Rulebooks:
    """The shipped rules with their texts in the words of a place and the units of a report.

    Rules of others are left as written.
    """
    if not words.terms and not system.metric:
        return rulebooks
    return replace(rulebooks, books=tuple(_book(each, words, system) for each in rulebooks.books))


def _book(book: Rulebook, words: Words, system: System) -> Rulebook:
    if not _is_shipped(book.file):
        return book
    if words.terms:
        book = replace(
            book,
            title=words(book.title),
            scope=book.scope and _rule(book.scope, words),
            rules=tuple(_rule(each, words) for each in book.rules),
        )
    if system.metric and not has_law(book.jurisdiction):
        book = replace(book, rules=tuple(_in_metric(each, system) for each in book.rules))
    return book


def _in_metric(rule: Rule, system: System) -> Rule:
    """The rule with its US figures written in the units of the report."""
    thresholds = {
        name: replace(each, values=tuple(_written(value, system) for value in each.values))
        for name, each in rule.thresholds.items()
        if any(value.quantity.metric is False for value in each.values)
    }
    if not thresholds:
        return rule
    return replace(rule, thresholds={**rule.thresholds, **thresholds})


def _written(value: DatedValue, system: System) -> DatedValue:
    quantity = value.quantity
    kind = DISTANCE if quantity.unit == "mi" else quantity.kind
    if quantity.metric is not False or kind not in system.metric:
        return value
    return replace(value, printed=show(quantity.value, quantity.kind, system))


def _rule(rule: Rule, words: Words) -> Rule:
    text, local = rule.text, _text(rule.text, words)
    shows = {words(label): formula for label, formula in rule.shows.items()}
    if local is text and shows.keys() == rule.shows.keys():
        return rule
    return replace(rule, text=local, shows=shows)


def _text(text: RuleText, words: Words) -> RuleText:
    stated = {name: getattr(text, name) for name in text.__struct_fields__}
    local = {name: each and words(each) for name, each in stated.items()}
    return text if local == stated else RuleText(**local)


@cache
def _is_shipped(file: str) -> bool:
    return Path(file).resolve().is_relative_to(shipped_folder("rules").resolve())


def facts_in_words(words: Words) -> Mapping[str, Fact]:
    """Every fact by name, with labels in the words of a place."""
    if not words.terms:
        return catalogue()
    labels = {name: words.label(fact) for name, fact in catalogue().items()}
    return {
        name: fact if fact.label == labels[name] else replace(fact, label=labels[name])
        for name, fact in catalogue().items()
    }
