"""A load with some fields varied over many rows, and what each rule says of each row."""

from collections.abc import Callable, Container, Iterable, Iterator, Mapping, Sequence
from datetime import date

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from checker.documents.problems import DataPath
from checker.evaluation.engine import judge_each
from checker.facts.view import Facts, Subject
from checker.load.build import Profile, field_path
from checker.load.model import Load
from checker.rulebooks.model import Rule, Rulebook, Rulebooks
from checker.rulebooks.verdicts import ROW_VERDICTS, Verdict, worst_by_row
from checker.units.arithmetic import Number

Rows = NDArray[np.bool_]


def is_slow(rule: Rule) -> bool:
    """Whether a rule asks for a linear programme, which is solved row by row."""
    return any(name.startswith("article.holds_") for name in rule.facts)


class RuleRows(Struct, frozen=True):
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
    """Hold the profile against the wanted rules with some fields given a value per row.

    A slow rule that reads none of the fields says the same in every row, and is tried in one.
    """
    load = profile.load(values)
    reading = _Reading(Facts(load, rulebooks.unmarked_on(on)), values)
    rules = [(book, rule) for book in rulebooks.books for rule in book.rules if wanted(rule)]
    alike = {
        rule.id
        for book, rule in rules
        if is_slow(rule) and not (reading.by_rule(rule) or reading.by_rule(book.scope))
    }
    by_row = {rule.id for _, rule in rules} - alike
    found = {each.rule.id: each for each in _judged(load, load.rows, rulebooks, on, by_row)}
    if alike:
        one_row = profile.load({path: _first(value) for path, value in values.items()})
        found |= {each.rule.id: each for each in _judged(one_row, load.rows, rulebooks, on, alike)}
    return [found[rule.id] for _, rule in rules if rule.id in found]


def _first(value: Number) -> float:
    return float(np.atleast_1d(value)[0])


class _Reading:
    """Which rules look at one of the varied fields."""

    def __init__(self, facts: Facts, varied: Iterable[DataPath]) -> None:
        self.facts = facts
        self.fields = {field_path(path) for path in varied}
        self._known: dict[tuple[str, Subject | None], bool] = {}

    def by_rule(self, rule: Rule | None) -> bool:
        """Whether one of them stands behind what a rule asks, for any of its subjects."""
        if rule is None:
            return False
        subjects: list[Subject | None] = [None]
        if rule.for_each:
            subjects = list(self.facts.subjects(rule.for_each))
        return any(self._by_fact(name, each) for each in subjects for name in rule.facts)

    def _by_fact(self, name: str, subject: Subject | None) -> bool:
        key = (name, subject)
        if key not in self._known:
            self._known[key] = not self.fields.isdisjoint(self.facts.fields(name, subject))
        return self._known[key]


def _judged(
    load: Load, rows: int, rulebooks: Rulebooks, on: date, ids: Container[str]
) -> Iterator[RuleRows]:
    """What each of the rules says of a load of that many rows, or of one that stands for all."""
    for book, rule, judgements in judge_each(load, rulebooks, on, lambda each: each.id in ids):
        if not judgements:
            continue
        margins = [
            # Where a rule does not apply it has no limit to be near.
            np.where(
                judgement.by_row == ROW_VERDICTS.index(Verdict.DOES_NOT_APPLY),
                np.inf,
                np.broadcast_to(rule.requires.margins(judgement.env), (rows,)),
            )
            for judgement in judgements
        ]
        # A subject of which nothing is known must not hide by how much another one misses.
        yield RuleRows(book, rule, worst_by_row(judgements, rows), np.fmin.reduce(margins))


def first_rows(
    tried: NDArray[np.float64],
    at_once: int,
    sought: Mapping[str, Callable[[RuleRows], Rows]],
    look: Callable[[NDArray[np.float64], Container[str]], list[RuleRows]],
) -> dict[str, int]:
    """By rule id, the first of the values tried at which the rule says what is sought of it.

    Only a few are looked at together, and no rule any more that has said it: linear programmes
    are solved row by row, and those behind the last rows may never be needed.
    """
    found: dict[str, int] = {}
    for start in range(0, len(tried), at_once):
        open_still = sought.keys() - found.keys()
        if not open_still:
            break
        for each in look(tried[start : start + at_once], open_still):
            said = np.flatnonzero(sought[each.rule.id](each))
            if said.size:
                found[each.rule.id] = start + int(said[0])
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
