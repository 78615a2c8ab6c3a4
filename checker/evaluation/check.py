"""A check of one load: one finding for every rule in force on a day, with its working."""

import math
from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from msgspec import Struct

from checker.evaluation.dated_rule import DatedRule, Env
from checker.evaluation.evaluator import BookEvaluator, evaluators
from checker.evaluation.outcome import OUTCOMES, Outcome, OutcomeRows
from checker.evaluation.rule_rows import DOES_NOT_APPLY, VERDICTS, Numbers, RuleRows
from checker.evaluation.variances import VarianceStatus, variance_statuses
from checker.facts.catalogue import Fact, catalogue
from checker.facts.view import Facts, Subject
from checker.load.model import Load, Origin, Variance
from checker.load.plausible.reading import Doubt
from checker.rulebooks.formula import Formula, Governing
from checker.rulebooks.model import Change, DatedValue, Rule, Rulebook, Rulebooks
from checker.rulebooks.rule_text import BROKEN_ON, Side, with_figures
from checker.rulebooks.unread_jurisdictions import unread_jurisdictions
from checker.rulebooks.verdicts import Verdict
from checker.units.arithmetic import Number, as_stated

if TYPE_CHECKING:
    from checker.evaluation.route import Route

_FAR = 1e12
"""Beyond every margin in newtons or metres."""


class FactUsed(Struct, frozen=True):
    """A fact that a rule names, for the subject of the finding."""

    fact: Fact
    subject: Subject | None
    facts: Facts

    @property
    def value(self) -> Number:
        """Its value in every row, calculated on first use."""
        return self.facts.value(self.fact.name, self.subject)

    @property
    def origins(self) -> Mapping[str, Origin]:
        """The locations of its fields, looked up on first use."""
        return self.facts.origins(self.fact.name, self.subject)


class ExtraFigure(Struct, frozen=True):
    """An extra figure that a rule provides for the report."""

    label: str
    value: float
    formula: Formula


class Finding(Struct, frozen=True, dict=True):  # a dict, to cache computed values
    """The verdict of one rule on the load, with everything needed to follow it.

    `rows` is the evaluator's result, of one row. `subject` is the article, tiedown or axle that
    decides; `subjects` holds every one with its own verdict.
    """

    rows: RuleRows
    subject: Subject | None
    subjects: tuple[tuple[Subject, Verdict], ...]
    governing: Governing | None
    facts: tuple[FactUsed, ...]
    thresholds: tuple[tuple[str, DatedValue], ...]
    shows: tuple[ExtraFigure, ...]
    reason: str | None
    settled_by: str | None
    """The field whose tolerance matters most to a rule that is too close to call."""

    @cached_property
    def missing(self) -> tuple[str, ...]:
        """The profile fields that an undecided rule needs, looked up on first use."""
        return tuple(self.rows.missing()) if self.verdict is Verdict.NOT_STATED else ()

    @property
    def rule(self) -> Rule:
        """The rule."""
        return self.rows.rule

    @property
    def book(self) -> Rulebook:
        """The rulebook of the rule."""
        return self.rows.book

    @property
    def verdict(self) -> Verdict:
        """The verdict of the rule."""
        return VERDICTS[self.rows.verdicts[0]]

    @property
    def statement(self) -> str:
        """The title as a true statement: in its broken form where the rule is not met."""
        is_broken = self.verdict is Verdict.NOT_MET
        return self._printed(self.rule.text.when_broken(self._side)) if is_broken else self.title

    @property
    def title(self) -> str:
        """The title of the rule with the figures in force."""
        return self._printed(self.rule.text.title)

    @property
    def broken(self) -> str | None:
        """What the rule says where it is not met; None where it is met or has no such text."""
        text = self.rule.text.broken_on(self._side)
        return self._printed(text) if text and self.verdict is Verdict.NOT_MET else None

    @property
    def because(self) -> str:
        """The reason for the rule with the figures in force."""
        return self._printed(self.rule.text.because)

    @property
    def fix(self) -> str:
        """What to do, away from the nearest limit, with the figures in force."""
        return self._printed(self.rule.text.fix_for(self._side))

    @property
    def _side(self) -> Side | None:
        """The side of the nearest limit on which the rule is broken."""
        deciding = self.governing
        if deciding is None or deciding.operator is None or math.isnan(deciding.margin):
            return None
        if deciding.operator in ("==", "!="):
            return Side.BELOW if deciding.left_value < deciding.right_value else Side.ABOVE
        # Not by the values: those of a rule that is met are on the right side.
        return BROKEN_ON[deciding.operator]

    def _printed(self, text: str) -> str:
        figures = {name: value.figure(metric=self.metric_print) for name, value in self.thresholds}
        return with_figures(text, figures)

    @property
    def metric_print(self) -> bool:
        """True if the printed metric figures decide."""
        return bool(self.rows.metric[0])

    @property
    def margin(self) -> float | None:
        """Distance to the limit as a share of it; None for answers and where nothing decides."""
        margin = float(self.rows.margins[0])
        return None if math.isnan(margin) else margin

    @property
    def variance(self) -> Variance | None:
        """The variance, in force on the day, that excuses the rule if it is not met."""
        in_force = (each.variance for each in self.rows.permits)
        return next(in_force) if self.rows.excused[0] else None


