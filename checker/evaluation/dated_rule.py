"""One rule on one day, evaluated for the facts of one subject in every row of a load."""

import math
from collections.abc import Mapping
from datetime import date
from functools import cached_property

import numpy as np
from msgspec import Struct

from checker.evaluation.rule_rows import (
    DOES_NOT_APPLY,
    MET,
    NO_MARGIN,
    NOT_MET,
    NOT_STATED,
    NOWHERE,
    TOO_CLOSE,
    VERDICTS,
    Codes,
    Flags,
    Indices,
    Numbers,
    SubjectRows,
    collapse,
    take,
)
from checker.facts.catalogue import catalogue
from checker.rulebooks.formula_arithmetic import worst_rows
from checker.rulebooks.formula_nodes import Leaf
from checker.rulebooks.model import DatedValue, Rule
from checker.rulebooks.verdicts import Verdict
from checker.units.arithmetic import Compared, Number, both, everywhere

Env = Mapping[str, Number]
"""Every fact and threshold that a rule names: floats, or arrays of one entry a row."""

_CODE = np.int8
_FIRST: Indices = np.zeros(1, dtype=np.intp)
_EVERYWHERE: Flags = np.ones(1, dtype=bool)
_OF_ONE: tuple[Codes, ...] = tuple(np.full(1, code, dtype=_CODE) for code in range(len(VERDICTS)))
"""The column of one row with each verdict."""
_IDLE = SubjectRows(
    verdicts=_OF_ONE[DOES_NOT_APPLY],
    distances=np.full(1, math.inf),
    margins=NO_MARGIN,
    spare=NO_MARGIN,
    leaf=_FIRST,
    corner=_FIRST,
    metric=NOWHERE,
)


class DatedRule:
    """A rule with the values of its thresholds on one day."""

    def __init__(self, rule: Rule, on: date) -> None:
        """Look up the thresholds; one without a value on the day is not stated."""
        self.rule = rule
        self.in_force = rule.days is None or rule.days.holds_on(on)
        """False before the first day of the rule and after its last: it does not apply then."""
        self.values: Mapping[str, DatedValue | None] = {
            name: threshold.on(on) for name, threshold in rule.thresholds.items()
        }
        self.has_metric_print = any(value and value.metric_print for value in self.values.values())

    def limits(self, *, metric: bool) -> dict[str, Number]:
        """The thresholds as numbers, in the printed US or metric figures."""
        return {
            name: value.value(metric=metric) if value else math.nan
            for name, value in self.values.items()
        }

    @cached_property
    def leaves(self) -> tuple[Leaf, ...]:
        """The comparisons and yes/no names of what the rule requires."""
        return self.rule.requires.leaves

    @cached_property
    def has_spare(self) -> tuple[bool, ...]:
        """For each leaf, whether a small share of its limit is meaningful as a distance."""
        if self.rule.usual_at_limit:
            return (False,) * len(self.leaves)
        return tuple(
            not (leaf.operator == "==" and leaf.wanted) and not counts_things(_names(leaf))
            for leaf in self.leaves
        )


def _names(leaf: Leaf) -> frozenset[str]:
    return leaf.left.names | (leaf.right.names if leaf.right else frozenset())


def counts_things(names: frozenset[str]) -> bool:
    """True if one of the names is a fact that counts things."""
    known = catalogue()
    return any(name in known and known[name].kind == "count" for name in names)


class CaseResult(Struct, frozen=True):
    """The verdict of one rule for one row of given facts, with every number used."""

    verdict: Verdict
    env: Env


def evaluate_case(rule: Rule, facts: Env, day: date, *, metric: bool = False) -> CaseResult:
    """The verdict of a rule for given facts on a day.

    With `metric`, some fact is stated in metric units: the printed metric figures are tried too,
    and the worse verdict counts.
    """
    dated = DatedRule(rule, day)
    found: list[tuple[int, dict[str, Number]]] = []
    for print_is_metric in (False, True) if metric and dated.has_metric_print else (False,):
        env: dict[str, Number] = dict(facts)
        env |= dated.limits(metric=print_is_metric)
        rows = max((np.size(value) for value in env.values()), default=1)
        rows_found = evaluate_subject(dated, env, 1.0, corners=rows)
        found.append((int(rows_found.verdicts[0]), env))
    code, env = min(found, key=lambda each: each[0])
    return CaseResult(VERDICTS[code], env)


