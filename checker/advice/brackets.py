"""Where between two values a rule changes, found in ever finer steps, many such places at once."""

import math
from collections.abc import Callable, Container, Sequence
from typing import NamedTuple, TypeAlias

import numpy as np
from numpy.typing import NDArray

from checker.evaluation.rule_rows import Flags, RuleRows

Evaluate: TypeAlias = Callable[[NDArray[np.float64], Container[str]], list[RuleRows]]
"""The rules with some ids at some values, one row for each value."""

_STEPS = 64**3
"""Equal steps of a bracket, of which the one in which the rule changes is found."""
_EQUAL_PARTS = 64
"""Parts of a bracket whose ends are tried if nothing is known about where the rule changes."""
_FEW_PARTS = 4
_NEAR = 16 ** np.arange(5)
"""Steps from where the change is expected, on both sides, at which the rule is tried."""


class Bracket(NamedTuple):
    """Two values: a rule is as `sought` in the row of `inside`, and not in that of `outside`.

    `share` of the way from `outside` at which the change is expected; NaN if unknown.
    """

    rule: str
    outside: float
    inside: float
    sought: Callable[[RuleRows], Flags]
    share: float = math.nan


def first_brackets(
    tried: NDArray[np.float64],
    rows: Sequence[RuleRows],
    sought: Callable[[RuleRows], Flags],
    begin: int = 0,
) -> list[Bracket]:
    """For each rule that is anywhere as sought, the first value tried at which it is.

    With the value before it as `outside`; where it is the very first, both are the same. The rows
    of the values begin at `begin`.
    """
    found = []
    for each in rows:
        matching = np.flatnonzero(sought(each)[begin : begin + len(tried)])
        if matching.size:
            first = int(matching[0])
            before = max(first - 1, 0)
            share = _share(each, begin + before, begin + first)
            ends = float(tried[before]), float(tried[first])
            found.append(Bracket(each.rule.id, *ends, sought, share))
    return found


def narrowed(brackets: Sequence[Bracket], evaluate: Evaluate) -> list[Bracket]:
    """The brackets, 262,144 times as narrow, about a change of the rule.

    A rule is tried at a few equal parts of its bracket and about where its distances from the limit
    let the change be expected; the change nearest to `outside` among these values counts.
    """
    # A rule that is as sought from the first value on has nothing to narrow.
    open_ones = {
        index: _Steps(each, 0, _STEPS, each.share)
        for index, each in enumerate(brackets)
        if each.outside != each.inside
    }
    found = list(brackets)
    while open_ones:
        tried = np.unique(np.concatenate([each.values for each in open_ones.values()]))
        ids = {each.bracket.rule for each in open_ones.values()}
        rows = {each.rule.id: each for each in evaluate(tried, ids)}
        for index, each in list(open_ones.items()):
            places = np.searchsorted(tried, each.values)
            open_ones[index] = finer = each.narrower(rows[each.bracket.rule], places)
            if finer.inside - finer.outside == 1:
                found[index] = open_ones.pop(index).result
    return found


class _Steps(NamedTuple):
    """The steps of a bracket between which its rule changes, counted from its `outside`."""

    bracket: Bracket
    outside: int
    inside: int
    share: float

    @property
    def tried(self) -> NDArray[np.int64]:
        """The steps to try next, in order."""
        many = self.inside - self.outside
        if math.isnan(self.share):
            every = self.outside + many * np.arange(_EQUAL_PARTS) // _EQUAL_PARTS
        else:
            equal = self.outside + many * np.arange(_FEW_PARTS) // _FEW_PARTS
            expected = self.outside + int(self.share * many)
            every = np.concatenate([equal, expected - _NEAR, [expected], expected + _NEAR])
        return np.unique(every[(every > self.outside) & (every < self.inside)])

    @property
    def values(self) -> NDArray[np.float64]:
        """The values of these steps."""
        return self._values(self.tried)

    def _values(self, steps: NDArray[np.int64]) -> NDArray[np.float64]:
        _, outside, inside, *_ = self.bracket
        values = np.asarray(outside + steps * ((inside - outside) / _STEPS), dtype=np.float64)
        values[steps == _STEPS] = inside
        return values

    def narrower(self, rows: RuleRows, places: NDArray[np.intp]) -> "_Steps":
        """The steps about the first change among those tried; `places` are their rows."""
        own = np.flatnonzero(self.bracket.sought(rows)[places])
        first = int(own[0]) if own.size else len(places)
        steps = [self.outside, *self.tried.tolist(), self.inside]
        inner = 0 < first < len(places)
        share = _share(rows, places[first - 1], places[first]) if inner else math.nan
        return _Steps(self.bracket, steps[first], steps[first + 1], share)

    @property
    def result(self) -> Bracket:
        """The bracket of the single step that is left."""
        outside, inside = self._values(np.array([self.outside, self.inside])).tolist()
        return self.bracket._replace(outside=outside, inside=inside)


def _share(rows: RuleRows, outside: int, inside: int) -> float:
    """The share of the way between two rows at which the distance from the limit is zero.

    NaN if it is not known.
    """
    before, after = abs(float(rows.distances[outside])), abs(float(rows.distances[inside]))
    whole = before + after
    return before / whole if 0.0 < whole < math.inf else math.nan