class InForce(Struct, frozen=True):
    """Whether a rulebook applied to the load, and the reason where it did not."""

    book: Rulebook
    verdict: Verdict
    missing: tuple[str, ...]
    elsewhere: bool  # the trip does not touch the jurisdiction of the rulebook
    out_of_date: bool  # the day is not one of the rulebook's

    @property
    def because(self) -> str:
        """The reason why the rulebook was left out."""
        if self.elsewhere:
            return f"the trip does not touch {self.book.jurisdiction}"
        if self.out_of_date:
            return f"in force {self.book.days}"
        return self.book.scope.because if self.book.scope else ""


class Check(Struct, frozen=True):
    """The findings of one load under the rulebooks of a day.

    `variances` are those of the profile and those of registers that may count for it, `changes`
    those of amendments on that day and trip, `unread` the jurisdictions for which no rulebook was
    read, `unread_subjects` by place the subjects of its law that no rulebook in force holds;
    `doubts` decide nothing.
    """

    load: Load
    on: date
    outcome: Outcome
    in_force: tuple[InForce, ...]
    findings: tuple[Finding, ...]
    tables: tuple[tuple[str, str], ...]
    variances: tuple[tuple[Variance, VarianceStatus], ...]
    changes: tuple[Change, ...]
    repealed: tuple[tuple[Rule, Change], ...]
    unread: tuple[str, ...]
    unread_subjects: Mapping[str, tuple[str, ...]]
    facts: Facts
    doubts: tuple[Doubt, ...] = ()
    route: "Route | None" = None
    """The places of the trip in the order of travel; None for a trip that crosses no border."""


def check(load: Load, rulebooks: Rulebooks, on: date) -> Check:
    """The check of a load under the rulebooks of where it goes, with the values in force on a day.

    The rows of the load are the corners of its tolerances. Every rule of the rulebooks in reach
    gives a finding; rules of other jurisdictions are left out.
    """
    evaluated = evaluators(load, rulebooks, on, corners=load.rows)
    findings = tuple(
        finding_of(evaluator, rule)
        for evaluator in evaluated.in_reach()
        for rule in evaluator.book.rules
    )
    in_use = [finding.variance for finding in findings if finding.variance]
    unmet = (Verdict.NOT_MET, Verdict.TOO_CLOSE)
    held = {each.rule.id for each in findings if each.verdict in unmet and not each.variance}
    unread = unread_jurisdictions(load.trip.places, rulebooks)
    outcome = OutcomeRows(1)
    for finding in findings:
        outcome.add(finding.rows)
    (code,) = outcome.outcomes(load, rulebooks)
    return Check(
        load=load,
        on=on,
        outcome=OUTCOMES[code],
        in_force=tuple(map(_in_force, evaluated.books)),
        findings=findings,
        tables=tuple((table.id, table.digest) for table in rulebooks.tables),
        variances=tuple(variance_statuses(load, rulebooks, on, in_use, held)),
        changes=evaluated.changes,
        repealed=evaluated.repealed,
        unread=unread,
        unread_subjects={
            place: tuple(subjects) for place, subjects in evaluated.unread_subjects().items()
        },
        facts=evaluated.facts,
    )


class DecidingField(NamedTuple):
    """A missing field, and how many rules, and must-rules among them, stating it decides."""

    field: str
    decides: int
    decides_musts: int


def deciding_fields(findings: Iterable[Finding], most: int = 5) -> list[DecidingField]:
    """The few missing fields that, once stated, decide the most undecided must-rules, then others.

    Greedy: the field that decides most must-rules at once comes first, among equals the one that
    most must-rules lack, then the one that most rules lack. The counts are of rules that lack
    nothing more once this field and those before it are stated. A should-rule that lacks more than
    the list has room for is left out: what it lacks would decide nothing.
    """
    gaps = [(set(each.missing), each.rule.level == "must") for each in findings if each.missing]
    chosen: list[DecidingField] = []
    while room := most - len(chosen):
        asked = [(gap, must) for gap, must in gaps if must or len(gap) <= room]
        if not asked:
            break
        weight: dict[str, tuple[float, float, float]] = {}
        for gap, must in asked:
            for field in gap:
                at_once, of_musts, of_all = weight.get(field, (0.0, 0.0, 0.0))
                share = 1.0 / len(gap)
                at_once += must and len(gap) == 1
                weight[field] = at_once, of_musts + share * must, of_all + share
        best = max(sorted(weight), key=lambda field: weight[field])
        for gap, _ in gaps:
            gap.discard(best)
        decided = [must for gap, must in gaps if not gap]
        chosen.append(DecidingField(best, len(decided), sum(decided)))
        gaps = [(gap, must) for gap, must in gaps if gap]
    return chosen


