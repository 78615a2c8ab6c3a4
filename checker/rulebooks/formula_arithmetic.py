"""Arithmetic, comparisons and truth of formulas, and the leaf that decides a truth.

A truth is calculated in two ways: its plain value, which has to be quick, and its decision, which
also finds the margin and the comparison or yes/no name that decides.
"""

import math
import operator
from collections.abc import Callable, Mapping
from functools import reduce
from typing import Final

import numpy as np
from numpy.typing import NDArray

from checker.rulebooks.formula_nodes import Decision, Env, Leaf, NumberNode, TruthNode
from checker.units.arithmetic import (
    Number,
    at_least,
    both,
    either,
    equal,
    more_than,
    negated,
    steps_down,
    steps_up,
)
from checker.units.kinds import OF_A_DAY


def plain(number: Number) -> Number:
    """A single value as a Python float; rows stay as they are."""
    # Of a float numpy would make an array to see that it has no rows.
    return number if not isinstance(number, float) and np.ndim(number) else float(number)


def at_row(part: NumberNode, env: Env, row: int) -> float:
    """The value of a node in one row; a value shared by all rows counts for each."""
    with np.errstate(all="ignore"):
        column = np.atleast_1d(part.value(env))
    return float(column[row] if column.size > 1 else column[0])


def decision(truth: TruthNode, env: Env) -> Decision:
    """Truth, margin and leaf, each a float where all rows are equal."""
    with np.errstate(all="ignore"):
        return truth.decide(env)


def decision_by_row(truth: TruthNode, env: Env) -> Decision:
    """Truth, margin and leaf with equal numbers of rows, or floats where all rows are equal."""
    found = decision(truth, env)
    if _are_floats(*found):
        return found
    shapes = [np.shape(column) for column in found]
    shape = np.broadcast_shapes(*shapes)
    # Comparing the shapes is quicker than broadcasting an array to its own shape.
    return Decision(
        *(
            column if own == shape else np.broadcast_to(column, shape)
            for column, own in zip(found, shapes, strict=True)
        )
    )


def _are_floats(*numbers: Number) -> bool:
    """True if plain Python floats will do, which is ten times quicker for one number."""
    return all(isinstance(number, float) for number in numbers)


def _quotient(left: Number, right: Number) -> Number:
    """Left / right; NaN for division by zero or a result too large for a float."""
    if isinstance(left, float) and isinstance(right, float):
        result = left / right if right else math.nan
        return result if math.isfinite(result) else math.nan
    column = np.divide(left, right)
    return np.where(np.isfinite(column), column, np.nan)


def _smallest(numbers: list[Number]) -> Number:
    return reduce(np.minimum, numbers)


def _largest(numbers: list[Number]) -> Number:
    return reduce(np.maximum, numbers)


_LARGEST: Final = np.finfo(float).max
ARITHMETIC: Final[Mapping[str, Callable[[Number, Number], Number]]] = {
    "+": operator.add,
    "-": operator.sub,
    "*": operator.mul,
    "/": _quotient,
}
OF_ONE: Final[Mapping[str, Callable[[Number], Number]]] = {
    "abs": np.abs,
    "ceil": steps_up,
    "floor": steps_down,
}
OF_MANY: Final[Mapping[str, Callable[[list[Number]], Number]]] = {
    "min": _smallest,
    "max": _largest,
}
COMPARE: Final[Mapping[str, Callable[[Number, Number], Number]]] = {
    ">=": at_least,
    ">": more_than,
    "<=": lambda left, right: at_least(right, left),
    "<": lambda left, right: more_than(right, left),
    "==": equal,
}
MIRRORED: Final = {">=": "<=", ">": "<", "<=": ">=", "<": ">", "==": "=="}
OPPOSITE: Final = {">=": "<", ">": "<=", "<=": ">", "<": ">=", "==": "!="}


def rank(truth: Number) -> Number:
    """The order of verdicts: not met 0, unknown 1/2, met 1."""
    if isinstance(truth, float):
        return 0.5 if math.isnan(truth) else truth
    return np.where(np.isnan(truth), 0.5, truth)


def worst_rows(
    truth: Number, margins: NDArray[np.float64], corners: int, rows: int
) -> NDArray[np.intp]:
    """The corner that decides each row, as an index into corners times rows.

    The worst verdict decides; among corners of one verdict the smallest margin, then the first.
    """
    shape = (corners, rows)
    order = np.where(np.isnan(margins), np.inf, margins)
    order = np.broadcast_to(order, (corners * rows,)).reshape(shape)
    if not isinstance(truth, float):
        ranks = np.broadcast_to(np.asarray(rank(truth)), (corners * rows,)).reshape(shape)
        # A row of the worst verdict comes before all others, even with an infinite margin.
        order = np.where(ranks == ranks.min(axis=0), np.minimum(order, _LARGEST), np.inf)
    found: NDArray[np.intp] = order.argmin(axis=0) * rows + np.arange(rows)
    return found


