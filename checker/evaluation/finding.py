"""The finding of one rule on a load, with its working: comparison, figures, reason."""

import math
from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from functools import cached_property

import numpy as np
from msgspec import Struct

from checker.evaluation.dated_rule import DatedRule, Env
from checker.evaluation.evaluator import BookEvaluator
from checker.evaluation.in_force import in_force
from checker.evaluation.rule_rows import (
    DOES_NOT_APPLY,
    VERDICTS,
    Numbers,
    RuleRows,
    SubjectRows,
)
from checker.facts.catalogue import Fact, catalogue
from checker.facts.view import Facts, Subject
from checker.load.model import Origin, Variance
from checker.rulebooks.formula import Formula, Governing
from checker.rulebooks.model import DatedValue, Rule, Rulebook
from checker.rulebooks.rule_text import BROKEN_ON, Side, with_figures
from checker.rulebooks.verdicts import Verdict
from checker.units.arithmetic import Number, as_stated

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
    """The verdict of one rule on the load; what is needed to follow it is worked out when asked.

    `rows` is the evaluator's result, of one row, `by_subject` those of its articles, tiedowns,
    axles, or of the load as a whole. `known` are the facts with the labels to print.
    """

    rows: RuleRows
    by_subject: tuple[SubjectRows, ...]
    evaluator: BookEvaluator
    known: Mapping[str, Fact]

    @property
    def subjects(self) -> tuple[tuple[Subject, Verdict], ...]:
        """Every article, tiedown or axle with its own verdict; none for the load as a whole."""
        return tuple(
            (each, VERDICTS[found.verdicts[0]])
            for each, found in zip(self._subjects, self.by_subject, strict=True)
            if each
        )

    @cached_property
    def subject(self) -> Subject | None:
        """The article, tiedown or axle that decides."""
        return self._subjects[int(self.rows.subject[0])] if self.by_subject else None

    @property
    def _subjects(self) -> Sequence[Subject | None]:
        return self.evaluator.subjects(self.rule)

    @cached_property
    def _env(self) -> Env:
        """Every fact and threshold that the rule names, for the subject that decides."""
        return self.evaluator.env(self.rule, self.subject, metric=self.metric_print)

    @cached_property
    def governing(self) -> Governing | None:
        """The comparison that decides; None where the rule does not apply."""
        if not self.by_subject or self.verdict is Verdict.DOES_NOT_APPLY:
            return None
        decides = self.by_subject[int(self.rows.subject[0])]
        return self.evaluator.deciding(self.rule, self._env, decides)

    @cached_property
    def facts(self) -> tuple[FactUsed, ...]:
        """The facts that the rule names, for the subject that decides."""
        if not self.by_subject:
            return ()
        known, subject, facts = self.known, self.subject, self.evaluator.facts
        return tuple(FactUsed(known[name], subject, facts) for name in self.rule.facts)

    @cached_property
    def thresholds(self) -> tuple[tuple[str, DatedValue], ...]:
        """The figures in force by name."""
        values = self.evaluator.dated(self.rule).values if self.by_subject else {}
        return tuple((name, value) for name, value in values.items() if value)

    @property
    def shows(self) -> tuple[ExtraFigure, ...]:
        """The extra figures of a decided rule, as far as they are known."""
        if self.governing is None or self.verdict is Verdict.NOT_STATED:
            return ()
        figures = (
            ExtraFigure(label, as_stated(formula.value(self._env)), formula)
            for label, formula in self.rule.shows.items()
        )
        return tuple(each for each in figures if not math.isnan(each.value))

    @property
    def reason(self) -> str | None:
        """Why the rule is undecided or does not apply, where that is not a missing fact."""
        if not self.by_subject:
            return None
        return _reason(self.evaluator, self.evaluator.dated(self.rule), self.verdict)

    @cached_property
    def settled_by(self) -> str | None:
        """The field whose tolerance matters most to a rule that is too close to call."""
        if self.verdict is not Verdict.TOO_CLOSE or not self.by_subject:
            return None
        return _settled_by(self.evaluator, self.rule, self._env)

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
        if self.verdict is not Verdict.NOT_MET:
            return None
        text = self.rule.text.broken_on(self._side)
        return self._printed(text) if text else None

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
        permitted = (each.variance for each in self.rows.permits)
        return next(permitted) if self.rows.excused[0] else None


def finding_of(evaluator: BookEvaluator, rule: Rule) -> Finding:
    """The finding of one rule."""
    by_subject = evaluator.by_subject(rule)
    rows = evaluator.worst_of(rule, by_subject)
    return Finding(rows, tuple(by_subject), evaluator, catalogue())


def _reason(evaluator: BookEvaluator, dated: DatedRule, verdict: Verdict) -> str | None:
    """Why a rule is undecided or does not apply, where the reason is not a missing fact."""
    if evaluator.verdicts[0] == DOES_NOT_APPLY:
        return in_force(evaluator).because
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
