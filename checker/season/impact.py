"""The impact of a rule change: saved loads evaluated under two sets of rules and compared."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from operator import itemgetter
from pathlib import PurePath
from typing import TypeAlias, TypeVar

import numpy as np
from msgspec.structs import replace

from checker.evaluation.evaluator import evaluators
from checker.evaluation.outcome import OUTCOMES, Outcome, OutcomeRows
from checker.evaluation.rule_rows import MET, VERDICTS, Codes, Flags, Numbers, expand, take
from checker.facts.view import Facts
from checker.load.model import Load
from checker.rulebooks.model import Change, Rule, Rulebooks
from checker.rulebooks.verdicts import Verdict
from checker.season.chunk import Chunk


@dataclass(frozen=True, slots=True)
class VerdictChange:
    """A rule whose verdict on a load changes; a verdict is None if the rule is not in force."""

    title: str
    file: PurePath
    on: date
    rule: Rule
    before: Verdict | None
    after: Verdict | None
    changes: tuple[Change, ...]
    """The amendments that cause it."""

    @property
    def breaks(self) -> bool:
        """True if a must-rule is broken after the change."""
        return self.after is Verdict.NOT_MET and self.rule.level == "must"

    @property
    def opens(self) -> bool:
        """True if the rule is undecided after the change."""
        return self.after in (Verdict.NOT_STATED, Verdict.TOO_CLOSE)


@dataclass(frozen=True, slots=True)
class OutcomeChange:
    """A load whose outcome changes."""

    title: str
    file: PurePath
    on: date
    before: Outcome
    after: Outcome


@dataclass(frozen=True, slots=True)
class Near:
    """A changed rule that a load still meets; `margin` is a share of the limit."""

    title: str
    file: PurePath
    on: date
    rule: Rule
    margin: float


@dataclass(frozen=True, slots=True)
class Impact:
    """Every change of verdict and outcome; `nearest` is sorted by margin, smallest first."""

    checked: int
    shifts: tuple[VerdictChange, ...]
    turned: tuple[OutcomeChange, ...]
    nearest: tuple[Near, ...]


def days_to_check(own: date, rulebooks: Rulebooks) -> list[date]:
    """The days to check a load for: its own, if a change is in force, and the start of later ones.

    An amendment that begins in July changes nothing for a trip in May, so the same trip is checked
    in July, and one of a winter rule on the first day of the next winter.
    """
    return sorted({change.days.first_from(own) or own for change in rulebooks.changes}) or [own]


def without(rulebooks: Rulebooks, files: Sequence[str]) -> Rulebooks:
    """The rulebooks without the rules and amendments of these files."""
    return replace(
        rulebooks,
        books=tuple(book for book in rulebooks.books if book.file not in files),
        amendments=tuple(each for each in rulebooks.amendments if each.file not in files),
        changes=tuple(each for each in rulebooks.changes if each.amendment.file not in files),
    )


def impact(
    chunks: Iterable[Chunk],
    before: Rulebooks,
    after: Rulebooks,
    name: Callable[[int], PurePath],
) -> Impact:
    """The differences between both sets of rules for the hauls of all chunks.

    A haul may be in several chunks, for several days. `name` returns the name of a haul by its row.
    The lists are sorted by row and day.
    """
    shifts: list[_Found[VerdictChange]] = []
    turned: list[_Found[OutcomeChange]] = []
    nearest: list[_Found[Near]] = []
    rows: set[int] = set()
    for chunk in chunks:
        rows.update(chunk.rows.tolist())
        for some in chunk.slices():
            compared = _Comparison(some, before, after, name)
            shifts += compared.shifts()
            turned += compared.turned()
            nearest += compared.nearest()
            # The facts of these hauls, before those of the next are computed.
            del compared
    return Impact(
        checked=len(rows),
        shifts=tuple(_in_order(shifts)),
        turned=tuple(_in_order(turned)),
        nearest=tuple(sorted(_in_order(nearest), key=lambda each: each.margin)),
    )


_NOT_IN_FORCE = -1
"""Code in place of a verdict if a rule is not in force."""

_Differing = TypeVar("_Differing", VerdictChange, OutcomeChange, Near)
_Found: TypeAlias = tuple[int, date, _Differing]
"""A difference, with the row and day of its haul."""


class _RuleResults:
    """The verdicts of all rules and the outcomes of the hauls under one set of rules."""

    def __init__(
        self, chunk: Chunk, load: Load, corners: int, rulebooks: Rulebooks, facts: Facts | None
    ) -> None:
        """`facts` are those of the same load under another set of rules, for reuse."""
        on = chunk.on
        evaluated = evaluators(
            load, rulebooks, on, corners=corners, facts=facts, hauls=chunk.hauled
        )
        self.facts = evaluated.facts
        self.rules: dict[str, Rule] = {}
        self.verdicts: dict[str, Codes] = {}
        self.changes: dict[str, tuple[Change, ...]] = {
            rule.id: (change,) for rule, change in evaluated.repealed
        }
        self.margins: dict[str, Numbers] = {}
        """Margins of changed rules; NaN for hauls that do not meet them."""
        outcome = OutcomeRows(chunk.hauls)
        for rows in evaluated.rule_rows():
            rule = rows.rule
            outcome.add(rows)
            self.rules[rule.id] = rule
            self.verdicts[rule.id] = rows.verdicts
            if changes := _changes(rule, on):
                self.changes[rule.id] = changes
                self.margins[rule.id] = np.where(rows.verdicts == MET, rows.margins, np.nan)
        self.outcomes = outcome.outcomes(load, rulebooks)


def _changes(rule: Rule, on: date) -> tuple[Change, ...]:
    """The changes that set the thresholds of a rule on a day."""
    thresholds = rule.thresholds.values()
    values = [threshold.on(on) for threshold in thresholds]
    named = [value.change for value in values if value]
    named += [threshold.open_change for threshold in thresholds]
    return tuple(dict.fromkeys(change for change in named if change is not None))


class _Comparison:
    """The results of the hauls of one chunk under two sets of rules."""

    def __init__(
        self,
        chunk: Chunk,
        before: Rulebooks,
        after: Rulebooks,
        name: Callable[[int], PurePath],
    ) -> None:
        self.chunk, self.name = chunk, name
        load, corners = chunk.load(before)
        self.old = _RuleResults(chunk, load, corners, before, None)
        if chunk.has_chosen_corners:
            load, corners = chunk.load(after)
        self.new = _RuleResults(chunk, load, corners, after, self.old.facts)

    def _hauls(self, marked: Flags) -> Iterator[tuple[int, int, tuple[str, PurePath, date]]]:
        """Index and row of each marked haul, then its title, file and day."""
        chunk = self.chunk
        for index in np.flatnonzero(expand(marked, chunk.hauls)).tolist():
            row = int(chunk.rows[index])
            file = self.name(row)
            title = chunk.loads[chunk.load_of[index]].title or file.stem
            yield index, row, (title, file, date.fromordinal(int(chunk.days[index])))

    def shifts(self) -> Iterator[_Found[VerdictChange]]:
        """The verdicts that change, in the order of the rules for each haul."""
        old, new = self.old, self.new
        not_in_force = np.full(1, _NOT_IN_FORCE, dtype=np.int8)
        for rule_id in dict.fromkeys((*old.rules, *new.rules)):
            before = old.verdicts.get(rule_id, not_in_force)
            after = new.verdicts.get(rule_id, not_in_force)
            rule = new.rules.get(rule_id) or old.rules[rule_id]
            for index, row, where in self._hauls(before != after):
                verdicts = _verdict(before, index), _verdict(after, index)
                changes = new.changes.get(rule_id, ())
                yield row, where[-1], VerdictChange(*where, rule, *verdicts, changes)

    def turned(self) -> Iterator[_Found[OutcomeChange]]:
        """The outcomes that change."""
        old, new = self.old.outcomes, self.new.outcomes
        for index, row, where in self._hauls(old != new):
            yield row, where[-1], OutcomeChange(*where, OUTCOMES[old[index]], OUTCOMES[new[index]])

    def nearest(self) -> Iterator[_Found[Near]]:
        """The changed rules that are met, with their margins."""
        for rule_id, margins in self.new.margins.items():
            for index, row, where in self._hauls(~np.isnan(margins)):
                margin = float(take(margins, [index])[0])
                yield row, where[-1], Near(*where, self.new.rules[rule_id], margin)


def _verdict(column: Codes, index: int) -> Verdict | None:
    code = int(take(column, [index])[0])
    return None if code == _NOT_IN_FORCE else VERDICTS[code]


def _in_order(found: list[_Found[_Differing]]) -> list[_Differing]:
    """The differences sorted by row and day; the order within a haul and day stays."""
    return [each for _, _, each in sorted(found, key=itemgetter(0, 1))]
