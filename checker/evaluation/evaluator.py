"""The evaluator: the rules in force on a day, applied to a load of any number of rows.

A check is one row, a tolerance the corners of it; a sweep has a row for each value tried, a season
one for each haul. All of them use this module, so that a verdict, a margin, "near", and the missing
fields of an undecided rule mean the same everywhere.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import date
from functools import cached_property
from typing import Any

import numpy as np
from msgspec import Struct

from checker.evaluation.dated_rule import DatedRule, Env, evaluate_subject, one_if_equal
from checker.evaluation.rule_rows import (
    DOES_NOT_APPLY,
    EVERYWHERE,
    MET,
    NO_MARGIN,
    NOT_STATED,
    NOWHERE,
    Codes,
    Flags,
    Indices,
    RuleRows,
    SubjectRows,
    collapse,
)
from checker.evaluation.variances import Hauls, Permits, one_haul, permits, permits_of
from checker.facts.catalogue import facts_from
from checker.facts.view import Facts, Subject
from checker.load.model import Load
from checker.rulebooks.editions import in_editions_of
from checker.rulebooks.formula import Governing
from checker.rulebooks.jurisdictions import touches
from checker.rulebooks.layering import rules_in_force
from checker.rulebooks.model import Change, Rule, Rulebook, Rulebooks
from checker.rulebooks.unread_subjects import unread_subjects
from checker.rulebooks.variances import law_beneath
from checker.units.arithmetic import Compared, Number, both

LISTS: Mapping[str, str] = {
    "article": "articles",
    "tiedown": "tiedowns",
    "axle": "trailer.axles",
}
"""The list of a profile that holds the subjects of a rule."""

_NO_SUBJECT: Indices = np.full(1, -1, dtype=np.intp)
_FIRST: Indices = np.zeros(1, dtype=np.intp)


class _FactsAndLimits(dict[str, Number]):
    """The names of a rule, with facts calculated on first use.

    Most rules do not apply to most loads, so most facts are never needed.
    """

    def __init__(self, facts: Facts, subject: Subject | None, limits: Mapping[str, Number]) -> None:
        super().__init__(limits)
        self.facts, self.subject = facts, subject

    def __missing__(self, name: str) -> Number:
        value = self[name] = self.facts.value(name, self.subject)
        return value


class BookEvaluator:
    """One rulebook on one day, evaluated over the rows of a load.

    The rows of the load are corners times n, as `evaluate_subject` needs them.
    """

    def __init__(
        self, facts: Facts, book: Rulebook, on: date, corners: int, given: Permits
    ) -> None:
        """Find the rows in which the rulebook applies; `given` are the variances that count."""
        self.facts, self.book, self.on, self.corners = facts, book, on, corners
        self.given = given
        self.rows = facts.load.rows // corners
        self._dated: dict[str, DatedRule] = {}
        self.here = touches(book.jurisdiction, facts.load.trip.places)
        """1 where the trip touches the jurisdiction, 0 where not, NaN where it may."""
        self.in_force = book.days is None or book.days.holds_on(on)
        """False before the first day of the rulebook and after its last."""
        self.applies: Number = self.here if self.in_force else 0.0
        self._in_scope: SubjectRows | None = None
        if book.scope and book.scope.when and self.here != 0 and self.in_force:
            self._in_scope = self._evaluated(book.scope, None)
            self.applies = self._where_in_scope(book.scope, self._in_scope.metric)

    def _where_in_scope(self, scope: Rule, metric: Flags) -> Number:
        """The truth of the scope for each row and corner, with the figures that decide."""
        applies = [self._applies_in(scope, metric=False)]
        if metric.any():
            applies.append(self._applies_in(scope, metric=True))
            by_corner = np.tile(metric, self.corners) if metric.size > 1 else metric
            return one_if_equal(np.where(by_corner, applies[1], applies[0]))
        return applies[0]

    @property
    def scope(self) -> RuleRows | None:
        """The scope of the rulebook as a rule over all rows; None where it has none.

        Made anew each time: rows keep their evaluator, and one that kept its rows as well would be
        freed late, with all arrays of its load.
        """
        if self._in_scope is None:
            return None
        assert self.book.scope is not None
        return self.worst_of(self.book.scope, [self._in_scope])

    def _applies_in(self, scope: Rule, *, metric: bool) -> Number:
        assert scope.when is not None
        return one_if_equal(both(self.here, scope.when.value(self.env(scope, None, metric=metric))))

    @property
    def verdicts(self) -> Codes:
        """Whether the rulebook applies, as verdicts: met, not stated or does not apply."""
        scope = self.scope
        if scope is not None:
            return scope.verdicts
        code = DOES_NOT_APPLY
        if self.in_force:
            code = {1.0: MET, 0.0: DOES_NOT_APPLY}.get(self.here, NOT_STATED)
        return np.array([code], dtype=np.int8)

    def applies_in(self, place: str) -> Flags:
        """The rows in which the rulebook applies, or may apply, in one place of the trip."""
        scope, there = self.book.scope, self
        is_one_of_several = len({*(self.facts.load.trip.places or ())}) > 1
        if scope and is_one_of_several and facts_from("trip.places") & {*scope.facts}:
            there = BookEvaluator(
                self.facts.at(place), self.book, self.on, self.corners, self.given
            )
        applies: Flags = there.verdicts != DOES_NOT_APPLY
        return applies

    def subjects(self, rule: Rule) -> Sequence[Subject | None]:
        """The subjects of a rule: each article, tiedown or axle, or the load as a whole."""
        return self.facts.subjects(rule.for_each) if rule.for_each else (None,)

    def dated(self, rule: Rule) -> DatedRule:
        """The rule with the thresholds of the day."""
        if rule.id not in self._dated:
            self._dated[rule.id] = DatedRule(rule, self.on)
        return self._dated[rule.id]

    def env(self, rule: Rule, subject: Subject | None, *, metric: bool) -> Env:
        """Every fact and threshold that a rule names, with the printed US or metric figures."""
        return _FactsAndLimits(self.facts, subject, self.dated(rule).limits(metric=metric))

    def rule_rows(self, rule: Rule) -> RuleRows:
        """One rule over all rows."""
        return self.worst_of(rule, self.by_subject(rule))

    def by_subject(self, rule: Rule) -> list[SubjectRows]:
        """One rule over all rows, for each of its subjects."""
        return [self._evaluated(rule, subject) for subject in self.subjects(rule)]

    def comparisons(self, rule: Rule) -> list[Governing]:
        """The deciding comparison of each subject that a rule applies to, in its only row."""
        return [
            self.deciding(rule, self.env(rule, subject, metric=bool(found.metric[0])), found)
            for subject, found in zip(self.subjects(rule), self.by_subject(rule), strict=True)
            if found.verdicts[0] != DOES_NOT_APPLY
        ]

    def deciding(self, rule: Rule, env: Env, found: SubjectRows) -> Governing:
        """The deciding comparison of one subject with that env, in its only row."""
        leaf, row = int(found.leaf[0]), int(found.corner[0])
        return rule.requires.deciding(env, leaf, row, float(found.distances[0]))

    def _evaluated(self, rule: Rule, subject: Subject | None) -> SubjectRows:
        """One subject; where a printed metric figure counts too, the worse verdict counts."""
        dated = self.dated(rule)
        applies = self.applies

        def in_print(*, metric: bool) -> SubjectRows:
            env = self.env(rule, subject, metric=metric)
            return evaluate_subject(dated, env, applies, corners=self.corners, metric=metric)

        found = in_print(metric=False)
        if dated.has_metric_print and self._is_stated_in_metric(rule, subject):
            other = in_print(metric=True)
            found = found.replaced(other, other.verdicts < found.verdicts)
        return found

    def _is_stated_in_metric(self, rule: Rule, subject: Subject | None) -> bool:
        """True if a field behind one of the facts is stated in metric units."""
        return any(
            origin.metric
            for name in rule.facts
            for origin in self.facts.origins(name, subject).values()
        )

    def worst_of(self, rule: Rule, found: Sequence[SubjectRows]) -> RuleRows:
        """The rows of a rule, from those of its subjects."""
        if not found:
            return self._without_subjects(rule)
        worst, deciding = found[0], _FIRST
        for index, other in enumerate(found[1:], start=1):
            # Among subjects of one verdict the smallest distance decides, then the first of them.
            closer = (other.verdicts == worst.verdicts) & (other.rank < worst.rank)
            takes_over = (other.verdicts < worst.verdicts) | closer
            if takes_over.any():
                worst = worst.replaced(other, takes_over)
                deciding = np.where(takes_over, index, deciding)
        given = permits_of(rule, self.given)
        law = law_beneath(rule) if given else None
        return RuleRows(
            book=self.book,
            rule=rule,
            verdicts=collapse(worst.verdicts),
            distances=worst.distances,
            margins=worst.margins,
            spare=collapse(worst.spare),
            subject=deciding,
            leaf=worst.leaf,
            corner=worst.corner,
            metric=worst.metric,
            permits=given,
            excusable=self.rule_rows(law).satisfied if law else EVERYWHERE,
            evaluator=self,
        )

    def _without_subjects(self, rule: Rule) -> RuleRows:
        """The rows of a rule without subjects: there are none, or they are not stated."""
        load = self.facts.load
        none_stated = load.deck_empty if rule.for_each == "article" else load.tiedowns is not None
        none_stated &= rule.for_each != "axle"
        idle = none_stated | (self.verdicts == DOES_NOT_APPLY) | (not self.dated(rule).in_force)
        return RuleRows(
            book=self.book,
            rule=rule,
            verdicts=np.where(idle, DOES_NOT_APPLY, NOT_STATED).astype(np.int8),
            distances=np.where(idle, np.inf, np.nan),
            margins=NO_MARGIN,
            spare=NO_MARGIN,
            subject=_NO_SUBJECT,
            leaf=_FIRST,
            corner=_FIRST,
            metric=NOWHERE,
            permits=(),
            excusable=EVERYWHERE,
            evaluator=self,
        )

    @cached_property
    def missing_for_scope(self) -> Mapping[str, Flags]:
        """Missing fields that decide whether the rulebook applies, and the rows that lack them."""
        found: dict[str, Flags] = {}
        if self.here != self.here and self.in_force:
            found["trip.places"] = np.ones(1, dtype=bool)
        scope = self.scope
        if scope is not None:
            found |= self._missing(scope)
        return found

    def missing(self, rows: RuleRows) -> Mapping[str, Flags]:
        """Missing fields that leave a rule undecided, those of its rulebook first, with the rows.

        They are those of the deciding subject of each row.
        """
        undecided = rows.verdicts == NOT_STATED
        if rows.rule.for_each and not self.subjects(rows.rule):
            # The entries of a list must be known first.
            return {LISTS[rows.rule.for_each]: undecided} if undecided.any() else {}
        found: dict[str, Flags] = {}
        for field, where in self.missing_for_scope.items():
            _add(found, field, where & undecided)
        for field, where in self._missing(rows).items():
            _add(found, field, where)
        return found

    def _missing(self, rows: RuleRows) -> dict[str, Flags]:
        undecided = rows.verdicts == NOT_STATED
        found: dict[str, Flags] = {}
        for index, subject in enumerate(self.subjects(rows.rule)):
            here = undecided & (rows.subject == index)
            if not here.any():
                continue
            unknown_when = self._unknown_when(rows, subject)
            for name in rows.rule.facts:
                waiting: Flags = here
                if rows.rule.when is None or name not in rows.rule.when.names:
                    # Whether a rule applies is decided first; what it requires may never be needed.
                    waiting = here & ~unknown_when
                if not waiting.any():
                    continue
                for field, where in self.facts.missing_by_row(name, subject).items():
                    _add(found, field, waiting & self._over_corners(where))
        return found

    def _unknown_when(self, rows: RuleRows, subject: Subject | None) -> Flags:
        """True in rows where it is not known whether the rule applies."""
        when = rows.rule.when
        if when is None:
            return NOWHERE
        by_print = [
            self._over_corners(np.isnan(when.value(self.env(rows.rule, subject, metric=metric))))
            for metric in (False, True)[: 1 + bool(rows.metric.any())]
        ]
        found: Flags = np.where(rows.metric, by_print[-1], by_print[0])
        return found

    def _over_corners(self, where: Compared) -> Flags:
        """True in rows where something is true in any corner."""
        column = np.atleast_1d(np.asarray(where, dtype=bool))
        if column.size == 1 or self.corners == 1:
            return column
        found: Flags = np.logical_or.reduce(column.reshape(self.corners, -1))
        return found


def _add(found: dict[str, Flags], field: str, where: Flags) -> None:
    if where.any():
        found[field] = found[field] | where if field in found else where


class Evaluated(Struct, frozen=True):
    """A load under the rules of a day: an evaluator for each rulebook, in their order."""

    facts: Facts
    books: tuple[BookEvaluator, ...]
    changes: tuple[Change, ...]
    """Changes by amendments, in force on the day and the trip."""
    repealed: tuple[tuple[Rule, Change], ...]

    def in_reach(self) -> Iterator[BookEvaluator]:
        """The evaluators of rulebooks whose jurisdiction the trip touches, or may touch."""
        return (each for each in self.books if each.here != 0)

    def rule_rows(self, wanted: Callable[[Rule], Any] = lambda _rule: True) -> Iterator[RuleRows]:
        """The rows of the wanted rules of the rulebooks in reach, in the order of the rulebooks."""
        for evaluator in self.in_reach():
            for rule in evaluator.book.rules:
                if wanted(rule):
                    yield evaluator.rule_rows(rule)

    def unread_subjects(self) -> Mapping[str, Mapping[str, Flags]]:
        """By place of the trip and subject of its law, the rows where no rulebook holds it."""
        found: dict[str, Mapping[str, Flags]] = {}
        for place in dict.fromkeys(self.facts.load.trip.places or ()):
            applies = [(each.book, each.applies_in(place)) for each in self.in_reach()]
            found |= unread_subjects((place,), applies)
        return found


def evaluators(
    load: Load,
    rulebooks: Rulebooks,
    on: date,
    *,
    corners: int = 1,
    facts: Facts | None = None,
    hauls: Hauls | None = None,
) -> Evaluated:
    """The evaluators of all rulebooks for a load on a day.

    Only the scopes of the rulebooks are evaluated yet. `facts` are those of the same load under
    other rulebooks; they are used again where both have the same table of unmarked devices. `hauls`
    say when the rows are hauled, by whom, with which files; otherwise all are the load on that day.
    """
    unmarked = rulebooks.unmarked_on(on, load.trip.places)
    if facts is None or facts.load is not load or facts.unmarked != unmarked:
        facts = Facts(load, unmarked)
    given = permits(load, rulebooks, hauls or one_haul(load, on))
    rules = rules_in_force(in_editions_of(rulebooks, on), load.trip.places, on)
    return Evaluated(
        facts=facts,
        books=tuple(BookEvaluator(facts, book, on, corners, given) for book in rules.books),
        changes=rules.changes,
        repealed=rules.repealed,
    )


def evaluate(
    load: Load,
    rulebooks: Rulebooks,
    on: date,
    *,
    wanted: Callable[[Rule], Any] = lambda _rule: True,
) -> Iterator[RuleRows]:
    """The rows of the wanted rules for a load, in the order of the rulebooks.

    Rules of jurisdictions that the trip does not touch are left out.
    """
    return evaluators(load, rulebooks, on).rule_rows(wanted)
