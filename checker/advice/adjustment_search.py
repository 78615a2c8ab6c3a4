"""The search over adjustments: all their candidates are rows of one load, evaluated together."""

from collections.abc import Callable, Container, Sequence
from datetime import date
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from checker.advice.adjustments import Adjustment, Values
from checker.advice.brackets import first_brackets, narrowed
from checker.advice.sweep import sweep
from checker.evaluation.rule_rows import Flags, RuleRows
from checker.load.build import Profile
from checker.rulebooks.model import Rule, Rulebooks


class Span(NamedTuple):
    """Candidates of one adjustment, nearest to today's value first, and the ids of its rules."""

    adjustment: Adjustment
    candidates: NDArray[np.float64]
    rules: frozenset[str]


class Change(NamedTuple):
    """The first value at which a rule is as sought, and its position in the search."""

    adjustment: Adjustment
    rule: str
    value: float
    position: float

    @property
    def by(self) -> float:
        """How much more that is than today's value."""
        return self.value - self.adjustment.today


class Search:
    """The search over several spans at once.

    A position is an index into the candidates of all spans in order, or a number between two
    indices of one span for a value between two candidates. In each row of the load one adjustment
    has the value at a position, and all other fields are as stated.
    """

    def __init__(
        self, spans: Sequence[Span], profile: Profile, rulebooks: Rulebooks, on: date
    ) -> None:
        self._spans = spans
        self._profile, self._rulebooks, self._on = profile, rulebooks, on
        self._candidates = np.concatenate([each.candidates for each in spans] or [np.zeros(0)])
        self._ends = np.cumsum([len(each.candidates) for each in spans])

    def first(self, sought: Callable[[RuleRows], Flags]) -> list[list[Change]]:
        """For each span, the change nearest to today's value at which each rule is as sought.

        `sought` gives the rows in which a rule is. A rule that is nowhere as sought is left out.
        """
        if not self._spans:
            return []
        positions = np.arange(len(self._candidates), dtype=float)
        rows = self._of_rules(positions, frozenset().union(*(each.rules for each in self._spans)))
        brackets = []
        for span, end in zip(self._spans, self._ends.tolist(), strict=True):
            own = [each for each in rows if each.rule.id in span.rules]
            begin = end - len(span.candidates)
            brackets += first_brackets(positions[begin:end], own, sought, begin)
        found = narrowed(brackets, self._of_rules)
        inside = np.array([each.inside for each in found])
        owners, values = self._owners(inside).tolist(), self._values(inside).tolist()
        changes: list[list[Change]] = [[] for _ in self._spans]
        for each, owner, value in zip(found, owners, values, strict=True):
            adjustment = self._spans[owner].adjustment
            changes[owner].append(Change(adjustment, each.rule, value, each.inside))
        return changes

    def at(self, positions: NDArray[np.float64], wanted: Callable[[Rule], bool]) -> list[RuleRows]:
        """The wanted rules at the given positions."""
        return sweep(self._profile, self._fields(positions), self._rulebooks, self._on, wanted)

    def _of_rules(self, positions: NDArray[np.float64], ids: Container[str]) -> list[RuleRows]:
        return self.at(positions, lambda rule: rule.id in ids)

    def _owners(self, positions: NDArray[np.float64]) -> NDArray[np.intp]:
        """The index of the span of each position."""
        return np.searchsorted(self._ends, np.ceil(positions), side="right")

    def _values(self, positions: NDArray[np.float64]) -> NDArray[np.float64]:
        values: NDArray[np.float64] = np.interp(
            positions, np.arange(len(self._candidates)), self._candidates
        )
        return values

    def _fields(self, positions: NDArray[np.float64]) -> Values:
        """The values of all fields that any adjustment sets, one row for each position."""
        owners, values = self._owners(positions), self._values(positions)
        fields: Values = {}
        for index, (adjustment, *_) in enumerate(self._spans):
            own = owners == index
            as_stated = adjustment.values(np.full(len(positions), adjustment.today))
            for path, column in adjustment.values(values[own]).items():
                fields.setdefault(path, as_stated[path])[own] = column
        return fields
