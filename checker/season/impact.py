"""The impact of a rule change: saved loads evaluated under two sets of rules and compared."""

import itertools
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
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
from checker.season.changed_hauls import ChangedHauls, Collected, Rows
from checker.season.hauls.chunk import Chunk
from checker.upkeep.review.difference import Difference, rules_to_try

_Cause = TypeVar("_Cause")


class _Turn:
    """A rule whose verdict changes."""

    __slots__ = ()
    rule: Rule
    after: Verdict | None

    @property
    def breaks(self) -> bool:
        """True if a must-rule is broken after the change."""
        return self.after is Verdict.NOT_MET and self.rule.level == "must"

    @property
    def opens(self) -> bool:
        """True if the rule is undecided after the change."""
        return self.after in (Verdict.NOT_STATED, Verdict.TOO_CLOSE)


@dataclass(frozen=True, slots=True)
class VerdictChange(_Turn):
    """A rule whose verdict on a load changes; a verdict is None if the rule is not in force."""

    title: str
    file: PurePath
    on: date
    rule: Rule
    before: Verdict | None
    after: Verdict | None
    changes: tuple[Change, ...]
    """The amendments that cause it."""


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
class ChangedVerdict(_Turn):
    """A rule whose verdict changes in one way, and the loads on which it does."""

    rule: Rule
    before: Verdict | None
    after: Verdict | None
    hauls: ChangedHauls[tuple[Rule, tuple[Change, ...]]]
    """Each with the rule of its day, and the amendments that cause it."""


@dataclass(frozen=True, slots=True)
class ChangedOutcome:
    """The loads whose outcome changes in one way."""

    before: Outcome
    after: Outcome
    hauls: ChangedHauls[None]


@dataclass(frozen=True, slots=True)
class Impact:
    """Every change of verdict and outcome; `nearest` is sorted by margin, smallest first."""

    verdicts: tuple[ChangedVerdict, ...]
    outcomes: tuple[ChangedOutcome, ...]
    nearest: tuple[Near, ...]
    checked: int
    """Number of loads."""
    name: Callable[[int], PurePath]

    @property
    def shifts(self) -> tuple[VerdictChange, ...]:
        """Every changed verdict of every load by itself, sorted by row and day."""
        found = [
            (row, day, VerdictChange(*where, rule, each.before, each.after, changes))
            for each in self.verdicts
            for row, day, where, (rule, changes) in self._hauls(each.hauls)
        ]
        return tuple(each for _, _, each in sorted(found, key=itemgetter(0, 1)))

    @property
    def turned(self) -> tuple[OutcomeChange, ...]:
        """Every changed outcome, sorted by row and day."""
        found = [
            (row, day, OutcomeChange(*where, each.before, each.after))
            for each in self.outcomes
            for row, day, where, _ in self._hauls(each.hauls)
        ]
        return tuple(each for _, _, each in sorted(found, key=itemgetter(0, 1)))

    def _hauls(
        self, hauls: ChangedHauls[_Cause]
    ) -> Iterator[tuple[int, int, tuple[str, PurePath, date], _Cause]]:
        """The row and day of each haul, its title, file and day, and the cause."""
        for row, day, labels, cause in hauls:
            file = self.name(row)
            yield row, day, (labels.title or file.stem, file, date.fromordinal(day)), cause


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
    own_days: Callable[[Rows], Rows],
) -> Impact:
    """The effect of the differences between both sets of rules on the hauls of all chunks.

    A haul may be in several chunks, for several days. `name` returns the name of a haul by its row,
    `own_days` the own days of some, as ordinals, once all chunks are read. What changes in the same
    way on several days is told once, with its own day or else the first.
    """
    rules = rules_to_try(differences)
    checked: list[Rows] = []
    verdicts: dict[_Verdicts, Collected[tuple[Rule, tuple[Change, ...]]]] = {}
    outcomes: dict[tuple[int, int], Collected[None]] = {}
    nearest: dict[tuple[int, str], Near] = {}
    for chunk in chunks:
        checked.append(chunk.rows)
        for some in chunk.slices():
            compared = _Comparison(some, before, after, rules, name)
            compared.add_verdicts(verdicts)
            compared.add_outcomes(outcomes)
            compared.add_nearest(nearest)
            # The facts of these hauls, before those of the next are computed.
            del compared
    return Impact(
        verdicts=tuple(
            ChangedVerdict(found.causes[0][0], _verdict(old), _verdict(new), found.once(own_days))
            for (_, old, new), found in verdicts.items()
        ),
        outcomes=tuple(
            ChangedOutcome(OUTCOMES[old], OUTCOMES[new], found.once(own_days))
            for (old, new), found in outcomes.items()
        ),
        nearest=tuple(
            near for _, near in sorted(nearest.items(), key=lambda each: (each[1].margin, each[0]))
        ),
        checked=np.unique(np.concatenate([np.zeros(0, dtype=np.int64), *checked])).size,
        name=name,
    )


