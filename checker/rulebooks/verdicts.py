"""What a rule says of given numbers: one verdict, over all rows, in the stricter of two prints."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

import numpy as np

from checker.arithmetic import NOT_STATED, Number
from checker.rulebooks.formula import Governing
from checker.rulebooks.model import DatedValue, Rule


class Verdict(StrEnum):
    """What a rule says of a load. Undecided is never a pass."""

    MET = "met"
    NOT_MET = "not met"
    TOO_CLOSE = "too close to call"
    NOT_STATED = "not stated"
    DOES_NOT_APPLY = "does not apply"


# The worse verdict wins where a rule is judged in two prints or for several subjects.
_WORST_FIRST = (
    Verdict.NOT_MET,
    Verdict.NOT_STATED,
    Verdict.TOO_CLOSE,
    Verdict.MET,
    Verdict.DOES_NOT_APPLY,
)


def worst(verdicts: list[Verdict]) -> Verdict:
    """The verdict that decides among several; none at all means the rule does not apply."""
    return min(verdicts, key=_WORST_FIRST.index, default=Verdict.DOES_NOT_APPLY)


@dataclass(frozen=True, slots=True)
class Judgement:
    """A verdict with what decided it: the governing comparison and the thresholds used."""

    verdict: Verdict
    governing: Governing | None
    env: Mapping[str, Number]
    thresholds: Mapping[str, DatedValue | None]
    metric_print: bool


def judge(
    rule: Rule,
    facts: Mapping[str, Number],
    day: date,
    *,
    in_force: Number = 1.0,
    metric: bool = False,
) -> Judgement:
    """Hold facts against a rule on a day.

    `in_force` says whether the rulebook applies at all, as a truth. With `metric`, some fact is
    stated in metric units: where the print gives a metric figure that is not the equal of the US
    one, both are tried and the worse verdict stands.
    """
    thresholds = {name: threshold.on(day) for name, threshold in rule.thresholds.items()}
    judged = _judge_in(rule, facts, thresholds, in_force, metric_print=False)
    two_prints = any(value and value.metric_print for value in thresholds.values())
    if not (metric and two_prints):
        return judged
    other = _judge_in(rule, facts, thresholds, in_force, metric_print=True)
    return min(judged, other, key=lambda each: _WORST_FIRST.index(each.verdict))


def _judge_in(
    rule: Rule,
    facts: Mapping[str, Number],
    thresholds: Mapping[str, DatedValue | None],
    in_force: Number,
    *,
    metric_print: bool,
) -> Judgement:
    env: dict[str, Number] = dict(facts)
    for name, value in thresholds.items():
        env[name] = value.value(metric=metric_print) if value else NOT_STATED
    applies = np.asarray(in_force)
    if rule.when is not None:
        own = rule.when.value(env)
        applies = np.where((applies == 0) | np.equal(own, 0), 0.0, applies * own)
    verdict = _over_rows(applies, rule.requires.value(env))
    # Without any row in which the rule applies, nothing governs.
    governs = verdict not in (Verdict.DOES_NOT_APPLY,)
    governing = rule.requires.governing(env) if governs else None
    return Judgement(verdict, governing, env, thresholds, metric_print)


def _over_rows(applies: Number, holds: Number) -> Verdict:
    """One verdict over the rows: met or not met only where all rows agree."""
    rows_apply, rows_hold = np.broadcast_arrays(np.atleast_1d(applies), np.atleast_1d(holds))
    unknown = np.isnan(rows_apply) | (np.isnan(rows_hold) & (rows_apply != 0))
    if unknown.any():
        return Verdict.NOT_STATED
    if (rows_apply == 0).all():
        return Verdict.DOES_NOT_APPLY
    satisfied = (rows_apply == 0) | (rows_hold == 1)
    if satisfied.all():
        return Verdict.MET
    return Verdict.TOO_CLOSE if satisfied.any() else Verdict.NOT_MET
