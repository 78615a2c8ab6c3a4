"""A load with some fields varied over many rows, and the result of each rule in each row."""

from collections.abc import Callable, Container, Mapping, Sequence
from datetime import date

import numpy as np
from numpy.typing import NDArray

from checker.documents.problems import DataPath
from checker.evaluation.evaluator import evaluate
from checker.evaluation.rule_rows import Flags, RuleRows
from checker.load.build import Profile
from checker.rulebooks.model import Rule, Rulebooks
from checker.units.arithmetic import Number


def is_slow(rule: Rule) -> bool:
    """True if a rule needs a linear programme, which is solved row by row."""
    return any(name.startswith("article.holds_") for name in rule.facts)


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


def first_rows(
    tried: NDArray[np.float64],
    at_once: int,
    sought: Mapping[str, Callable[[RuleRows], Flags]],
    look: Callable[[NDArray[np.float64], Container[str]], list[RuleRows]],
) -> dict[str, int]:
    """By rule id, the first of the values tried at which the rule gives the rows sought.

    Values are tried a few at a time, and a rule that has matched is left out: linear programmes
    are solved row by row, and the last values may never be needed.
    """
    found: dict[str, int] = {}
    for start in range(0, len(tried), at_once):
        open_still = sought.keys() - found.keys()
        if not open_still:
            break
        for each in look(tried[start : start + at_once], open_still):
            matching = np.flatnonzero(sought[each.rule.id](each))
            if matching.size:
                found[each.rule.id] = start + int(matching[0])
    return found


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
