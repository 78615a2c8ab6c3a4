"""What a rule says of given numbers: one verdict, over all rows, in the stricter of two prints."""

import math
from collections.abc import Mapping, Sequence
from datetime import date
from enum import StrEnum

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from checker.rulebooks.formula import Governing
from checker.rulebooks.model import DatedValue, Rule
from checker.units.arithmetic import NOT_STATED, Number, both


class Verdict(StrEnum):
    """What a rule says of a load. Undecided is never a pass."""

    MET = "met"
    NOT_MET = "not met"
    TOO_CLOSE = "too close to call"
    NOT_STATED = "not stated"
    DOES_NOT_APPLY = "does not apply"


# The worse verdict wins where a rule is judged in two prints or for several subjects.
WORST_FIRST = (
    Verdict.NOT_MET,
    Verdict.NOT_STATED,
    Verdict.TOO_CLOSE,
    Verdict.MET,
    Verdict.DOES_NOT_APPLY,
)


def worst(verdicts: list[Verdict]) -> Verdict:
    """The verdict that decides among several; none at all means the rule does not apply."""
    return min(verdicts, key=WORST_FIRST.index, default=Verdict.DOES_NOT_APPLY)


# What a rule can say of one row of a load; `by_row` holds places in this list.
ROW_VERDICTS = (Verdict.NOT_MET, Verdict.MET, Verdict.DOES_NOT_APPLY, Verdict.NOT_STATED)
_NOT_MET, _MET, _DOES_NOT_APPLY, _NOT_STATED = range(len(ROW_VERDICTS))


class Judgement(Struct, frozen=True):
    """A verdict with what decided it: the governing comparison and the thresholds used.

    `by_row` holds what the rule says of each row, as places in ROW_VERDICTS.
    """

    verdict: Verdict
    by_row: NDArray[np.int8]
    governing: Governing | None
    env: Mapping[str, Number]
    thresholds: Mapping[str, DatedValue | None]
    metric_print: bool


def worst_by_row(judgements: Sequence[Judgement], rows: int) -> NDArray[np.int8]:
    """What a rule says of each row over all its subjects: the worst of them, in ROW_VERDICTS."""
    order = np.array([WORST_FIRST.index(verdict) for verdict in ROW_VERDICTS])
    table = np.array([np.broadcast_to(each.by_row, (rows,)) for each in judgements])
    deciding = order[table].argmin(axis=0)
    found: NDArray[np.int8] = np.take_along_axis(table, deciding[np.newaxis], axis=0)[0]
    return found


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
    return min(judged, other, key=lambda each: WORST_FIRST.index(each.verdict))


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
    applies = both(in_force, rule.when.value(env)) if rule.when else in_force
    by_row = _by_row(applies, rule.requires.value(env))
    verdict = _over_rows(by_row)
    governing = None if verdict is Verdict.DOES_NOT_APPLY else rule.requires.governing(env)
    return Judgement(verdict, by_row, governing, env, thresholds, metric_print)


def _by_row(applies: Number, holds: Number) -> NDArray[np.int8]:
    """What the rule says of each row, as places in ROW_VERDICTS."""
    if isinstance(applies, float) and isinstance(holds, float):
        return np.array([_of_one_row(applies, holds)], dtype=np.int8)
    rows_apply, rows_hold = np.broadcast_arrays(np.atleast_1d(applies), np.atleast_1d(holds))
    said = np.where(rows_hold == 1, _MET, _NOT_MET)
    said = np.where(np.isnan(rows_apply) | np.isnan(rows_hold), _NOT_STATED, said)
    return np.where(rows_apply == 0, _DOES_NOT_APPLY, said).astype(np.int8)


def _of_one_row(applies: float, holds: float) -> int:
    """`_by_row` of a single load, for which numpy takes many times as long."""
    if applies == 0:
        return _DOES_NOT_APPLY
    if math.isnan(applies) or math.isnan(holds):
        return _NOT_STATED
    return _MET if holds == 1 else _NOT_MET


def _over_rows(by_row: NDArray[np.int8]) -> Verdict:
    """One verdict over the rows: met or not met only where all rows it applies to agree."""
    said = set(by_row.tolist())
    if _NOT_STATED in said:
        return Verdict.NOT_STATED
    if said == {_DOES_NOT_APPLY}:
        return Verdict.DOES_NOT_APPLY
    if _NOT_MET not in said:
        return Verdict.MET
    return Verdict.NOT_MET if said == {_NOT_MET} else Verdict.TOO_CLOSE
