"""Load profiles made ready for many hauls: what differs from haul to haul is judged in arrays.

Rules that rest on none of the fields that differ from haul to haul say the same of every haul of a
load; they are judged once, in arrays of one row a load.
"""

import itertools
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray

from checker.documents.problems import DataPath
from checker.evaluation.engine import Finding
from checker.evaluation.gate import is_near
from checker.evaluation.tolerances import check_profile
from checker.facts.view import Facts, Subject
from checker.load.build import MOST_CORNERED, field_path
from checker.rulebooks.jurisdictions import touches
from checker.rulebooks.layering import rules_in_force
from checker.rulebooks.model import Rule, Rulebook, Rulebooks
from checker.rulebooks.verdicts import WORST_FIRST
from checker.season.alike import at
from checker.season.chunk import Chunk, Varied
from checker.season.judging import Flags, Judging, Said, alike
from checker.units.arithmetic import Number


@dataclass(frozen=True, slots=True)
class _Apart:
    """Rules of a book that may say different things of different hauls.

    `by_scope_alone` rest on nothing that differs but whether the book applies at all.
    `judging` holds the book against the loads, whatever differs from haul to haul left out.
    `applies` is None where that rests on what differs.
    """

    judging: Judging
    applies: Number | None
    rules: Sequence[Rule]
    by_scope_alone: Sequence[Rule]


_LISTS: Mapping[str, str] = {
    "article": "articles",
    "tiedown": "tiedowns",
    "axle": "trailer.axles",
}


