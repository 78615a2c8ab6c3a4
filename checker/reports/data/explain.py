"""The working of one rule on one load, as a document."""

from collections.abc import Sequence
from datetime import date
from typing import Final

from msgspec import Struct

from checker.advice.explain import Explanation, WorkedFormula
from checker.facts.view import Subject
from checker.facts.working import Step
from checker.load.model import Origin
from checker.reports.shared.json_document import record_document
from checker.reports.shared.portable_paths import located, portable
from checker.reports.shared.records import (
    ChangeRecord,
    CitedClause,
    FigureRecord,
    RulebookName,
    RuleName,
    change_record,
    cited_clause,
    figure_or_answer,
    figure_record,
    finite,
    rule_name,
    rulebook_name,
    value_range,
)
from checker.reports.shared.words import CAUTIONS
from checker.rulebooks.verdicts import Verdict
from checker.units.kinds import BASE_UNITS

KIND: Final = "explanation"


class StatedField(Struct, frozen=True):
    """A field of a profile."""

    field: str
    """The field."""
    stated: str
    """As the file states it."""
    at: str
    """File and line."""


class WorkedFact(Struct, frozen=True):
    """A fact, followed by those that it uses, one level deeper."""

    depth: int
    """How many uses it is away from the rule."""
    name: str
    """Name of the fact."""
    meaning: str
    """What it is."""
    source: str
    """Where its formula comes from."""
    subject: str | None
    """The article, tiedown or axle; null for the load as a whole."""
    value: float | str | None
    """In SI units; yes or no for an answer, a date for a day; null where not stated or infinite."""
    unit: str | None
    """SI unit; null for shares, answers, days and counts."""
    lowest: float | None
    """Least value within the tolerances; null where there is one value alone."""
    highest: float | None
    """Greatest value within the tolerances; null where there is one value alone."""
    calculation: str | None
    """Its formula for these values; null where it has none as text."""
    fields: tuple[StatedField, ...]
    """Fields that it reads."""
    instead: tuple[StatedField, ...]
    """Fields that it reads where those do not decide."""
    missing: tuple[str, ...]
    """Fields that it needs and the profile does not state."""
    shown_before: bool
    """True if it came before; what it uses is not repeated."""


class WorkedComparison(Struct, frozen=True):
    """A comparison of a formula, or an answer."""

    left: str
    """Formula of the value."""
    operator: str | None
    """Operator; null for an answer."""
    right: str | None
    """Formula of the limit; null for an answer."""
    actual: float | None
    """The value; null where not stated or infinite."""
    required: float | None
    """The limit, or 1 for yes and 0 for no; null where not stated or infinite."""
    holds: bool | None
    """Whether it holds; null where not known."""
    decides: bool
    """True for the one that decides the formula."""


class WorkedRequirement(Struct, frozen=True):
    """A formula with its numbers, in the row of the tolerances that decides."""

    formula: str
    """The formula."""
    comparisons: tuple[WorkedComparison, ...]
    """Its comparisons and answers, in order."""


class OtherSubject(Struct, frozen=True):
    """An article, tiedown or axle with its own verdict."""

    name: str
    """Its name."""
    verdict: Verdict
    """Its verdict."""


class ChangeToMeet(Struct, frozen=True):
    """A smallest change of one thing that would meet the rule."""

    change: str
    """move (metres, rearward positive), lighten (weight in N), strengthen (working load limit of
    each tiedown in N)."""
    article: str
    """The article."""
    value: float
    """How much."""
    to: float | None
    """The value that the field would have; null where not known."""
    breaks: tuple[RuleName, ...]
    """Must-rules that would then no longer be met."""


class RoomLeft(Struct, frozen=True):
    """The range of one thing in which the rule stays met."""

    kind: str
    """place (metres behind the ball) or weight (N)."""
    article: str
    """The article."""
    today: float
    """The value today."""
    least: float | None
    """The rule is not met below it; null where no limit was found."""
    most: float | None
    """The rule is not met above it; null where no limit was found."""


