"""Which way a formula goes when one of its thresholds is raised: met more often, less, or unknown.

The sign of a fact is not known, so a threshold that is multiplied with one, or divided by one, goes
an unknown way.
"""

import ast
from collections.abc import Iterable
from enum import IntEnum
from typing import Final

from msgspec.structs import replace

from checker.rulebooks.formula_tree import tree_of
from checker.rulebooks.model import DatedValue, Rule, Threshold
from checker.units.parsing import Quantity

_CHANGED: Final = "the_changed_value"


class Way(IntEnum):
    """How a formula follows a threshold that is raised."""

    LESS = -1
    NOT_AT_ALL = 0
    MORE = 1
    UNKNOWN = 2

    def turned(self) -> "Way":
        """The way of the opposite."""
        return self if self is Way.UNKNOWN else Way(-self)


def way_of(formula: str, threshold: str) -> Way:
    """How the truth, or the number, of a formula follows a threshold that is raised."""
    tree = tree_of(formula)
    return Way.UNKNOWN if tree is None else _way(tree, threshold)


def may_narrow(rule: Rule, threshold: Threshold, new: Quantity, old: Quantity) -> bool:
    """True if a new value of a threshold may take loads out of the `when` of a rule."""
    if rule.when is None or threshold.name not in rule.when.names or new.value == old.value:
        return False
    narrows = Way.LESS if new.value > old.value else Way.MORE
    return way_of(rule.when.text, threshold.name) in (narrows, Way.UNKNOWN)


def narrows(rule: Rule, threshold: Threshold, new: Quantity, old: DatedValue) -> bool:
    """True if with a new value `when` may hold for fewer loads, and it matters.

    Where the threshold also limits what is required, `stricter` is about that, and loads that were
    within the limit may leave the rule.
    """
    if not may_narrow(rule, threshold, new, old.quantity):
        return False
    is_limit = threshold.name in rule.requires.names
    return not is_limit or _drops_broken_loads(rule, threshold, new, old)


def _drops_broken_loads(rule: Rule, threshold: Threshold, new: Quantity, old: DatedValue) -> bool:
    """True unless all loads that a new value takes out of `when` surely meet what was required.

    Only then is a value that stands in `when` and in `requires` no way around the rule.
    """
    from checker.rulebooks.unreachable import unreachable  # few changes need it

    if rule.when is None:
        return False
    when = " ".join(rule.when.text.split())
    renamed = _Renamed(threshold.name).visit(ast.parse(f"({when})", mode="eval"))
    dropped = f"({when}) and not ({ast.unparse(renamed)}) and not ({rule.requires.text.strip()})"
    changed = Threshold(
        _CHANGED, threshold.stricter, (replace(old, quantity=new, metric_print=None),)
    )
    thresholds = {**rule.thresholds, threshold.name: replace(threshold, values=(old,))}
    probe = replace(
        rule,
        when=replace(rule.when, text=dropped),
        thresholds={**thresholds, _CHANGED: changed},
    )
    return not unreachable(probe)


class _Renamed(ast.NodeTransformer):
    """Puts the changed threshold in the place of one of that name."""

    def __init__(self, name: str) -> None:
        self.name = name

    def visit_Name(self, node: ast.Name) -> ast.Name:
        return ast.Name(_CHANGED, node.ctx) if node.id == self.name else node


def _way(node: ast.expr, name: str) -> Way:
    match node:
        case ast.Name() | ast.Attribute():
            return Way.MORE if ast.unparse(node) == name else Way.NOT_AT_ALL
        case ast.BoolOp(values=values):
            return _joined(_way(value, name) for value in values)
        case ast.UnaryOp(op=ast.Not() | ast.USub(), operand=operand):
            return _way(operand, name).turned()
        case ast.BinOp(left=left, op=op, right=right):
            return _arithmetic(_way(left, name), op, _way(right, name), right)
        case ast.Compare(left=left, ops=ops, comparators=others):
            sides = [_way(side, name) for side in (left, *others)]
            pairs = zip(sides, ops, sides[1:], strict=False)
            return _joined(_comparison(*pair) for pair in pairs)
        case ast.Call(func=ast.Name(id="abs"), args=[argument]):
            inside = _way(argument, name)
            return inside if inside is Way.NOT_AT_ALL else Way.UNKNOWN
        case ast.Call(args=arguments):  # min, max, ceil, floor follow what is in them
            return _joined(_way(argument, name) for argument in arguments)
    return Way.NOT_AT_ALL


def _arithmetic(left: Way, op: ast.operator, right: Way, second: ast.expr) -> Way:
    if isinstance(op, ast.Add):
        return _joined((left, right))
    if isinstance(op, ast.Sub):
        return _joined((left, right.turned()))
    if right is Way.NOT_AT_ALL and isinstance(second, ast.Constant):  # times or divided by 1 or 2
        return left
    return Way.NOT_AT_ALL if left is right is Way.NOT_AT_ALL else Way.UNKNOWN


def _comparison(left: Way, op: ast.cmpop, right: Way) -> Way:
    if isinstance(op, ast.Gt | ast.GtE):
        return _joined((left, right.turned()))
    if isinstance(op, ast.Lt | ast.LtE):
        return _joined((left.turned(), right))
    return Way.NOT_AT_ALL if left is right is Way.NOT_AT_ALL else Way.UNKNOWN


def _joined(ways: Iterable[Way]) -> Way:
    found = set(ways) - {Way.NOT_AT_ALL}
    if not found:
        return Way.NOT_AT_ALL
    return found.pop() if len(found) == 1 else Way.UNKNOWN