def _margin(sign: str, left: Number, right: Number, truth: Number) -> Number:
    """The difference of both sides as a share of the right side.

    A difference within the tolerance must not have the sign of the wrong verdict: it becomes 0, and
    through the last sum never minus 0.
    """
    gap: Number = right - left if sign in ("<", "<=") else left - right
    if sign == "==":
        gap = -abs(gap) if isinstance(gap, float) else -np.abs(gap)
    if isinstance(right, float):
        share = gap / (abs(right) if right else 1.0)
    else:
        share = gap / np.where(right == 0, 1.0, np.abs(right))
    if isinstance(share, float) and isinstance(truth, float):
        towards = share > 0 if truth == 1 else share < 0
        return share if towards or math.isnan(share) else 0.0
    holds = np.equal(truth, 1)
    if holds.all():
        return np.maximum(share, 0.0) + 0.0
    return np.where(holds, np.maximum(share, 0.0), np.minimum(share, 0.0)) + 0.0


def _certain(truth: Number) -> Number:
    """Plus or minus infinity, NaN where the truth is unknown."""
    if isinstance(truth, float):
        known = math.inf if truth == 1 else -math.inf
        return truth if math.isnan(truth) else known
    certain = np.where(np.equal(truth, 1), np.inf, -np.inf)
    return np.where(np.isnan(truth), np.nan, certain)


def comparison(left: NumberNode, sign: str, right: NumberNode) -> TruthNode:
    """The node of a comparison with one of the signs of COMPARE."""
    compare, left_value, right_value = COMPARE[sign], left.value, right.value
    of_days = OF_A_DAY in (left.dimension, right.dimension)

    def decide(env: Env) -> Decision:
        a, b = left_value(env), right_value(env)
        truth = compare(a, b)
        # A share of a date says nothing: days are early or late, as an answer is yes or no.
        return Decision(truth, _certain(truth) if of_days else _margin(sign, a, b, truth), 0.0)

    return TruthNode(
        left.names | right.names,
        lambda env: compare(left_value(env), right_value(env)),
        (Leaf(left, sign, right),),
        decide,
    )


def answer(name: NumberNode) -> TruthNode:
    """The node of a yes/no name: its margin is plus or minus infinity."""

    def decide(env: Env) -> Decision:
        truth = name.value(env)
        return Decision(truth, _certain(truth), 0.0)

    leaves = (Leaf(name, None, None),)
    return TruthNode(name.names, name.value, leaves, decide)


def joined(left: TruthNode, word: str, right: TruthNode) -> TruthNode:
    """The node of left and/or/unless right; the leaf that decides has the verdict of the whole.

    `unless` is an `or` whose right side says in which case nothing is asked: where neither holds,
    the left side decides however close the right side is, because that is what has to be done.

    Verdicts rank before margins: at equality `y >= 3 and x > 5` has two margins of 0, and only the
    second leaf is not met.
    """
    join, decides = (both, operator.lt) if word == "and" else (either, operator.gt)
    left_value, right_value, shift = left.value, right.value, len(left.leaves)
    closer_decides_from = 0.5 if word == "unless" else 0.0  # the rank of unknown, of not met

    def decide(env: Env) -> Decision:
        a, b = left.decide(env), right.decide(env)
        rank_a, rank_b = rank(a.truth), rank(b.truth)
        if _are_floats(*a, *b):
            takes = decides(rank_b, rank_a) or (
                rank_a == rank_b >= closer_decides_from and decides(b.margin, a.margin)
            )
            return Decision(b.truth, b.margin, b.leaf + shift) if takes else a
        closer = np.equal(rank_a, rank_b) & decides(b.margin, a.margin)
        closer = closer & np.greater_equal(rank_a, closer_decides_from)
        take_b = decides(rank_b, rank_a) | closer
        return Decision(
            np.where(take_b, b.truth, a.truth),
            np.where(take_b, b.margin, a.margin),
            np.where(take_b, np.add(b.leaf, shift), a.leaf),
        )

    return TruthNode(
        left.names | right.names,
        lambda env: join(left_value(env), right_value(env)),
        left.leaves + right.leaves,
        decide,
    )


def opposite(truth: TruthNode) -> TruthNode:
    """The node of a `not`: the same leaf decides, with the margin's sign changed."""
    inner, decide_inner = truth.value, truth.decide

    def decide(env: Env) -> Decision:
        within = decide_inner(env)
        return Decision(negated(within.truth), 0.0 - within.margin, within.leaf)

    leaves = tuple(leaf._replace(wanted=1.0 - leaf.wanted) for leaf in truth.leaves)
    return TruthNode(truth.names, lambda env: negated(inner(env)), leaves, decide)


def wanted_operator(leaf: Leaf) -> str | None:
    """The comparison that must hold: under a `not` the inverted one; None for a yes/no name."""
    if leaf.operator is None or leaf.wanted:
        return leaf.operator
    return OPPOSITE[leaf.operator]


def by_itself(leaf: Leaf) -> TruthNode:
    """The node of one leaf alone, inverted where it is under a `not`."""
    if leaf.operator is None or leaf.right is None:
        truth = answer(leaf.left)
    else:
        truth = comparison(leaf.left, leaf.operator, leaf.right)
    return truth if leaf.wanted else opposite(truth)