class Document(Struct, frozen=True):
    """How one rule was checked on one load, and what would change its verdict."""

    load: str
    """Title of the load."""
    file: str
    """Path of the load profile."""
    on: date
    """Day of the check."""
    rule: RuleName
    """The rule."""
    rulebook: RulebookName
    """The rulebook that it is in."""
    basis: str
    """What the rule rests on."""
    source: CitedClause | None
    """What it rests on; null for common practice."""
    because: str
    """The reason for the rule."""
    verdict: Verdict
    """The verdict."""
    subject: str | None
    """The article, tiedown or axle that decides; null for the load as a whole."""
    margin: float | None
    """Distance to the limit as a share of it, below zero when over; null for answers."""
    reason: str | None
    """Why it is undecided or does not apply, where no missing field is the reason."""
    missing: tuple[str, ...]
    """Fields that are missing and would decide it."""
    settled_by: str | None
    """Field to measure more closely; null unless it is too close to call."""
    rulebook_in_force: Verdict
    """met where the rulebook is in force for this load."""
    repealed_by: ChangeRecord | None
    """The change that repeals the rule on the day; null where none does."""
    scope: WorkedRequirement | None
    """The condition of the rulebook; null where it has none, or the trip goes elsewhere."""
    when: WorkedRequirement | None
    """The condition of the rule; null where it has none, or nothing was calculated."""
    requires: WorkedRequirement | None
    """What the rule requires; null where nothing was calculated."""
    facts: tuple[WorkedFact, ...]
    """The facts behind it."""
    figures: dict[str, FigureRecord]
    """The figures of the rule in force on the day, by name."""
    others: tuple[OtherSubject, ...]
    """The other articles, tiedowns or axles."""
    enough: tuple[ChangeToMeet, ...]
    """Smallest changes that would meet it, where it is not met."""
    room: tuple[RoomLeft, ...]
    """How far one thing may change, where it is met."""
    cautions: tuple[str, ...]
    """What the report does not do, for people to read."""


def document(explanation: Explanation) -> str:
    """The working of a rule as a document."""
    check, rule, finding = explanation.check, explanation.rule, explanation.finding
    values = {name: each.on(check.on) for name, each in rule.thresholds.items()}
    subjects = finding.subjects if finding else ()
    return record_document(
        KIND,
        Document(
            load=check.load.title,
            file=portable(check.load.file),
            on=check.on,
            rule=rule_name(rule),
            rulebook=rulebook_name(explanation.book),
            basis=rule.basis,
            source=cited_clause(rule.citation),
            because=finding.because if finding else rule.because,
            verdict=finding.verdict if finding else Verdict.DOES_NOT_APPLY,
            subject=_named(finding.subject) if finding else None,
            margin=finite(finding.margin) if finding and finding.margin is not None else None,
            reason=finding.reason if finding else None,
            missing=finding.missing if finding else (),
            settled_by=finding.settled_by if finding else None,
            rulebook_in_force=explanation.in_force.verdict,
            repealed_by=change_record(explanation.repealed) if explanation.repealed else None,
            scope=_worked(explanation.scope),
            when=_worked(explanation.when),
            requires=_worked(explanation.requires),
            facts=tuple(_fact(explanation, step) for step in explanation.steps),
            figures={name: figure_record(value) for name, value in values.items() if value},
            others=tuple(
                OtherSubject(subject.name, verdict)
                for subject, verdict in subjects
                if finding and subject != finding.subject
            ),
            enough=tuple(
                ChangeToMeet(
                    each.kind,
                    each.article,
                    each.value,
                    finite(each.to),
                    tuple(map(rule_name, each.breaks)),
                )
                for each in explanation.fixes
            ),
            room=tuple(
                RoomLeft(each.kind, each.article, each.today, each.least, each.most)
                for each in explanation.rooms
            ),
            cautions=CAUTIONS,
        ),
    )


def _named(subject: Subject | None) -> str | None:
    return subject.name if subject else None


def _worked(worked: WorkedFormula | None) -> WorkedRequirement | None:
    if worked is None:
        return None
    return WorkedRequirement(
        formula=" ".join(worked.formula.text.split()),
        comparisons=tuple(
            WorkedComparison(
                left=each.left,
                operator=each.operator,
                right=each.right,
                actual=finite(each.left_value),
                required=finite(each.right_value),
                holds=None if truth != truth else truth == 1,
                decides=each == worked.deciding,
            )
            for each, truth in worked.comparisons
        ),
    )


def _fact(explanation: Explanation, step: Step) -> WorkedFact:
    calculated = explanation.sums.get((step.fact.name, step.subject))
    low, high = value_range(step.value) or (None, None)
    return WorkedFact(
        depth=step.depth,
        name=step.fact.name,
        meaning=step.fact.meaning,
        source=step.fact.source,
        subject=_named(step.subject),
        value=figure_or_answer(step.value, step.fact.kind),
        unit=BASE_UNITS.get(step.fact.kind),
        lowest=low,
        highest=high,
        calculation=calculated.text if calculated else None,
        fields=_fields(list(step.stated.items())),
        instead=_fields(list(step.instead.items())),
        missing=step.missing,
        shown_before=step.again,
    )


def _fields(stated: Sequence[tuple[str, Origin]]) -> tuple[StatedField, ...]:
    return tuple(StatedField(field, origin.text, located(origin)) for field, origin in stated)
