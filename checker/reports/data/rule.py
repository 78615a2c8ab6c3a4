"""One rule in full, as a document."""

from datetime import date
from typing import Final

from msgspec import Struct

from checker.facts.catalogue import catalogue
from checker.reports.shared.actions import rule_actions
from checker.reports.shared.json_document import record_document
from checker.reports.shared.portable_paths import located
from checker.reports.shared.records import (
    ChangeRecord,
    CitedClause,
    RulebookName,
    cited_clause,
    rulebook_name,
)
from checker.reports.shared.rule_record import (
    DaysRecord,
    ThresholdRecord,
    change_records,
    days_record,
    threshold_records,
)
from checker.rulebooks.layering import rule_in_force
from checker.rulebooks.model import Rule, Rulebook, Rulebooks

KIND: Final = "rule"


class FactName(Struct, frozen=True):
    """A fact that a formula uses."""

    name: str
    """Name of the fact."""
    meaning: str
    """What it is."""


class Document(Struct, frozen=True):
    """One rule in full, its texts with the figures in force where no jurisdiction amends it."""

    on: date
    """Day for which the texts are printed."""
    rule: str
    """Id of the rule."""
    rulebook: RulebookName
    """The rulebook that it is in."""
    title: str
    """A statement that is true when the rule is met."""
    level: str
    """must or should."""
    basis: str
    """What the rule rests on."""
    question: str
    """Part of the check that the rule belongs to."""
    source: CitedClause | None
    """What it rests on; null for common practice."""
    days: DaysRecord | None
    """The days on which it is in force; null for always."""
    because: str
    """The reason for the rule."""
    fix: tuple[str, ...]
    """What to do where it is broken; by the side of the limit where that differs."""
    for_each: str | None
    """article, tiedown or axle; null where it is evaluated once for the load."""
    when: str | None
    """Formula that says whether it applies; null for always."""
    requires: str
    """Formula that says whether it is met."""
    shows: dict[str, str]
    """Formulas of further figures, by their labels."""
    thresholds: tuple[ThresholdRecord, ...]
    """Its figures."""
    repeals: tuple[ChangeRecord, ...]
    """Amendments that repeal it."""
    facts: tuple[FactName, ...]
    """Facts that its formulas use."""
    at: str
    """File and line."""


def document(book: Rulebook, rule: Rule, rulebooks: Rulebooks, day: date) -> str:
    """A rule as a document, its texts with the figures in force on a day."""
    today = rule_in_force(rule, rulebooks, (), day)
    changes = [each for each in rulebooks.changes if each.rule_id == rule.id]
    return record_document(
        KIND,
        Document(
            on=day,
            rule=rule.id,
            rulebook=rulebook_name(book),
            title=today.title,
            level=rule.level,
            basis=rule.basis,
            question=rule.question,
            source=cited_clause(rule.citation),
            days=days_record(rule.days),
            because=today.because,
            fix=tuple(rule_actions(today)),
            for_each=rule.for_each,
            when=" ".join(rule.when.text.split()) if rule.when else None,
            requires=" ".join(rule.requires.text.split()),
            shows={label: formula.text for label, formula in rule.shows.items()},
            thresholds=threshold_records(rule, changes),
            repeals=change_records(each for each in changes if each.threshold is None),
            facts=tuple(FactName(name, catalogue()[name].meaning) for name in rule.facts),
            at=located(rule.location),
        ),
    )