def _in_force(evaluator: BookEvaluator) -> InForce:
    return InForce(
        book=evaluator.book,
        verdict=VERDICTS[evaluator.verdicts[0]],
        missing=tuple(evaluator.missing_for_scope),
        elsewhere=evaluator.here == 0,
        out_of_date=not evaluator.in_force,
    )


def finding_of(evaluator: BookEvaluator, rule: Rule) -> Finding:
    """The finding of one rule: the subject that decides, the comparison, the figures."""
    by_subject = evaluator.by_subject(rule)
    rows = evaluator.worst_of(rule, by_subject)
    verdict = VERDICTS[rows.verdicts[0]]
    dated = evaluator.dated(rule)
    subject: Subject | None = None
    governing: Governing | None = None
    shows: tuple[ExtraFigure, ...] = ()
    settled_by: str | None = None
    if by_subject:
        index = int(rows.subject[0])
        subject, decides = evaluator.subjects(rule)[index], by_subject[index]
        if verdict is not Verdict.DOES_NOT_APPLY:
            env = evaluator.env(rule, subject, metric=bool(rows.metric[0]))
            governing = evaluator.deciding(rule, env, decides)
            if verdict is not Verdict.NOT_STATED:
                shows = tuple(_shown(rule, env))
            if verdict is Verdict.TOO_CLOSE:
                settled_by = _settled_by(evaluator, rule, env)
    known = catalogue()
    return Finding(
        rows=rows,
        subject=subject,
        subjects=tuple(
            (each, VERDICTS[found.verdicts[0]])
            for each, found in zip(evaluator.subjects(rule), by_subject, strict=True)
            if each
        ),
        governing=governing,
        facts=tuple(
            FactUsed(known[name], subject, evaluator.facts)
            for name in (rule.facts if by_subject else ())
        ),
        thresholds=tuple((name, value) for name, value in dated.values.items() if value)
        if by_subject
        else (),
        shows=shows,
        reason=_reason(evaluator, dated, verdict) if by_subject else None,
        settled_by=settled_by,
    )


def _reason(evaluator: BookEvaluator, dated: DatedRule, verdict: Verdict) -> str | None:
    """Why a rule is undecided or does not apply, where the reason is not a missing fact."""
    if evaluator.verdicts[0] == DOES_NOT_APPLY:
        return _in_force(evaluator).because
    if not dated.in_force:
        return f"in force {dated.rule.days}"
    if verdict is not Verdict.NOT_STATED:
        return None
    for name, value in dated.values.items():
        if value is None:
            return _no_value(dated.rule, name, evaluator.on)
    return None


def _settled_by(evaluator: BookEvaluator, rule: Rule, env: Env) -> str | None:
    """The field with a tolerance whose two ends change the margin in question most.

    That is the margin of what the rule requires; where that is the same over the tolerances, the
    margin of what says whether the rule applies, then whether its rulebook does.
    """
    load = evaluator.facts.load
    in_question = (each for each in _margins(evaluator, rule, env) if np.ptp(each))
    margins = next(in_question, np.zeros(load.rows))

    def spread(field: str) -> float:
        values = np.asarray(load.varied[field])
        high, low = margins[values > values[0]], margins[values < values[0]]
        both_ends = high.size and low.size
        return abs(float(np.mean(high) - np.mean(low))) if both_ends else 0.0

    return max(sorted(load.varied), key=spread, default=None)


def _margins(evaluator: BookEvaluator, rule: Rule, env: Env) -> Iterator[Numbers]:
    """Margins in every row of what a rule requires, of its condition, and of its rulebook's."""
    formulas: list[tuple[Formula | None, Env]] = [(rule.requires, env), (rule.when, env)]
    if (scope := evaluator.book.scope) is not None:
        formulas.append((scope.when, evaluator.env(scope, None, metric=False)))
    for formula, names in formulas:
        if formula is not None:
            rows = np.broadcast_to(formula.margins(names), (evaluator.facts.load.rows,))
            # The margins of answers are infinite and cannot be subtracted.
            yield np.clip(rows, -_FAR, _FAR)


def _shown(rule: Rule, env: Env) -> Iterator[ExtraFigure]:
    for label, formula in rule.shows.items():
        value = as_stated(formula.value(env))
        if not np.isnan(value):
            yield ExtraFigure(label, value, formula)


def _no_value(rule: Rule, name: str, on: date) -> str:
    """The reason that a threshold has no value: the last or the first one, with its source."""
    change, values = rule.thresholds[name].open_change, rule.thresholds[name].values
    if change is not None:
        if change.value is None:
            return (
                f"'{name}' changes on {change.starts} to a figure not yet known ({change.citation})"
            )
        return f"not known whether {change.amendment.id} changes '{name}' on this trip"
    earlier = [value for value in values if value.starts <= on]
    nearest = earlier[-1] if earlier else values[0]
    word = f"until {nearest.ends}" if earlier else f"from {nearest.starts}"
    return (
        f"no value of '{name}' on {on}; the nearest is {nearest.text} {word} ({nearest.citation})"
    )