_NOT_IN_FORCE = -1
"""Code in place of a verdict if a rule is not in force."""
_Verdicts: TypeAlias = tuple[str, int, int]
"""Id of a rule, and the codes of its verdicts before and after."""


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
        # Where the rules choose the corners, each set of rules has a load of its own.
        self.rules = None if chunk.has_chosen_corners else rules
        load, corners = chunk.load(before)
        self.old = _RuleResults(chunk, load, corners, before, self.rules, None)
        if chunk.has_chosen_corners:
            load, corners = chunk.load(after)
        self.new = _RuleResults(chunk, load, corners, after, self.rules, self.old.facts)

    def add_verdicts(
        self, found: dict[_Verdicts, Collected[tuple[Rule, tuple[Change, ...]]]]
    ) -> None:
        """Add the verdicts that change, in the order of the rules.

        A rule that is not in force and one that does not apply are the same to a load.
        """
        old, new = self.old, self.new
        not_in_force = np.full(1, _NOT_IN_FORCE, dtype=np.int8)
        hauls = self.chunk.hauls
        for rule_id in dict.fromkeys((*old.rules, *new.rules)):
            before = old.verdicts.get(rule_id, not_in_force)
            after = new.verdicts.get(rule_id, not_in_force)
            differ = _applying(before) != _applying(after)
            if not differ.any():
                continue
            cause = new.rules.get(rule_id) or old.rules[rule_id], new.changes.get(rule_id, ())
            pairs = expand(before, hauls) * len(VERDICTS) + expand(after, hauls)
            for pair in np.unique(pairs[differ] if differ.size > 1 else pairs).tolist():
                marked = np.flatnonzero((pairs == pair) & differ)
                codes = int(expand(before, hauls)[marked[0]]), int(expand(after, hauls)[marked[0]])
                key = (rule_id, *codes)
                found.setdefault(key, Collected()).add(self.chunk, marked, cause)

    def add_outcomes(self, found: dict[tuple[int, int], Collected[None]]) -> None:
        """Add the outcomes that change."""
        may_turn = self.old.outcome.differs(self.new.outcome)
        may_turn |= self.old.law_not_read != self.new.law_not_read
        old, new = self._outcomes(np.flatnonzero(may_turn))
        for before, after in itertools.permutations(range(len(OUTCOMES)), 2):
            marked = np.flatnonzero((old == before) & (new == after))
            if marked.size:
                found.setdefault((before, after), Collected()).add(self.chunk, marked, None)

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

    def add_nearest(self, found: dict[tuple[int, str], Near]) -> None:
        """Add the changed rules that are met, with their margins; of several days the smallest."""
        chunk = self.chunk
        for rule_id, margins in self.new.margins.items():
            for index in np.flatnonzero(~np.isnan(expand(margins, chunk.hauls))).tolist():
                row, margin = int(chunk.rows[index]), float(take(margins, [index])[0])
                known = found.get((row, rule_id))
                if known is None or margin < known.margin:
                    file = self.name(row)
                    title = chunk.loads[chunk.load_of[index]].title or file.stem
                    day = date.fromordinal(int(chunk.days[index]))
                    found[row, rule_id] = Near(title, file, day, self.new.rules[rule_id], margin)


def _applying(column: Codes) -> Codes:
    found: Codes = np.where(column == DOES_NOT_APPLY, _NOT_IN_FORCE, column)
    return found


def _verdict(code: int) -> Verdict | None:
    return None if code == _NOT_IN_FORCE else VERDICTS[code]
