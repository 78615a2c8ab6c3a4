"""The impact of a rule change: saved loads evaluated under two sets of rules and compared."""

from collections.abc import Callable, Collection, Hashable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from operator import itemgetter
from pathlib import PurePath
from typing import TypeAlias, TypeVar

import numpy as np
from msgspec.structs import replace

from checker.evaluation.evaluator import evaluators
from checker.evaluation.outcome import OUTCOMES, Outcome, OutcomeRows
from checker.evaluation.rule_rows import (
    DOES_NOT_APPLY,
    MET,
    VERDICTS,
    Codes,
    Flags,
    Indices,
    Numbers,
    expand,
    take,
)
from checker.facts.view import Facts
from checker.load.model import Load
from checker.rulebooks.model import Change, Rule, Rulebooks
from checker.rulebooks.unread_jurisdictions import law_was_not_read, unread_jurisdictions
from checker.rulebooks.verdicts import Verdict
from checker.season.chunk import Chunk
from checker.upkeep.review.difference import Difference, rules_to_try


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
    differences: Collection[Difference],
    name: Callable[[int], PurePath],
    own_day: Callable[[int], date],
) -> Impact:
    """The effect of the differences between both sets of rules on the hauls of all chunks.

    A haul may be in several chunks, for several days. `name` returns the name of a haul by its row,
    `own_day` its own day, once all chunks are read. What changes in the same way on several days is
    told once, with its own day or else the first. The lists are sorted by row and day.
    """
    rules = rules_to_try(differences)
    shifts: list[_Found[VerdictChange]] = []
    turned: list[_Found[OutcomeChange]] = []
    nearest: list[_Found[Near]] = []
    rows: set[int] = set()
    for chunk in chunks:
        rows.update(chunk.rows.tolist())
        for some in chunk.slices():
            compared = _Comparison(some, before, after, rules, name)
            shifts += compared.shifts()
            turned += compared.turned()
            nearest += compared.nearest()
            # The facts of these hauls, before those of the next are computed.
            del compared
    return Impact(
        checked=len(rows),
        shifts=_once(shifts, own_day, lambda each: (each.rule.id, each.before, each.after)),
        turned=_once(turned, own_day, lambda each: (each.before, each.after)),
        nearest=tuple(
            sorted(
                _once(nearest, own_day, lambda each: (each.rule.id, each.margin)),
                key=lambda each: each.margin,
            )
        ),
    )


_NOT_IN_FORCE = -1
"""Code in place of a verdict if a rule is not in force."""

_Differing = TypeVar("_Differing", VerdictChange, OutcomeChange, Near)
_Found: TypeAlias = tuple[int, date, _Differing]
"""A difference, with the row and day of its haul."""


