"""What a change of the rules does to saved loads: the same loads under two sets of rules."""

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
class Shift:
    """A rule that says something else of a load; None where the rule is not asked at all."""

    title: str
    file: PurePath
    on: date
    rule: Rule
    before: Verdict | None
    after: Verdict | None
    changes: tuple[Change, ...]
    """The amendments behind it."""

    @property
    def breaks(self) -> bool:
        """Whether a must-rule comes to be broken."""
        return self.after is Verdict.NOT_MET and self.rule.level == "must"

    @property
    def opens(self) -> bool:
        """Whether the rule comes to be undecided."""
        return self.after in (Verdict.NOT_STATED, Verdict.TOO_CLOSE)


@dataclass(frozen=True, slots=True)
class Turned:
    """A load whose outcome changes."""

    title: str
    file: PurePath
    on: date
    before: Outcome
    after: Outcome


@dataclass(frozen=True, slots=True)
class Near:
    """A changed rule that a load still meets, and by how little: a share of the limit."""

    title: str
    file: PurePath
    on: date
    rule: Rule
    margin: float


@dataclass(frozen=True, slots=True)
class Impact:
    """Every change of verdict and outcome; what is met by the least comes first in `nearest`."""

    judged: int
    shifts: tuple[Shift, ...]
    turned: tuple[Turned, ...]
    nearest: tuple[Near, ...]


def days_to_judge(own: date, rulebooks: Rulebooks) -> list[date]:
    """The load's own day where a change holds on it, and the first day of each later one.

    An amendment that begins in July changes nothing for a trip in May: it is asked about the same
    trip in July.
    """
    return sorted({max(own, change.starts) for change in rulebooks.changes}) or [own]


def without(rulebooks: Rulebooks, files: Sequence[str]) -> Rulebooks:
    """The rulebooks without the amendments, and the rules of their own, of these files."""
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
    """Hold the hauls of chunks against both sets of rules and list what differs, haul by haul.

    A haul may be in several chunks, for several days. `name` names a haul by its row; the lists are
    in the order of rows and days.
    """
    shifts: list[_Found[Shift]] = []
    turned: list[_Found[Turned]] = []
    nearest: list[_Found[Near]] = []
    rows: set[int] = set()
    for chunk in chunks:
        rows.update(chunk.rows.tolist())
        for some in chunk.slices():
            compared = _Comparison(some, before, after, name)
            shifts += compared.shifts()
            turned += compared.turned()
            nearest += compared.nearest()
    return Impact(
        judged=len(rows),
        shifts=tuple(_in_order(shifts)),
        turned=tuple(_in_order(turned)),
        nearest=tuple(sorted(_in_order(nearest), key=lambda each: each.margin)),
    )


_NOT_ASKED = -1
"""In place of a verdict, of a rule that is not in force."""

_Differing = TypeVar("_Differing", Shift, Turned, Near)
_Found: TypeAlias = tuple[int, date, _Differing]
"""Something that differs, with the row and the day of its haul."""


class _Answers:
    """What every rule in reach, and each haul as a whole, come to under one set of rules."""

    def __init__(
        self, chunk: Chunk, load: Load, corners: int, rulebooks: Rulebooks, facts: Facts | None
    ) -> None:
        """`facts` are those of the same load under another set of rules."""
        on = chunk.on
        evaluated = evaluators(load, rulebooks, on, corners=corners, facts=facts)
        self.facts = evaluated.facts
        self.rules: dict[str, Rule] = {}
        self.verdicts: dict[str, Codes] = {}
        self.changes: dict[str, tuple[Change, ...]] = {
            rule.id: (change,) for rule, change in evaluated.repealed
        }
        self.margins: dict[str, Numbers] = {}
        """Of rules that are changed, where they are met; NaN elsewhere."""
        outcome = OutcomeRows(chunk.hauls)
        for evaluator in evaluated.in_reach():
            for rule in evaluator.book.rules:
                rows = evaluator.rule_rows(rule)
                outcome.add(rows)
                self.rules[rule.id] = rule
                self.verdicts[rule.id] = rows.verdicts
                if changes := _changes(rule, on):
                    self.changes[rule.id] = changes
                    self.margins[rule.id] = np.where(rows.verdicts == MET, rows.margins, np.nan)
        self.outcomes = outcome.outcomes(load, rulebooks, on)


def _changes(rule: Rule, on: date) -> tuple[Change, ...]:
    """The amendments behind the thresholds that a rule has on a day."""
    thresholds = rule.thresholds.values()
    values = [threshold.on(on) for threshold in thresholds]
    named = [value.change for value in values if value]
    named += [threshold.open_change for threshold in thresholds]
    return tuple(dict.fromkeys(change for change in named if change is not None))


class _Comparison:
    """What differs between two sets of rules, over the hauls of a chunk."""

    def __init__(
        self,
        chunk: Chunk,
        before: Rulebooks,
        after: Rulebooks,
        name: Callable[[int], PurePath],
    ) -> None:
        self.chunk, self.name = chunk, name
        load, corners = chunk.load(before)
        self.old = _Answers(chunk, load, corners, before, None)
        if chunk.has_chosen_corners:
            load, corners = chunk.load(after)
        self.new = _Answers(chunk, load, corners, after, self.old.facts)

    def _hauls(self, marked: Flags) -> Iterator[tuple[int, int, tuple[str, PurePath, date]]]:
        """Index and row of each marked haul, its title, file and day."""
        chunk = self.chunk
        for index in np.flatnonzero(expand(marked, chunk.hauls)).tolist():
            row = int(chunk.rows[index])
            file = self.name(row)
            title = chunk.loads[chunk.load_of[index]].title or file.stem
            yield index, row, (title, file, date.fromordinal(int(chunk.days[index])))

    def shifts(self) -> Iterator[_Found[Shift]]:
        """Verdicts that change; those of a haul in the order of the rules."""
        old, new = self.old, self.new
        not_asked = np.full(1, _NOT_ASKED, dtype=np.int8)
        for rule_id in dict.fromkeys((*old.rules, *new.rules)):
            before = old.verdicts.get(rule_id, not_asked)
            after = new.verdicts.get(rule_id, not_asked)
            rule = new.rules.get(rule_id) or old.rules[rule_id]
            for index, row, where in self._hauls(before != after):
                verdicts = _verdict(before, index), _verdict(after, index)
                changes = new.changes.get(rule_id, ())
                yield row, where[-1], Shift(*where, rule, *verdicts, changes)

    def turned(self) -> Iterator[_Found[Turned]]:
        """Hauls whose outcome changes."""
        old, new = self.old.outcomes, self.new.outcomes
        for index, row, where in self._hauls(old != new):
            yield row, where[-1], Turned(*where, OUTCOMES[old[index]], OUTCOMES[new[index]])

    def nearest(self) -> Iterator[_Found[Near]]:
        """Changed rules that are met, each with its margin."""
        for rule_id, margins in self.new.margins.items():
            for index, row, where in self._hauls(~np.isnan(margins)):
                margin = float(take(margins, [index])[0])
                yield row, where[-1], Near(*where, self.new.rules[rule_id], margin)


def _verdict(column: Codes, index: int) -> Verdict | None:
    code = int(take(column, [index])[0])
    return None if code == _NOT_ASKED else VERDICTS[code]


def _in_order(found: list[_Found[_Differing]]) -> list[_Differing]:
    """What was found, by rows and days; of one haul and day as it was found."""
    return [each for _, _, each in sorted(found, key=itemgetter(0, 1))]