def evaluate_subject(
    dated: DatedRule, env: Env, applies: Number, *, corners: int, metric: bool = False
) -> SubjectRows:
    """The rows of one subject under a rule, with the US or the metric figures.

    `applies` is, for each row, the truth of "the rulebook applies". The rows of the env are corners
    times n: row c * n + i is corner c of row i of the result. The first corner is as stated. A rule
    is met or not met only where all corners that it applies to agree.
    """
    rule = dated.rule
    if not dated.in_force:
        return _IDLE
    if rule.when is not None:
        applies = one_if_equal(both(applies, rule.when.value(env)))
    if isinstance(applies, float) and applies == 0:
        return _IDLE
    truth, margin, leaf = rule.requires.decide(env)
    if isinstance(applies, float) and isinstance(truth, float) and isinstance(margin, float):
        return _of_one_row(dated, env, applies, truth, margin, int(leaf), metric=metric)
    verdicts = _verdicts(applies, truth)
    distances = np.atleast_1d(margin)
    leaves = np.atleast_1d(leaf).astype(np.intp)
    deciding = _FIRST
    if corners > 1:
        rows = max(verdicts.size, distances.size, leaves.size, np.size(truth))
        if rows > 1:
            deciding = worst_rows(truth, distances, corners, rows // corners)
            verdicts = _over_corners(verdicts, corners)
            distances, leaves = take(distances, deciding), take(leaves, deciding)
    margins = _shares(dated, env, distances, leaves, deciding if corners > 1 else None)
    idle = verdicts == DOES_NOT_APPLY
    if idle.any():
        distances = np.where(idle, np.inf, distances)
    return SubjectRows(
        verdicts=verdicts,
        distances=distances,
        margins=margins,
        spare=_spare(dated, verdicts, margins, leaves),
        leaf=leaves,
        corner=deciding // (deciding.size or 1),
        metric=_EVERYWHERE if metric else NOWHERE,
    )


def _of_one_row(
    dated: DatedRule,
    env: Env,
    applies: float,
    truth: float,
    margin: float,
    leaf: int,
    *,
    metric: bool,
) -> SubjectRows:
    """`evaluate_subject` for one row of plain floats, which is many times quicker."""
    code = NOT_STATED
    if applies == 1 and truth in (0, 1):
        code = MET if truth else NOT_MET
    is_share = math.isfinite(margin) and everywhere(_has_limit(dated.leaves[leaf], env))
    has_spare = is_share and code == MET and dated.has_spare[leaf]
    distances = np.array([margin])
    return SubjectRows(
        verdicts=_OF_ONE[code],
        distances=distances,
        margins=distances if is_share else NO_MARGIN,
        spare=distances if has_spare else NO_MARGIN,
        leaf=np.array([leaf], dtype=np.intp) if leaf else _FIRST,
        corner=_FIRST,
        metric=_EVERYWHERE if metric else NOWHERE,
    )


def one_if_equal(truth: Number) -> Number:
    """The truth as one float where all rows are equal."""
    if isinstance(truth, float):
        return truth
    first = truth.flat[0]
    return float(first) if (truth == first).all() else truth


def _verdicts(applies: Number, truth: Number) -> Codes:
    """The verdict of each row, from whether the rule applies and whether it holds."""
    found: Codes | np.int8 = _CODE(MET)
    holds = np.equal(truth, 1)
    if not holds.all():
        undecided = np.where(np.equal(truth, 0), _CODE(NOT_MET), _CODE(NOT_STATED))
        found = np.where(holds, _CODE(MET), undecided)
    if not isinstance(applies, float) or applies != 1:
        found = np.where(np.equal(applies, 1), found, _CODE(NOT_STATED))
        found = np.where(np.equal(applies, 0), _CODE(DOES_NOT_APPLY), found)
    return np.atleast_1d(found)


def _over_corners(verdicts: Codes, corners: int) -> Codes:
    """One verdict a row, from those of its corners."""
    if verdicts.size == 1:
        return verdicts
    by_corner = verdicts.reshape(corners, -1)
    first: Codes = by_corner[0]
    if (by_corner == first).all():
        return first
    broken = by_corner == NOT_MET
    found: Codes = np.select(
        [
            (by_corner == NOT_STATED).any(axis=0),
            (by_corner == DOES_NOT_APPLY).all(axis=0),
            ~broken.any(axis=0),
            broken.all(axis=0),
        ],
        [_CODE(NOT_STATED), _CODE(DOES_NOT_APPLY), _CODE(MET), _CODE(NOT_MET)],
        _CODE(TOO_CLOSE),
    )
    return found


def _shares(
    dated: DatedRule, env: Env, distances: Numbers, leaves: Indices, deciding: Indices | None
) -> Numbers:
    """Distances that are a share of a limit, NaN for others; `deciding` maps corners to rows."""
    shares = distances
    finite = np.isfinite(shares)
    if not finite.all():
        shares = np.where(finite, shares, np.nan)
    for index, leaf in enumerate(dated.leaves):
        has_limit = _has_limit(leaf, env)
        if not everywhere(has_limit):
            without = np.atleast_1d(np.logical_not(has_limit))
            if deciding is not None:
                without = take(without, deciding)
            shares = np.where((leaves == index) & without, np.nan, shares)
    return shares


def _has_limit(leaf: Leaf, env: Env) -> Compared:
    """True where the margin of a comparison is a share of its right side, which is not 0."""
    if leaf.operator is None or leaf.right is None:
        return False
    right = leaf.right.value(env)
    return right != 0


def _spare(dated: DatedRule, verdicts: Codes, margins: Numbers, leaves: Indices) -> Numbers:
    """Margins of met rows where a share of the limit is meaningful, NaN elsewhere."""
    if not any(dated.has_spare):
        return NO_MARGIN
    counts = verdicts == MET
    if not all(dated.has_spare):
        counts = counts & np.array(dated.has_spare)[leaves]
    return margins if counts.all() else collapse(np.where(counts, margins, np.nan))