class _RuleResults:
    """The verdicts of some rules, or all, for the hauls under one set of rules."""

    def __init__(
        self,
        chunk: Chunk,
        load: Load,
        corners: int,
        rulebooks: Rulebooks,
        rules: frozenset[str] | None,
        facts: Facts | None,
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
        self.outcome = OutcomeRows(chunk.hauls)
        """What these rules alone decide."""
        places = load.trip.places
        self.law_not_read = law_was_not_read(unread_jurisdictions(places, rulebooks), rulebooks)
        for rows in evaluated.rule_rows(lambda rule: rules is None or rule.id in rules):
            rule = rows.rule
            self.outcome.add(rows)
            self.rules[rule.id] = rule
            self.verdicts[rule.id] = rows.verdicts
            if changes := _changes(rule, on):
                self.changes[rule.id] = changes
                self.margins[rule.id] = np.where(rows.verdicts == MET, rows.margins, np.nan)


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
        rules: frozenset[str] | None,
        name: Callable[[int], PurePath],
    ) -> None:
        """Evaluate the rules with these ids, all of them for None."""
        self.chunk, self.name = chunk, name
        self.before, self.after = before, after
        self._where: dict[int, tuple[int, tuple[str, PurePath, date]]] = {}
        # Where the rules choose the corners, each set of rules has a load of its own.
        self.rules = None if chunk.has_chosen_corners else rules
        load, corners = chunk.load(before)
        self.old = _RuleResults(chunk, load, corners, before, self.rules, None)
        if chunk.has_chosen_corners:
            load, corners = chunk.load(after)
        self.new = _RuleResults(chunk, load, corners, after, self.rules, self.old.facts)

    def _hauls(self, marked: Flags) -> Iterator[tuple[int, int, tuple[str, PurePath, date]]]:
        """Index and row of each marked haul, then its title, file and day."""
        for index in np.flatnonzero(expand(marked, self.chunk.hauls)).tolist():
            if index not in self._where:
                self._where[index] = self._where_is(index)
            yield index, *self._where[index]

    def _where_is(self, index: int) -> tuple[int, tuple[str, PurePath, date]]:
        chunk = self.chunk
        row = int(chunk.rows[index])
        file = self.name(row)
        title = chunk.loads[chunk.load_of[index]].title or file.stem
        return row, (title, file, date.fromordinal(int(chunk.days[index])))

    def shifts(self) -> Iterator[_Found[VerdictChange]]:
        """The verdicts that change, in the order of the rules for each haul.

        A rule that is not in force and one that does not apply are the same to a load.
        """
        old, new = self.old, self.new
        not_in_force = np.full(1, _NOT_IN_FORCE, dtype=np.int8)
        for rule_id in dict.fromkeys((*old.rules, *new.rules)):
            before = old.verdicts.get(rule_id, not_in_force)
            after = new.verdicts.get(rule_id, not_in_force)
            rule = new.rules.get(rule_id) or old.rules[rule_id]
            for index, row, where in self._hauls(_applying(before) != _applying(after)):
                verdicts = _verdict(before, index), _verdict(after, index)
                changes = new.changes.get(rule_id, ())
                yield row, where[-1], VerdictChange(*where, rule, *verdicts, changes)

    def turned(self) -> Iterator[_Found[OutcomeChange]]:
        """The outcomes that change."""
        may_turn = self.old.outcome.differs(self.new.outcome)
        may_turn |= self.old.law_not_read != self.new.law_not_read
        old, new = self._outcomes(np.flatnonzero(may_turn))
        for index, row, where in self._hauls(old != new):
            yield row, where[-1], OutcomeChange(*where, OUTCOMES[old[index]], OUTCOMES[new[index]])

    def _outcomes(self, hauls: Indices) -> tuple[Codes, Codes]:
        """The outcomes of some hauls under both sets of rules; equal ones for all others.

        The rules that are the same in both sets are evaluated for these hauls alone.
        """
        found = np.zeros(self.chunk.hauls, dtype=np.int8), np.zeros(self.chunk.hauls, dtype=np.int8)
        if not hauls.size:
            return found
        part = self.chunk.take(hauls)
        load, corners = part.load(self.before)
        same = OutcomeRows(part.hauls)
        if self.rules is not None:
            evaluated = evaluators(load, self.before, part.on, corners=corners, hauls=part.hauled)
            differing = self.rules
            for rows in evaluated.rule_rows(lambda rule: rule.id not in differing):
                same.add(rows)
        for side, results, rulebooks in zip(
            found, (self.old, self.new), (self.before, self.after), strict=True
        ):
            whole = same.joined(results.outcome.take(hauls))
            side[hauls] = whole.outcomes(load, rulebooks)
        return found

    def nearest(self) -> Iterator[_Found[Near]]:
        """The changed rules that are met, with their margins."""
        for rule_id, margins in self.new.margins.items():
            for index, row, where in self._hauls(~np.isnan(margins)):
                margin = float(take(margins, [index])[0])
                yield row, where[-1], Near(*where, self.new.rules[rule_id], margin)


def _applying(column: Codes) -> Codes:
    found: Codes = np.where(column == DOES_NOT_APPLY, _NOT_IN_FORCE, column)
    return found


def _verdict(column: Codes, index: int) -> Verdict | None:
    code = int(take(column, [index])[0])
    return None if code == _NOT_IN_FORCE else VERDICTS[code]


def _once(
    found: list[_Found[_Differing]],
    own_day: Callable[[int], date],
    what: Callable[[_Differing], Hashable],
) -> tuple[_Differing, ...]:
    """Each difference of a haul once, sorted by row and day.

    Of its days the own one of the haul is kept, or else the first.
    """
    kept: dict[Hashable, _Found[_Differing]] = {}
    for each in sorted(found, key=itemgetter(0, 1)):
        row, day, differing = each
        key = (row, what(differing))
        if key not in kept or day == own_day(row):
            kept[key] = each
    return tuple(each for _, _, each in sorted(kept.values(), key=itemgetter(0, 1)))
