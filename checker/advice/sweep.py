"""A load with some fields varied over many rows, and what each rule says of each row."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from checker.arithmetic import Number
from checker.documents.problems import DataPath
from checker.engine import judge_each
from checker.load.build import Profile
from checker.rulebooks.model import Rule, Rulebook, Rulebooks
from checker.rulebooks.verdicts import ROW_VERDICTS, Verdict, worst_by_row

Rows = NDArray[np.bool_]


def is_slow(rule: Rule) -> bool:
    """Whether a rule asks for a linear programme, which is solved row by row."""
    return any(name.startswith("article.holds_") for name in rule.facts)


@dataclass(frozen=True)
class RuleRows:
    """One rule over all rows: a place in ROW_VERDICTS and the smallest margin in each."""

    book: Rulebook
    rule: Rule
    by_row: NDArray[np.int8]
    margins: NDArray[np.float64]

    def is_(self, *verdicts: Verdict) -> Rows:
        """The rows in which the rule says one of these."""
        wanted = [ROW_VERDICTS.index(verdict) for verdict in verdicts]
        found: Rows = np.isin(self.by_row, wanted)
        return found

    @property
    def satisfied(self) -> Rows:
        """The rows in which the rule is met or does not apply."""
        return self.is_(Verdict.MET, Verdict.DOES_NOT_APPLY)

    @property
    def moves(self) -> bool:
        """Whether it says different things of different rows, or nears and leaves its limit."""
        known = self.margins[np.isfinite(self.margins)]
        return len(set(self.by_row.tolist())) > 1 or (known.size > 0 and bool(np.ptp(known)))


def sweep(
    profile: Profile,
    values: Mapping[DataPath, Number],
    rulebooks: Rulebooks,
    on: date,
    wanted: Callable[[Rule], bool] = lambda _rule: True,
) -> list[RuleRows]:
    """Hold the profile against the wanted rules with some fields given a value per row."""
    load = profile.load(values)
    found = []
    for book, rule, judgements in judge_each(load, rulebooks, on, wanted):
        if not judgements:
            continue
        margins = [
            # Where a rule does not apply it has no limit to be near.
            np.where(
                judgement.by_row == ROW_VERDICTS.index(Verdict.DOES_NOT_APPLY),
                np.inf,
                np.broadcast_to(rule.requires.margins(judgement.env), (load.rows,)),
            )
            for judgement in judgements
        ]
        by_row = worst_by_row(judgements, load.rows)
        # A subject of which nothing is known must not hide by how much another one misses.
        found.append(RuleRows(book, rule, by_row, np.fmin.reduce(margins)))
    return found


def all_satisfied(rules: Sequence[RuleRows], rows: int) -> Rows:
    """The rows in which every rule is met or does not apply."""
    good: Rows = np.ones(rows, dtype=np.bool_)
    for rule in rules:
        good = good & rule.satisfied
    return good


def runs(rows: Rows) -> list[tuple[int, int]]:
    """First and last place of every unbroken run of true rows."""
    edges = np.flatnonzero(np.diff(np.concatenate(([0], rows.astype(np.int8), [0]))))
    return [(int(first), int(last) - 1) for first, last in edges.reshape(-1, 2)]