class Prepared:
    """Loads with the rules of one day, ready for all hauls on days with the same rules."""

    def __init__(self, chunk: Chunk, rulebooks: Rulebooks, near: float) -> None:
        """Judge what is alike for all hauls of a load.

        Where the tolerances are too many for all their corners, the chunk is of one haul.
        """
        self.profile = chunk.profile
        self.on = chunk.on
        self.near = near
        self.loads = len(chunk.loads)
        self.unmarked = rulebooks.unmarked_on(chunk.on)
        stated = {
            path: Varied(np.full(self.loads, value), np.full(self.loads, half))
            for path, (value, half) in self.profile.tolerances.items()
            if path not in chunk.columns
        }
        self.own: Mapping[DataPath, Varied] = stated | dict(chunk.own)
        self.tolerances = tuple(stated)
        stated_by_hauls = sum(each.halves is not None for each in chunk.columns.values())
        self.corners = _corners(len(stated) + stated_by_hauls)
        """Rows that each haul comes to; a load without what its hauls state may have fewer."""
        self._gaps: dict[str, Mapping[str, Flags]] = {}
        self._fields: dict[str, frozenset[str]] = {}
        self._known: dict[tuple[str, str], list[Said]] = {}
        self._whens: dict[tuple[str, Subject | None, bool], Number | None] = {}
        self.alike: list[Said] = []
        self._apart: list[_Apart] = []
        if len(self.tolerances) > MOST_CORNERED:
            done = check_profile(self.profile, rulebooks, self.on)
            self.facts = done.facts
            self.alike = [_said(finding, near) for finding in done.findings]
        else:
            each = np.arange(self.loads)
            self.facts = Facts(self.profile.load(self._rows({}, each)), self.unmarked)
            self._divide(rulebooks, frozenset(map(field_path, chunk.columns)))
        self.places = self.facts.load.trip.places

    def _divide(self, rulebooks: Rulebooks, fields: frozenset[str]) -> None:
        """Judge the rules that are alike for all hauls of a load, and put by those that are not."""
        self._loose = fields | {field_path(path) for path in self.tolerances}
        for book in rules_in_force(rulebooks, self.facts.load.trip.places, self.on).books:
            judging = self._judging(book)
            if judging.here == 0:
                continue
            in_scope = book.scope is not None and _rests_on(self.facts, book.scope, fields)
            differ = [rule for rule in book.rules if _rests_on(self.facts, rule, fields)]
            others = [rule for rule in book.rules if rule not in differ]
            if not in_scope:
                self.alike += map(judging.said, others)
            if differ or in_scope:
                loose = book.scope is not None and _rests_on(self.facts, book.scope, self._loose)
                applies = None if loose else judging.applies
                self._apart.append(_Apart(judging, applies, differ, others if in_scope else []))
        self._settled = self.facts.settled(self._loose)

    def _judging(self, book: Rulebook, applies: float | None = None) -> Judging:
        """A rulebook held against the loads, whatever differs from haul to haul left out."""
        corners = _corners(len(self.tolerances))
        return Judging(self.facts, book, self.on, corners, self.near, applies)

    def said(self, chunk: Chunk) -> Iterator[Said]:
        """What each rule that is not alike for all says of each haul."""
        rows = self._rows(chunk.columns, chunk.load_of)
        load = self.profile.load(rows, self.facts.load.origins)
        corners = load.rows // chunk.hauls
        assert corners == self.corners
        spread = _Spread(self._settled, self.loads, chunk.load_of, corners)
        facts = Facts(load, self.unmarked, spread)
        for apart in self._apart:
            settled = partial(self._settled_when, apart.judging, spread)
            applies = None if apart.applies is None else alike(spread.of(apart.applies))
            judging = apart.judging.of_hauls(facts, corners, applies, settled)
            yield from map(judging.said, apart.rules)
            if apart.by_scope_alone:
                yield from self._by_scope_alone(apart, judging, chunk)

    def _settled_when(
        self,
        judging: Judging,
        spread: "_Spread",
        rule: Rule,
        subject: Subject | None,
        *,
        metric: bool,
    ) -> Number | None:
        """When a rule applies, if that rests on nothing that differs from haul to haul."""
        assert rule.when is not None
        key = (rule.id, subject, metric)
        if key not in self._whens:
            facts = rule.when.names - rule.thresholds.keys()
            differs = any(self.facts.rests_on(name, subject, self._loose) for name in facts)
            when = None if differs else judging.when(rule, subject, metric=metric)
            self._whens[key] = when if when is None else alike(when)
        when = self._whens[key]
        return when if when is None else spread.of(when)

    def _by_scope_alone(self, apart: _Apart, judging: Judging, chunk: Chunk) -> list[Said]:
        """Rules that say the same of all hauls once it is known that their rulebook applies."""
        if not isinstance(judging.applies, float):
            return [judging.said(rule) for rule in apart.by_scope_alone]
        key = (apart.judging.book.id, str(judging.applies))
        if key not in self._known:
            alone = self._judging(apart.judging.book, judging.applies)
            self._known[key] = [alone.said(rule) for rule in apart.by_scope_alone]
        return [said.of(chunk.load_of) for said in self._known[key]]

    def wanting(self, said: Said, chunk: Chunk) -> Iterator[tuple[str, Flags]]:
        """Fields that a rule may be undecided for want of, and the hauls that do not state them."""
        for field, rows in self.gaps(said).items():
            yield field, at(rows, chunk.load_of)
        asked = self._asked(said)
        for path, column in chunk.columns.items():
            if field_path(path) in asked:
                yield field_path(path), np.isnan(column.values)

    def _asked(self, said: Said) -> frozenset[str]:
        """Fields behind a rule and its rulebook, each by itself: a list is none of its entries."""
        if said.rule.id not in self._fields:
            self._fields[said.rule.id] = frozenset(
                field
                for name, subject in self._facts_of(said)
                for field in self.facts.fields(name, subject)
            )
        return self._fields[said.rule.id]

    def _facts_of(self, said: Said) -> Iterator[tuple[str, Subject | None]]:
        """Facts that a rule and the scope of its rulebook speak of, with what they are about."""
        for rule in filter(None, (said.book.scope, said.rule)):
            for subject in _subjects(self.facts, rule):
                yield from ((name, subject) for name in rule.facts)

    def gaps(self, said: Said) -> Mapping[str, Flags]:
        """Fields behind a rule and its rulebook that no haul of a load states, and which loads."""
        if said.rule.id not in self._gaps:
            self._gaps[said.rule.id] = self._gap(said)
        return self._gaps[said.rule.id]

    def _gap(self, said: Said) -> dict[str, Flags]:
        # The rulebook, its scope and the rule may all wait for one field, which is wanting once.
        found: dict[str, Flags] = {}
        if touches(said.book.jurisdiction, self.places) != 1:
            found["trip.places"] = np.ones(self.loads, dtype=bool)
        for load in range(self.loads):
            for name, subject in self._facts_of(said):
                for field in self.facts.missing(name, subject, load, self.loads):
                    found.setdefault(field, np.zeros(self.loads, dtype=bool))[load] = True
        if said.rule.for_each and not self.facts.subjects(said.rule.for_each):
            found[_LISTS[said.rule.for_each]] = np.ones(self.loads, dtype=bool)
        return found

    def _rows(
        self, columns: Mapping[DataPath, Varied], load_of: NDArray[np.intp]
    ) -> dict[DataPath, Number]:
        """Every number that is not the same in all rows; row c * hauls + h is corner c of haul h.

        The first corner is the haul as stated, the others are all ends of all tolerances. A single
        row is given as plain numbers, which stand for any number of rows.
        """
        varied = {path: own.of(load_of) for path, own in self.own.items() if path not in columns}
        varied |= columns
        loose = [path for path, column in varied.items() if column.halves is not None]
        assert len(loose) <= MOST_CORNERED
        signs = np.array([[0.0] * len(loose), *itertools.product((-1.0, 1.0), repeat=len(loose))])
        shape = (_corners(len(loose)), len(load_of))
        rows: dict[DataPath, Number] = {}
        for path, column in varied.items():
            ends = column.values
            if column.halves is not None:
                ends = ends + column.halves * signs[:, loose.index(path), np.newaxis]
            found = np.broadcast_to(ends, shape).ravel()
            rows[path] = found if found.size > 1 else float(found[0])
        return rows


