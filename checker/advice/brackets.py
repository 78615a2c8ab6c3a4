"""Where between two values a rule changes, found in ever finer steps, many such places at once."""

from collections.abc import Callable, Container, Sequence
from typing import NamedTuple, TypeAlias

import numpy as np
from numpy.typing import NDArray

from checker.evaluation.rule_rows import Flags, RuleRows

Evaluate: TypeAlias = Callable[[NDArray[np.float64], Container[str]], list[RuleRows]]
"""The rules with some ids at some values, one row for each value."""

_STEPS = 64
_ROUNDS = 3


class Bracket(NamedTuple):
    """Two values: a rule is as `sought` in the row of `inside`, and not in that of `outside`."""

    rule: str
    outside: float
    inside: float
    sought: Callable[[RuleRows], Flags]


def first_brackets(
    tried: NDArray[np.float64], rows: Sequence[RuleRows], sought: Callable[[RuleRows], Flags]
) -> list[Bracket]:
    """For each rule that is anywhere as sought, the first value tried at which it is.

    With the value before it as `outside`; where it is the very first, both are the same.
    """
    found = []
    for each in rows:
        matching = np.flatnonzero(sought(each))
        if matching.size:
            first = int(matching[0])
            before = float(tried[max(first - 1, 0)])
            found.append(Bracket(each.rule.id, before, float(tried[first]), sought))
    return found


def narrowed(brackets: Sequence[Bracket], evaluate: Evaluate) -> list[Bracket]:
    """The brackets, 262,144 times as narrow, about the change nearest to `outside`."""
    for _ in range(_ROUNDS):
        # A rule that is as sought from the first value on has nothing to narrow.
        wide = [each for each in brackets if each.outside != each.inside]
        spans = dict.fromkeys((each.outside, each.inside) for each in wide)
        if not spans:
            break
        grids = {span: np.linspace(*span, _STEPS + 1) for span in spans}
        begins = {span: index * (_STEPS - 1) for index, span in enumerate(spans)}
        tried = np.concatenate([grid[1:-1] for grid in grids.values()])
        rows = {each.rule.id: each for each in evaluate(tried, {each.rule for each in wide})}
        brackets = [
            _narrower(each, grids[span], begins[span], rows[each.rule])
            if (span := (each.outside, each.inside)) in spans
            else each
            for each in brackets
        ]
    return list(brackets)


def _narrower(bracket: Bracket, grid: NDArray[np.float64], begin: int, rows: RuleRows) -> Bracket:
    own = bracket.sought(rows)[begin : begin + _STEPS - 1]
    first = int(own.argmax()) if own.any() else _STEPS - 1
    return bracket._replace(outside=float(grid[first]), inside=float(grid[first + 1]))
