"""One load profile made ready for many hauls: what differs from haul to haul is judged in arrays.

Rules that rest on none of the fields that differ say the same of every haul and are judged once.
"""

import itertools
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from checker.arithmetic import Number
from checker.documents.problems import DataPath
from checker.engine import Finding
from checker.facts.view import Facts, Subject
from checker.gate import is_near
from checker.load.build import MOST_CORNERED, Profile, field_path
from checker.rulebooks.jurisdictions import touches
from checker.rulebooks.layering import layered
from checker.rulebooks.model import Rule, Rulebook, Rulebooks
from checker.rulebooks.verdicts import WORST_FIRST
from checker.season.chunk import Varied
from checker.season.judging import Judging, Said
from checker.tolerances import check_profile


@dataclass(frozen=True, slots=True)
class _Apart:
    """Rules of a book that may say different things of different hauls.

    `by_scope_alone` rest on nothing that differs but whether the book applies at all.
    """

    book: Rulebook
    rules: Sequence[Rule]
    by_scope_alone: Sequence[Rule]


_EVERYWHERE = np.ones(1, dtype=bool)
_LISTS: Mapping[str, str] = {
    "article": "articles",
    "tiedown": "tiedowns",
    "axle": "trailer.axles",
}


class Prepared:
    """A profile with the rules of one day, ready for all hauls on days with the same rules."""

    def __init__(
        self,
        profile: Profile,
        rulebooks: Rulebooks,
        on: date,
        varied: Sequence[DataPath],
        near: float,
    ) -> None:
        """Judge what is alike for all hauls.

        `varied` are the fields that differ; the profile states them all, with any text. Where the
        tolerances are too many for all their corners, nothing may differ.
        """
        self.profile = profile
        self.on = on
        self.near = near
        self.unmarked = rulebooks.unmarked_on(on)
        self.tolerances = {
            path: stated for path, stated in profile.tolerances.items() if path not in varied
        }
        self._gaps: dict[str, tuple[str, ...]] = {}
        self._known: dict[tuple[str, str], list[Said]] = {}
        self.alike: list[Said] = []
        self._apart: list[_Apart] = []
        if len(self.tolerances) > MOST_CORNERED:
            done = check_profile(profile, rulebooks, on)
            self.facts = done.facts
            self.alike = [_said(finding, near) for finding in done.findings]
        else:
            self.facts = Facts(profile.load(self._rows({}, 1)), self.unmarked)
            self._divide(rulebooks, frozenset(map(field_path, varied)))
        self.places = self.facts.load.trip.places

    def _divide(self, rulebooks: Rulebooks, fields: frozenset[str]) -> None:
        """Judge the rules that are alike for all hauls, and put by those that are not."""
        for book in layered(rulebooks, self.facts.load.trip.places, self.on).books:
            judging = self._judging(self.facts, book)
            if judging.here == 0:
                continue
            in_scope = book.scope is not None and _rests_on(self.facts, book.scope, fields)
            differ = [rule for rule in book.rules if _rests_on(self.facts, rule, fields)]
            others = [rule for rule in book.rules if rule not in differ]
            if not in_scope:
                self.alike += map(judging.said, others)
            if differ or in_scope:
                self._apart.append(_Apart(book, differ, others if in_scope else []))
        tolerated = {field_path(path) for path in self.tolerances}
        self._settled = self.facts.settled(fields | tolerated)

    def _judging(self, facts: Facts, book: Rulebook, applies: float | None = None) -> Judging:
        return Judging(facts, book, self.on, facts.load.rows, self.near, applies)

    def said(self, columns: Mapping[DataPath, Varied], hauls: int) -> list[Said]:
        """What each rule that is not alike for all says of each haul."""
        load = self.profile.load(self._rows(columns, hauls))
        facts = Facts(load, self.unmarked, self._settled)
        found: list[Said] = []
        for apart in self._apart:
            judging = Judging(facts, apart.book, self.on, load.rows // hauls, self.near)
            found += map(judging.said, apart.rules)
            if apart.by_scope_alone:
                found += self._by_scope_alone(apart, judging)
        return found

    def _by_scope_alone(self, apart: _Apart, judging: Judging) -> list[Said]:
        """Rules that say the same of all hauls once it is known that their rulebook applies."""
        if not isinstance(judging.applies, float):
            return [judging.said(rule) for rule in apart.by_scope_alone]
        key = (apart.book.id, str(judging.applies))
        if key not in self._known:
            alone = self._judging(self.facts, apart.book, judging.applies)
            self._known[key] = [alone.said(rule) for rule in apart.by_scope_alone]
        return self._known[key]

    def wanting(
        self, said: Said, columns: Mapping[DataPath, Varied]
    ) -> Iterator[tuple[str, NDArray[np.bool_]]]:
        """Fields that a rule may be undecided for want of, and the hauls that do not state them."""
        if said.rule.id not in self._gaps:
            self._gaps[said.rule.id] = self._gap(said)
        for field in self._gaps[said.rule.id]:
            yield field, _EVERYWHERE
        for path, column in columns.items():
            blank = np.isnan(column.values)
            if blank.any() and any(
                _rests_on(self.facts, rule, frozenset({field_path(path)}))
                for rule in (said.rule, said.book.scope)
                if rule is not None
            ):
                yield field_path(path), blank

    def _gap(self, said: Said) -> tuple[str, ...]:
        """The fields behind a rule and its rulebook that no haul of the profile states."""
        found: dict[str, None] = {}
        if touches(said.book.jurisdiction, self.places) != 1:
            found["trip.places"] = None
        for rule in (said.book.scope, said.rule):
            for subject in _subjects(self.facts, rule) if rule else ():
                for name in rule.facts if rule else ():
                    found |= dict.fromkeys(self.facts.missing(name, subject))
        if said.rule.for_each and not self.facts.subjects(said.rule.for_each):
            found[_LISTS[said.rule.for_each]] = None
        return tuple(found)

    def _rows(self, columns: Mapping[DataPath, Varied], hauls: int) -> dict[DataPath, Number]:
        """Every number that is not the same in all rows; row c * hauls + h is corner c of haul h.

        The first corner is the haul as stated, the others are all ends of all tolerances.
        """
        loose = [path for path, column in columns.items() if column.halves is not None]
        loose += self.tolerances
        assert len(loose) <= MOST_CORNERED
        signs = np.array([[0.0] * len(loose), *itertools.product((-1.0, 1.0), repeat=len(loose))])
        corners = len(signs) if loose else 1
        shape = (corners, hauls)
        rows: dict[DataPath, Number] = {}
        for path, (value, half) in self.tolerances.items():
            ends = value + half * signs[:, loose.index(path), np.newaxis]
            rows[path] = np.broadcast_to(ends, shape).ravel()
        for path, column in columns.items():
            ends = column.values
            if column.halves is not None:
                ends = ends + column.halves * signs[:, loose.index(path), np.newaxis]
            rows[path] = np.broadcast_to(ends, shape).ravel()
        return rows


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


def _rests_on(facts: Facts, rule: Rule, fields: frozenset[str]) -> bool:
    """Whether any of the fields stands behind a rule, for any of its subjects."""
    return any(
        facts.rests_on(name, subject, fields)
        for name in rule.facts
        for subject in _subjects(facts, rule)
    )


def _subjects(facts: Facts, rule: Rule) -> Sequence[Subject | None]:
    return facts.subjects(rule.for_each) if rule.for_each else [None]