def _corners(tolerances: int) -> int:
    """The values as stated, and each combination of ends of the tolerances if there are any."""
    return 1 + 2**tolerances if tolerances else 1


def _said(finding: Finding, near: float) -> Said:
    """What the check of a single load says, as of all hauls alike."""
    margin = np.nan if finding.margin is None else finding.margin
    return Said(
        finding.book,
        finding.rule,
        np.array([WORST_FIRST.index(finding.verdict)], dtype=np.int8),
        np.array([margin]),
        np.array([is_near(finding, near)]),
    )


class _Spread(Mapping[tuple[str, Subject | None], Number]):
    """Facts of each load as facts of each haul in all its corners, made when they are asked for."""

    def __init__(
        self,
        facts: Mapping[tuple[str, Subject | None], Number],
        loads: int,
        load_of: NDArray[np.intp],
        corners: int,
    ) -> None:
        self.facts, self.loads, self.load_of, self.corners = facts, loads, load_of, corners

    def __getitem__(self, key: tuple[str, Subject | None]) -> Number:
        return self.of(self.facts[key])

    def of(self, value: Number) -> Number:
        """A number of each load as one of each haul."""
        if np.size(value) == 1:
            return value
        # The same whatever the tolerances: the first of the corners stands for all.
        of_hauls = np.asarray(value)[: self.loads][self.load_of]
        return np.tile(of_hauls, self.corners) if self.corners > 1 else of_hauls

    def __iter__(self) -> Iterator[tuple[str, Subject | None]]:
        return iter(self.facts)

    def __len__(self) -> int:
        return len(self.facts)


def _rests_on(facts: Facts, rule: Rule, fields: frozenset[str]) -> bool:
    """Whether any of the fields stands behind a rule, for any of its subjects."""
    return any(
        facts.rests_on(name, subject, fields)
        for name in rule.facts
        for subject in _subjects(facts, rule)
    )


def _subjects(facts: Facts, rule: Rule) -> Sequence[Subject | None]:
    return facts.subjects(rule.for_each) if rule.for_each else [None]
