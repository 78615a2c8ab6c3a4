"""Whether one formula holds for fewer loads than another, where its parts show that."""

import ast
from enum import IntEnum

from checker.rulebooks.formula import Formula
from checker.rulebooks.formula_tree import tree_of


class Loads(IntEnum):
    """For which loads a formula holds, compared with another."""

    FEWER = -1
    SAME = 0
    MORE = 1
    UNKNOWN = 2


def holds_for(new: Formula | None, old: Formula | None) -> Loads:
    """For which loads a new formula holds, compared with an old one; None holds for every load.

    Only parts that are added to an `and` or an `or`, or left out of one, are recognised.
    """
    if _text(new) == _text(old):
        return Loads.SAME
    if new is None or old is None:
        return Loads.MORE if new is None else Loads.FEWER
    trees = tree_of(new.text), tree_of(old.text)
    if trees[0] is None or trees[1] is None:
        return Loads.UNKNOWN
    for joined, if_added in ((ast.And, Loads.FEWER), (ast.Or, Loads.MORE)):
        its, theirs = (_parts(tree, joined) for tree in trees if tree is not None)
        if its == theirs:
            return Loads.SAME
        if its > theirs:
            return if_added
        if its < theirs:
            return Loads(-if_added)
    return Loads.UNKNOWN


def _text(formula: Formula | None) -> str | None:
    return " ".join(formula.text.split()) if formula else None


def _parts(tree: ast.expr, joined: type[ast.boolop]) -> frozenset[str]:
    """The parts that `and`, or `or`, joins; the whole formula where it joins none."""
    if isinstance(tree, ast.BoolOp) and isinstance(tree.op, joined):
        return frozenset().union(*(_parts(each, joined) for each in tree.values))
    return frozenset({ast.unparse(tree)})
