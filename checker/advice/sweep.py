"""A load with some fields varied over many rows, and the result of each rule in each row."""

from collections.abc import Callable, Mapping, Sequence
from datetime import date

import numpy as np

from checker.documents.problems import DataPath
from checker.evaluation.evaluator import evaluate
from checker.evaluation.rule_rows import Flags, RuleRows
from checker.load.build import Profile
from checker.rulebooks.model import Rule, Rulebooks
from checker.units.arithmetic import Number


def varies(rows: RuleRows) -> bool:
    """True if the verdict of a rule changes from row to row, or its distance to the limit does."""
    known = rows.distances[np.isfinite(rows.distances)]
    return len(set(rows.verdicts.tolist())) > 1 or (known.size > 0 and bool(np.ptp(known)))


def sweep(
    profile: Profile,
    values: Mapping[DataPath, Number],
    rulebooks: Rulebooks,
    on: date,
    wanted: Callable[[Rule], bool] = lambda _rule: True,
) -> list[RuleRows]:
    """The wanted rules evaluated for the profile with some fields given a value per row.

    Every column has as many entries as there are rows.
    """
    load = profile.load(values)
    return [each.expanded(load.rows) for each in evaluate(load, rulebooks, on, wanted=wanted)]


def all_satisfied(rules: Sequence[RuleRows], rows: int) -> Flags:
    """The rows in which every rule is met or does not apply."""
    good: Flags = np.ones(rows, dtype=np.bool_)
    for rule in rules:
        good = good & rule.satisfied
    return good


def runs(rows: Flags) -> list[tuple[int, int]]:
    """First and last index of every unbroken run of true rows."""
    edges = np.flatnonzero(np.diff(np.concatenate(([0], rows.astype(np.int8), [0]))))
    return [(int(first), int(last) - 1) for first, last in edges.reshape(-1, 2)]
