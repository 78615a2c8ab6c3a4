"""Finds moved days of a threshold that change no verdict, whatever a load states.

On the day before all thresholds of a rule begin, one of them that begins a day earlier may change
nothing: what the rule asks, or when it applies, still has no value. Then the days that are equal
are one day of the rule, and move together.
"""

import ast
import itertools
from collections.abc import Iterator, Mapping
from datetime import date, timedelta
from typing import Final

from msgspec.structs import replace

from checker.rulebooks.formula_tree import tree_of
from checker.rulebooks.model import DatedValue, Rule

_DAY: Final = timedelta(days=1)
_MOST_COMPARISONS: Final = 10
"""A rule with more comparisons and answers than this is not examined."""


def changes_no_verdict(rule: Rule, changed: Rule) -> bool:
    """True if moved days leave a rule on every day, for every load, with the verdict that it had.

    Each comparison and each answer may be true or false, independently of the others.
    """
    if not any(_moves(rule, changed)):
        return False
    trees = [tree_of(each.text) for each in (rule.when, rule.requires) if each is not None]
    formulas = [each for each in trees if each is not None]
    if len(formulas) < len(trees):
        return False
    leaves = sorted({ast.unparse(leaf) for each in formulas for leaf in _leaves(each)})
    if len(leaves) > _MOST_COMPARISONS:
        return False
    for day in _days(rule, changed):
        before, after = (_values_on(each, day) for each in (rule, changed))
        if before == after:
            continue
        if any(before[name] != after[name] for name in before.keys() & after.keys()):
            return False
        names = rule.thresholds.keys()
        for truths in itertools.product((False, True), repeat=len(leaves)):
            known = dict(zip(leaves, truths, strict=True))
            verdicts = {
                tuple(_truth(each, known, names - values.keys()) for each in formulas)
                for values in (before, after)
            }
            if len({_verdict(each) for each in verdicts}) > 1:
                return False
    return True


def moved_together(rule: Rule, changed: Rule) -> Rule | None:
    """The rule with all its equal days moved as one is in the changed rule; None if it has one."""
    moves = dict(_moves(rule, changed))
    together = {
        name: replace(threshold, values=tuple(_moved(each, moves) for each in threshold.values))
        for name, threshold in rule.thresholds.items()
    }
    return None if together == changed.thresholds else replace(rule, thresholds=together)


def _moves(rule: Rule, changed: Rule) -> Iterator[tuple[date, date]]:
    """Each day that was moved, and where to."""
    for name, threshold in rule.thresholds.items():
        for old, new in zip(threshold.values, changed.thresholds[name].values, strict=True):
            if old.starts != new.starts:
                yield old.starts, new.starts
            if old.ends != new.ends and old.ends and new.ends:
                yield old.ends, new.ends


def _moved(value: DatedValue, moves: Mapping[date, date]) -> DatedValue:
    ends = value.ends and moves.get(value.ends, value.ends)
    return replace(value, starts=moves.get(value.starts, value.starts), ends=ends)


def _days(rule: Rule, changed: Rule) -> set[date]:
    """The days around those on which a value begins or ends."""
    turns = {
        day
        for each in (rule, changed)
        for threshold in each.thresholds.values()
        for value in threshold.values
        for day in (value.starts, value.ends)
        if day is not None
    }
    return turns | {day - _DAY for day in turns}


def _values_on(rule: Rule, day: date) -> dict[str, float]:
    held = {name: each.on(day) for name, each in rule.thresholds.items()}
    return {name: value.quantity.value for name, value in held.items() if value}


def _leaves(node: ast.expr) -> Iterator[ast.expr]:
    """The comparisons and answers of a formula; each comparison of a chain by itself."""
    match node:
        case ast.UnaryOp(op=ast.Not()):
            yield from _leaves(node.operand)
        case ast.BoolOp():
            for value in node.values:
                yield from _leaves(value)
        case ast.Compare():
            sides = [node.left, *node.comparators]
            for (left, right), operator in zip(itertools.pairwise(sides), node.ops, strict=True):
                yield ast.Compare(left=left, ops=[operator], comparators=[right])
        case _:
            yield node


def _truth(node: ast.expr, known: Mapping[str, bool], without: set[str]) -> bool | None:
    """The truth of a formula; None where a threshold in it has no value and decides."""
    match node:
        case ast.UnaryOp(op=ast.Not()):
            truth = _truth(node.operand, known, without)
            return None if truth is None else not truth
        case ast.BoolOp(op=ast.And()):
            return _all(_truth(value, known, without) for value in node.values)
        case ast.BoolOp():
            none = _all(_denied(_truth(value, known, without)) for value in node.values)
            return _denied(none)
        case ast.Compare() if len(node.ops) > 1:
            return _all(_truth(leaf, known, without) for leaf in _leaves(node))
    return None if _bare_names(node) & without else known[ast.unparse(node)]


def _bare_names(node: ast.expr) -> set[str]:
    """The names without a dot, as thresholds have; a threshold may be called `trip`."""
    dotted = {each.value for each in ast.walk(node) if isinstance(each, ast.Attribute)}
    names = (each for each in ast.walk(node) if isinstance(each, ast.Name))
    return {each.id for each in names if each not in dotted}


def _denied(truth: bool | None) -> bool | None:  # noqa: FBT001 - a truth of three values
    return None if truth is None else not truth


def _all(truths: Iterator[bool | None]) -> bool | None:
    """False if one is false, else None if one is not known."""
    found = list(truths)
    if False in found:
        return False
    return None if None in found else True


def _verdict(truths: tuple[bool | None, ...]) -> str:
    """The verdict by the truths of `when`, where there is one, and `requires`."""
    *when, requires = truths
    if False in when:
        return "does not apply"
    if None in when or requires is None:
        return "not stated"
    return "met" if requires else "not met"
