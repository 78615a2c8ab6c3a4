"""Finds conditions (`when`) that can never be true.

Found are a condition that its thresholds alone make false, and one that contradicts itself on one
fact or one sum of facts, as `a >= 5 and a < 5` or `a and not a` does. The condition is written as
alternatives (`or` of `and`s); it can never be true when every alternative holds a contradiction, on
every day on which the thresholds have other values. Not found are contradictions between different
facts, between one sum written in two ways, or with the possible values of a fact, such as a
negative weight.
"""

import ast
import itertools
import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from functools import partial
from typing import Final, TypeAlias

from checker.rulebooks.formula import Formula
from checker.rulebooks.formula_tree import tree_of
from checker.rulebooks.model import Rule
from checker.rulebooks.rule_reading import compile_in_rule
from checker.units.arithmetic import NOT_STATED, equal

MOST_ALTERNATIVES: Final = 1000
"""A condition with more alternatives than this is not examined."""

_SIGNS: Final[Mapping[type[ast.cmpop], str]] = {
    ast.Lt: "<",
    ast.LtE: "<=",
    ast.Gt: ">",
    ast.GtE: ">=",
    ast.Eq: "==",
}
_MIRRORED: Final = {"<": ">", "<=": ">=", ">": "<", ">=": "<=", "==": "=="}
_DENIED: Final = {"<": ">=", "<=": ">", ">": "<=", ">=": "<", "==": "!="}


@dataclass(frozen=True, slots=True)
class _Claim:
    """One comparison or one yes/no name of a condition, or its negation."""

    text: str
    holds: bool
    left: str = ""
    sign: str = ""
    right: str = ""


_Alternative: TypeAlias = tuple[_Claim, ...]


class _TooManyError(Exception):
    """The condition has more alternatives than are examined."""


def unreachable(rule: Rule) -> bool:
    """True if a rule's `when` is certainly false or unknown, for every load and day."""
    if rule.when is None:
        return False
    tree = tree_of(rule.when.text)
    if tree is None:
        return False
    try:
        alternatives = _alternatives(tree, holds=True)
    except _TooManyError:
        return False
    sides = _sides(rule, alternatives)
    return all(
        _contradicts(alternative, sides, numbers)
        for numbers in _threshold_values(rule)
        for alternative in alternatives
    )


def _threshold_values(rule: Rule) -> Iterator[dict[str, float]]:
    """The thresholds' numbers on each day of a change, as US and as metric figures."""
    days = {value.starts for each in rule.thresholds.values() for value in each.values}
    for day, metric in itertools.product(sorted(days) or [date.max], (False, True)):
        held = {name: each.on(day) for name, each in rule.thresholds.items()}
        yield {
            name: value.value(metric=metric) if value else NOT_STATED
            for name, value in held.items()
        }


def _alternatives(node: ast.expr, *, holds: bool) -> list[_Alternative]:
    """The condition, or its negation, as alternatives; each is a list of claims."""
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not):
        return _alternatives(node.operand, holds=not holds)
    if isinstance(node, ast.BoolOp):
        parts = [_alternatives(value, holds=holds) for value in node.values]
        # Negated, an `and` becomes an `or` of negations, and the other way round.
        return _joined(parts, both=isinstance(node.op, ast.And) == holds)
    if isinstance(node, ast.Compare):
        sides = [ast.unparse(side) for side in (node.left, *node.comparators)]
        links: list[list[_Alternative]] = [
            [(_Claim(f"{left} {sign} {right}", holds, left, sign, right),)]
            for (left, right), sign in zip(
                itertools.pairwise(sides), (_SIGNS[type(op)] for op in node.ops), strict=True
            )
        ]
        return _joined(links, both=holds)
    return [(_Claim(ast.unparse(node), holds),)]


def _joined(parts: list[list[_Alternative]], *, both: bool) -> list[_Alternative]:
    if not both:
        return [alternative for part in parts for alternative in part]
    if math.prod(len(part) for part in parts) > MOST_ALTERNATIVES:
        raise _TooManyError
    return [tuple(itertools.chain(*each)) for each in itertools.product(*parts)]


def _contradicts(
    claims: Iterable[_Claim], sides: Mapping[str, Formula], numbers: Mapping[str, float]
) -> bool:
    """True if these claims cannot all hold at once."""
    answers: dict[str, bool] = {}
    bounds: dict[str, _Stretch] = {}
    for claim in claims:
        if answers.setdefault(claim.text, claim.holds) != claim.holds:
            return True
        if not claim.sign:
            continue
        sign = claim.sign if claim.holds else _DENIED[claim.sign]
        left, right = (_number(sides[side], numbers) for side in (claim.left, claim.right))
        if any(side is not None and math.isnan(side) for side in (left, right)):
            # A threshold that has no value on the day makes nothing true.
            return True
        if left is not None and right is not None:
            if not _Stretch().narrowed(sign, right).has(left):
                return True
            continue
        if left is None and right is not None:
            fact, limit = claim.left, right
        elif right is None and left is not None:
            fact, limit, sign = claim.right, left, _MIRRORED.get(sign, sign)
        else:
            continue
        bounds[fact] = bounds.get(fact, _Stretch()).narrowed(sign, limit)
        if bounds[fact].empty:
            return True
    return False


def _sides(rule: Rule, alternatives: Iterable[_Alternative]) -> dict[str, Formula]:
    """Each side of each comparison, compiled."""
    compiled = partial(compile_in_rule, each=rule.for_each, thresholds=rule.thresholds)
    claims = {claim for each in alternatives for claim in each if claim.sign}
    texts = {text for claim in claims for text in (claim.left, claim.right)}
    return {text: compiled(text, result="number") for text in texts}


def _number(side: Formula, numbers: Mapping[str, float]) -> float | None:
    """The value of a side that holds only thresholds and numbers; None if it holds a fact."""
    if side.names - numbers.keys():
        return None
    return float(side.value(numbers))


@dataclass(frozen=True, slots=True)
class _Stretch:
    """An interval of numbers, with or without its ends."""

    low: float = -math.inf
    high: float = math.inf
    low_in: bool = True
    high_in: bool = True

    def narrowed(self, sign: str, limit: float) -> "_Stretch":
        """The part of the interval that meets a comparison; `!=` leaves it as it is."""
        low, high, low_in, high_in = self.low, self.high, self.low_in, self.high_in
        if sign in (">", ">=", "=="):
            if limit > low:
                low, low_in = limit, sign != ">"
            elif limit == low:
                low_in = low_in and sign != ">"
        if sign in ("<", "<=", "=="):
            if limit < high:
                high, high_in = limit, sign != "<"
            elif limit == high:
                high_in = high_in and sign != "<"
        return _Stretch(low, high, low_in, high_in)

    @property
    def empty(self) -> bool:
        """True if no number lies in it; ends within the comparison tolerance are one number."""
        limit_problems = math.isfinite(self.low) and math.isfinite(self.high)
        if limit_problems and equal(self.low, self.high) == 1:
            return not (self.low_in and self.high_in)
        return self.low > self.high

    def has(self, number: float) -> bool:
        """True if a number lies in it."""
        return not self.narrowed("==", number).empty
