"""The deciding comparison of a rule in many rows: its two sides, their kind, the side of the limit.

A check prints them for its one row; an audit writes them for every haul.
"""

import re
from collections.abc import Mapping
from typing import NamedTuple

import numpy as np

from checker.evaluation.evaluator import BookEvaluator
from checker.evaluation.rule_rows import DOES_NOT_APPLY, Flags, Indices, Numbers, RuleRows, expand
from checker.facts.catalogue import ANSWER, Fact, catalogue
from checker.facts.printed_kind import printed_kind
from checker.facts.view import Subject
from checker.rulebooks.formula_nodes import Env, Leaf
from checker.rulebooks.model import DatedValue, Rule
from checker.units.arithmetic import Number


class Compared(NamedTuple):
    """The sides of the deciding comparison, one entry a row; NaN where there is none or unknown.

    Both are in N, m, s and rad; those of an answer are 1 for yes and 0 for no.
    """

    found: Numbers
    wanted: Numbers


def compared(rows: RuleRows) -> Compared:
    """What the load gives and what the rule requires, in each row of a load."""
    evaluator, rule = rows.evaluator, rows.rule
    assert isinstance(evaluator, BookEvaluator)
    number, leaves = evaluator.rows, rule.requires.leaves
    sides = Compared(*np.full((2, number), np.nan))
    subjects = evaluator.subjects(rule)
    # One number for each subject, leaf and print, so that rows are told apart by one comparison.
    kinds = (rows.subject * len(leaves) + rows.leaf) * 2 + rows.metric
    applies = (rows.verdicts != DOES_NOT_APPLY) & (rows.subject >= 0)
    kinds = expand(np.where(applies, kinds, -1), number)
    corner = expand(rows.corner, number)
    for kind in np.unique(kinds).tolist():
        if kind < 0:
            continue
        rest, printed = divmod(kind, 2)
        index, of_leaf = divmod(rest, len(leaves))
        here = np.flatnonzero(kinds == kind)
        env = evaluator.env(rule, subjects[index], metric=bool(printed))
        for side, values in zip(sides, _values(leaves[of_leaf], env), strict=True):
            side[here] = _in_rows(values, corner[here] * number + here)
    return sides


def _values(leaf: Leaf, env: Env) -> tuple[Number, Number]:
    with np.errstate(all="ignore"):
        wanted = leaf.wanted if leaf.right is None else leaf.right.value(env)
        return leaf.left.value(env), wanted


def _in_rows(values: Number, rows: Indices) -> Numbers | float:
    column: Numbers = np.atleast_1d(values)
    return column[rows] if column.size > 1 else float(column[0])


def is_metric(rows: RuleRows) -> Flags:
    """True in rows where most of the stated figures behind a rule are in metric units."""
    evaluator, rule = rows.evaluator, rows.rule
    assert isinstance(evaluator, BookEvaluator)
    found = [_is_metric(evaluator, rule, each) for each in evaluator.subjects(rule)]
    # The index of a row without a subject is -1.
    of_subject: Flags = np.array([*found, False])[rows.subject]
    return of_subject


def _is_metric(evaluator: BookEvaluator, rule: Rule, subject: Subject | None) -> bool:
    origins = {
        field: origin.metric
        for name in rule.facts
        for field, origin in evaluator.facts.origins(name, subject).items()
    }
    votes = [1 if metric else -1 for metric in origins.values() if metric is not None]
    return sum(votes) > 0


def kind_of_leaf(rule: Rule, leaf: Leaf, thresholds: Mapping[str, DatedValue]) -> str:
    """The kind of quantity that a comparison of a rule compares; ANSWER for a yes/no name."""
    if leaf.right is None:
        return ANSWER
    known = catalogue()
    facts = {name: known[name] for name in rule.facts}
    left, right = rule.requires.text_of(leaf)
    return kind_of_comparison(left, right or "", facts, thresholds)


def kind_of_comparison(
    left: str, right: str, facts: Mapping[str, Fact], thresholds: Mapping[str, DatedValue]
) -> str:
    """The kind in which to show a comparison: of a single name on either side, else of all names.

    Shares and bare numbers have no dimension, so the names decide between them.
    """
    for side in (left, right):
        if side in facts and facts[side].kind != ANSWER:
            return printed_kind(facts[side])
    for side in (right, left):
        if side in thresholds:
            return thresholds[side].quantity.kind
    names = re.findall(r"[a-z][a-z0-9_.]*", f"{left} {right}")
    kinds = [facts[name].kind for name in names if name in facts]
    kinds += [thresholds[name].quantity.kind for name in names if name in thresholds]
    for kind in kinds:
        if kind not in ("ratio", "number", "count", ANSWER):
            return kind
    return "ratio" if "ratio" in kinds else "number"
