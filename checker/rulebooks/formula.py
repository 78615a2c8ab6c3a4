"""Formulas of rules: one line of arithmetic and comparison, checked and compiled once.

The syntax is Python's own, cut down: names (also dotted), `+ - * /`, unary minus, the comparisons
`< <= > >= ==` (chains such as `low <= x <= high` too), `and or not`, the functions `min max ceil
floor abs`, and the numbers 0, 1 and 2; and `unless`, which binds loosest. The text is parsed here
rather than by Python's parser so that every fault can name its operator and use the terms of a rule
author.

Formulas become nested functions, never code to be executed.
"""

from typing import Final, Literal

import numpy as np
from msgspec import Struct

from checker.rulebooks.dimensions import Dimension, FormulaError, FormulaFaults, Names
from checker.rulebooks.formula_arithmetic import (
    at_row,
    by_itself,
    decision,
    decision_by_row,
    plain,
    wanted_operator,
    worst_rows,
)
from checker.rulebooks.formula_nodes import (
    AnyDimension,
    Decision,
    Env,
    Leaf,
    Node,
    NumberNode,
    TruthNode,
    dimension_of,
    dimension_words,
)
from checker.rulebooks.formula_text import DEEPEST_NESTING, Parser
from checker.rulebooks.formula_tokens import tokens_of
from checker.units.arithmetic import Number

__all__ = ["DEEPEST_NESTING", "LONGEST_TEXT", "Env", "Formula", "Governing", "compile_formula"]

LONGEST_TEXT: Final = 1000


class Governing(Struct, frozen=True):
    """The comparison or yes/no name that decides a formula in its worst row.

    `left`, `operator` and `right` state what must hold: under a `not` the operator is inverted
    (`not a > b` shows `<=`, `not a == b` shows `!=`), and the first comparison of a chain is
    mirrored so that the limit is on the right (`low <= x <= high` shows `x >= low`). A yes/no name
    has neither operator nor right side; its right value is the answer wanted (1 yes, 0 no).
    `relative` is false where the margin is not a share of the right side.
    """

    left: str
    operator: str | None
    right: str | None
    left_value: float
    right_value: float
    margin: float
    relative: bool
    row: int
    names: frozenset[str]


class Formula(Struct, frozen=True, eq=False):
    """A compiled formula; `dimension` is None when it gives a yes or no.

    An `env` holds every name used: a float or an array with one row per variant, NaN where not
    stated, 1/0/NaN for a yes/no.
    """

    text: str
    names: frozenset[str]
    dimension: Dimension | None
    _node: Node

    def value(self, env: Env) -> Number:
        """The number, or 1 met / 0 not met / NaN unknown, for each row."""
        with np.errstate(all="ignore"):
            return plain(self._node.value(env))

    def margins(self, env: Env) -> Number:
        """The distance of each row from a change of verdict: at least 0 if met, else below 0.

        Of `a >= b` it is (a - b) / |b|, of `a <= b` (b - a) / |b|, of `a == b` -|a - b| / |b|; not
        divided where b is 0. At equality it is 0, which a strict operator (`<`, `>`, or a `not` of
        `<=`, `>=`, `==`) does not meet: only there 0 is not met. Yes and no are infinite. The
        margin of an `and` is that of its worst leaf, of an `or` that of its best, where a not met
        leaf ranks below an unknown one and that below a met one. An `unless` that is not met has
        the margin of its left side.
        """
        return plain(decision_by_row(self._truth(), env).margin)

    @property
    def leaves(self) -> tuple[Leaf, ...]:
        """Every comparison and yes/no name, in the order of the indices of `decide`."""
        return self._truth().leaves

    def decide(self, env: Env) -> Decision:
        """Truth, margin as in `margins`, and the index in `leaves` of the leaf that decides.

        Each is an array by row, or a float where all rows are equal.
        """
        return decision(self._truth(), env)

    def governing(self, env: Env) -> Governing | None:
        """The leaf that decides the worst row: a failing one, else unknown, else met.

        Among rows of one verdict the smallest margin is worst, then the first row. None when the
        env has no rows.
        """
        columns = decision_by_row(self._truth(), env)
        truth, margin, leaf = (np.atleast_1d(column) for column in columns)
        if truth.size == 0:
            return None
        row = int(worst_rows(truth, margin, truth.size, 1)[0])
        return self.deciding(env, int(leaf[row]), row, float(margin[row]))

    def deciding(self, env: Env, leaf: int, row: int, margin: float) -> Governing:
        """The comparison or yes/no name at an index of `leaves`, with its values in one row."""
        return self._governing(self._truth().leaves[leaf], env, row, margin)

    def comparisons(self, env: Env, row: int) -> tuple[tuple[Governing, float], ...]:
        """Every comparison and yes/no name of the formula, with its own truth in one row."""
        found = []
        for leaf in self._truth().leaves:
            truth, margin = (
                np.atleast_1d(column) for column in decision_by_row(by_itself(leaf), env)[:2]
            )
            at = row if truth.size > 1 else 0
            found.append((self._governing(leaf, env, row, float(margin[at])), float(truth[at])))
        return tuple(found)

    def _truth(self) -> TruthNode:
        if not isinstance(self._node, TruthNode):
            raise TypeError(f"`{self.text}` gives a number: only a yes or no has a margin")
        return self._node

    def text_of(self, leaf: Leaf) -> tuple[str, str | None]:
        """The two sides of a comparison as written; a yes/no name has no right side."""
        left, right = leaf.left, leaf.right
        limit = self.text[right.start : right.end] if right else None
        return self.text[left.start : left.end], limit

    def _governing(self, leaf: Leaf, env: Env, row: int, margin: float) -> Governing:
        left, right = self.text_of(leaf)
        answer = at_row(leaf.left, env, row)
        names = leaf.left.names
        if leaf.operator is None or leaf.right is None or right is None:
            limit, relative = leaf.wanted, False
            return Governing(left, None, None, answer, limit, margin, relative, row, names)
        sign = wanted_operator(leaf)
        limit = at_row(leaf.right, env, row)
        names = names | leaf.right.names
        return Governing(left, sign, right, answer, limit, margin, limit != 0, row, names)


def compile_formula(text: str, names: Names, *, result: Literal["truth", "number"]) -> Formula:
    """The compiled formula of `text` over these names; raises FormulaFaults with all its faults."""
    if len(text) > LONGEST_TEXT:
        found = f"the formula has {len(text)} characters"
        raise FormulaFaults([FormulaError(found, f"at most {LONGEST_TEXT}", None, LONGEST_TEXT)])
    faults: list[FormulaError] = []
    tokens = tokens_of(text, names, faults)
    node = Parser(tokens, names, faults).whole()
    if (
        result == "truth"
        and isinstance(node, NumberNode)
        and node.dimension is not AnyDimension.FAULTY
    ):
        found = f"the formula gives {dimension_words(node.dimension)}"
        wanted = "a yes or no: compare it with something, as in `a >= b`"
        faults.append(FormulaError(found, wanted, None, tokens[0].offset))
    if result == "number" and isinstance(node, TruthNode):
        found = "the formula gives a yes or no"
        faults.append(FormulaError(found, "a number", None, tokens[0].offset))
    if faults:
        raise FormulaFaults(faults)
    dimension = dimension_of(node.dimension) if isinstance(node, NumberNode) else None
    return Formula(text, node.names, dimension, node)
