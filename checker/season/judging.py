"""Rules held against many hauls of one load profile at once: one array operation for all rows.

A verdict is a place in WORST_FIRST, so the worse of two is the smaller number. What a rule says of
a haul here is what `engine.check` says of that haul alone; a test holds the two together.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple, Protocol

import numpy as np
from numpy.typing import NDArray

from checker.facts.view import Facts, Subject
from checker.rulebooks.jurisdictions import touches
from checker.rulebooks.model import Rule, Rulebook
from checker.rulebooks.verdicts import WORST_FIRST, Verdict
from checker.season.alike import at, once
from checker.season.margins import is_relative, shares, speaks_for_itself
from checker.units.arithmetic import NOT_STATED, Number, at_least, both, everywhere

Codes = NDArray[np.int8]
Flags = NDArray[np.bool_]
Numbers = NDArray[np.float64]

NOT_MET, UNKNOWN, TOO_CLOSE, MET, IDLE = (
    WORST_FIRST.index(verdict)
    for verdict in (
        Verdict.NOT_MET,
        Verdict.NOT_STATED,
        Verdict.TOO_CLOSE,
        Verdict.MET,
        Verdict.DOES_NOT_APPLY,
    )
)


@dataclass(frozen=True, slots=True)
class Said:
    """What one rule says of each haul: verdict, and the margin of whatever decides.

    `margins` are shares of the limit, NaN where there is none; `near` marks rules met by no more
    than the share asked about. Arrays of one row stand for all hauls alike.
    """

    book: Rulebook
    rule: Rule
    codes: Codes
    margins: Numbers
    near: Flags

    @property
    def quiet(self) -> bool:
        """Met or idle in all hauls, and nowhere near, as most rules are: nobody hears of it."""
        least = self.codes[0] if self.codes.size == 1 else self.codes.min()
        return bool(least >= MET) and not (self.near[0] if self.near.size == 1 else self.near.any())

    def unmeasured(self) -> "Said":
        """The same without its margins."""
        return Said(self.book, self.rule, self.codes, _NO_MARGIN, self.near)

    def of(self, rows: NDArray[np.intp]) -> "Said":
        """What it says of some rows."""
        return Said(
            self.book,
            self.rule,
            at(self.codes, rows),
            at(self.margins, rows),
            at(self.near, rows),
        )


class _Judged(NamedTuple):
    """What a rule says row by row for one subject.

    `order` is the margin by which subjects and corners are told apart; `margins` are those that are
    a share of a limit, and NaN elsewhere.
    """

    codes: Codes
    order: Numbers
    margins: Numbers
    near: Flags

    def unless(self, other: "_Judged", takes: Flags) -> "_Judged":
        """These rows, but the other's where it takes over."""
        return _Judged(
            np.where(takes, other.codes, self.codes),
            np.where(takes, other.order, self.order),
            np.where(takes, other.margins, self.margins),
            np.where(takes, other.near, self.near),
        )


class _Env(dict[str, Number]):
    """The names of a rule, facts worked out when they are asked for.

    Most rules do not apply to most loads, and then nobody asks for what they require.
    """

    def __init__(
        self, facts: Facts, subject: Subject | None, thresholds: Mapping[str, Number]
    ) -> None:
        super().__init__(thresholds)
        self.facts, self.subject = facts, subject

    def __missing__(self, name: str) -> Number:
        value = self[name] = self.facts.value(name, self.subject)
        return value


class _Terms:
    """A rule on one day, whatever the load: its limits, and what its margins say of them."""

    def __init__(self, rule: Rule, on: date) -> None:
        values = {name: threshold.on(on) for name, threshold in rule.thresholds.items()}
        stated = [value for value in values.values() if value]
        self.limits, self.metric_limits = (
            {
                name: value.value(metric=metric) if value else NOT_STATED
                for name, value in values.items()
            }
            for metric in (False, True)
        )
        self.has_metric_print = any(value.metric_print for value in stated)
        self.leaves = rule.requires.leaves
        self.says_how_much = any(leaf.operator is not None for leaf in self.leaves)
        """Yes and no have no margin."""
        self.telling = [not speaks_for_itself(leaf) for leaf in self.leaves]


class Settled(Protocol):
    """Knows when rules apply whatever differs from haul to haul."""

    def __call__(self, rule: Rule, subject: Subject | None, *, metric: bool) -> Number | None:
        """In which rows the rule applies; None where that rests on what differs."""


class Judging:
    """One rulebook on one day, held against a load whose rows are corners times hauls.

    `corners` is how many variants each haul has for the tolerances stated: row c * hauls + h of
    the load is variant c of haul h.
    """

    def __init__(
        self,
        facts: Facts,
        book: Rulebook,
        on: date,
        corners: int,
        near: float,
        applies: Number | None = None,
        settled: "Settled | None" = None,
    ) -> None:
        """Work out in which rows the rulebook applies, unless that is known already.

        `settled` knows when some of its rules apply.
        """
        self.facts = facts
        self.book = book
        self.on = on
        self.corners = corners
        self.near = near
        self.here = touches(book.jurisdiction, facts.load.trip.places)
        self.settled = settled
        self._terms: dict[str, _Terms] = {}
        self._metric: dict[tuple[str, Subject | None], bool] = {}
        self.applies: Number = self.here if applies is None else applies
        if applies is None and book.scope and book.scope.when and self.here != 0:
            env = self._env(book.scope, None, metric=False)
            self.applies = alike(both(self.here, book.scope.when.value(env)))

    def of_hauls(
        self, facts: Facts, corners: int, applies: Number | None, settled: Settled
    ) -> "Judging":
        """The same rulebook held against hauls of the loads that this one is held against.

        Where `applies` is None, whether it does is worked out from the facts of the hauls.
        """
        judging = Judging(facts, self.book, self.on, corners, self.near, applies, settled)
        judging._terms, judging._metric = self._terms, self._metric
        return judging

    def when(self, rule: Rule, subject: Subject | None, *, metric: bool) -> Number:
        """In which rows a rule that says so applies, if its rulebook does."""
        assert rule.when is not None
        return rule.when.value(self._env(rule, subject, metric=metric))

    def said(self, rule: Rule) -> Said:
        """One rule over all hauls; the worst of its subjects decides in each."""
        if isinstance(self.applies, float) and self.applies == 0:
            return Said(self.book, rule, _ALL_IDLE, _NO_MARGIN, _NOT_NEAR)
        subjects: list[Subject | None] = [None]
        if rule.for_each:
            subjects = list(self.facts.subjects(rule.for_each))
        if not subjects:
            return self._without_subjects(rule)
        worst = self._of_subject(rule, subjects[0])
        for subject in subjects[1:]:
            # Among subjects of one verdict the smallest margin decides, then the first of them.
            other = self._of_subject(rule, subject)
            closer = (other.codes == worst.codes) & (other.order < worst.order)
            worst = worst.unless(other, (other.codes < worst.codes) | closer)
        return Said(self.book, rule, once(worst.codes), worst.margins, once(worst.near))

    def _of_subject(self, rule: Rule, subject: Subject | None) -> _Judged:
        found = self._in_print(rule, subject, metric=False)
        if self._in_metric(rule, subject):
            other = self._in_print(rule, subject, metric=True)
            found = found.unless(other, other.codes < found.codes)
        return found

    def _in_metric(self, rule: Rule, subject: Subject | None) -> bool:
        """Whether the printed metric figures count too, because some number is stated so."""
        key = (rule.id, subject)
        if key not in self._metric:
            self._metric[key] = self._terms_of(rule).has_metric_print and any(
                origin.metric
                for name in rule.facts
                for origin in self.facts.origins(name, subject).values()
            )
        return self._metric[key]

    def _terms_of(self, rule: Rule) -> _Terms:
        if rule.id not in self._terms:
            self._terms[rule.id] = _Terms(rule, self.on)
        return self._terms[rule.id]

    def _in_print(self, rule: Rule, subject: Subject | None, *, metric: bool) -> _Judged:
        env = self._env(rule, subject, metric=metric)
        applies = self.applies
        if rule.when is not None:
            when = self.settled(rule, subject, metric=metric) if self.settled else None
            applies = alike(both(applies, rule.when.value(env) if when is None else when))
        if isinstance(applies, float) and applies == 0:
            return _Judged(_ALL_IDLE, _FAR, _NO_MARGIN, _NOT_NEAR)
        terms = self._terms_of(rule)
        if self.corners == 1 and not terms.says_how_much:
            codes = _codes(applies, rule.requires.value(env))
            return _Judged(codes, _FAR, _NO_MARGIN, _NOT_NEAR)
        truth, margin, leaf = rule.requires.judged(env)
        if isinstance(applies, float) and isinstance(truth, float) and isinstance(margin, float):
            return self._of_all(rule, applies, truth, margin, int(leaf), env)
        codes = _codes(applies, truth)
        order = margins = np.atleast_1d(margin)
        if not np.isfinite(margins).all():
            order = np.where(np.isnan(margins), np.inf, margins)
            margins = np.where(np.isfinite(margins), margins, np.nan)
        relative = [is_relative(each, env) for each in terms.leaves]
        leaves = np.atleast_1d(leaf).astype(np.intp) if len(relative) > 1 else _FIRST
        near = self._near(rule, margins, leaves, relative)
        found = _Judged(codes, order, shares(margins, leaves, relative), near)
        if self.corners > 1 and max(len(column) for column in found) > 1:
            found = self._over_corners(found, truth)
        idle = found.codes == IDLE
        order = np.where(idle, np.inf, found.order) if idle.any() else found.order
        near = found.near & (found.codes == MET) if found.near.any() else _NOT_NEAR
        return found._replace(order=order, near=near)

    def _of_all(
        self,
        rule: Rule,
        applies: float,
        truth: float,
        margin: float,
        leaf: int,
        env: Mapping[str, Number],
    ) -> _Judged:
        """What holds of all rows alike, in plain floats."""
        code = UNKNOWN
        if applies == 1 and truth in (0, 1):
            code = MET if truth else NOT_MET
        terms = self._terms_of(rule)
        relative = everywhere(is_relative(terms.leaves[leaf], env)) and math.isfinite(margin)
        near = code == MET and relative and at_least(self.near, margin) == 1
        near = near and not rule.usual_at_limit
        return _Judged(
            np.array([code], dtype=_CODE),
            np.array([math.inf if math.isnan(margin) else margin]),
            np.array([margin if relative else math.nan]),
            np.array([near and terms.telling[leaf]]),
        )

    def _near(
        self,
        rule: Rule,
        margins: Numbers,
        leaf: NDArray[np.intp],
        relative: Sequence["Flags | bool"],
    ) -> Flags:
        """Where a margin leaves no more than the share asked about, and that says something."""
        if rule.usual_at_limit or not (margins <= self.near * _A_LITTLE_MORE).any():
            return _NOT_NEAR
        near = np.atleast_1d(np.equal(at_least(self.near, margins), 1))
        for place, telling in enumerate(self._terms_of(rule).telling):
            told = relative[place] if telling else False
            if not everywhere(told):
                near = near & ((leaf != place) | told)
        return near

    def _env(self, rule: Rule, subject: Subject | None, *, metric: bool) -> "_Env":
        terms = self._terms_of(rule)
        return _Env(self.facts, subject, terms.metric_limits if metric else terms.limits)

    def _over_corners(self, found: _Judged, truth: Number) -> _Judged:
        """One verdict a haul from those of its corners, with the worst corner's margin."""
        hauls = self.facts.load.rows // self.corners
        shape = (self.corners, hauls)
        codes = found.codes if found.codes.size == 1 else _of_corners(found.codes.reshape(shape))
        # What decides is looked for in all corners, also in those where the rule does not apply:
        # among those of the worst verdict the first of the smallest margin.
        order: Numbers = np.broadcast_to(found.order, self.corners * hauls).reshape(shape)
        if not isinstance(truth, float):
            rank = np.where(np.isnan(truth), 0.5, truth).reshape(shape)
            lowest = rank == rank.min(axis=0)
            order = np.where(lowest, np.minimum(order, _LARGEST), np.inf)
        worst = order.argmin(axis=0) * hauls + np.arange(hauls)
        return _Judged(
            codes, at(found.order, worst), at(found.margins, worst), at(found.near, worst)
        )

    def _without_subjects(self, rule: Rule) -> Said:
        """Nothing to judge: known to be none, or a list that the profile does not state."""
        known_empty = rule.for_each == "tiedown" and self.facts.load.tiedowns is not None
        applies = np.atleast_1d(self.applies)
        if applies.size > 1:
            applies = applies.reshape(self.corners, -1).max(axis=0)
        codes = np.where(known_empty | (applies == 0), IDLE, UNKNOWN).astype(np.int8)
        return Said(self.book, rule, codes, _NO_MARGIN, _NOT_NEAR)


_A_LITTLE_MORE = 1.001  # than the tolerance of comparisons
_CODE = np.int8
_MET, _NOT_MET, _UNKNOWN, _TOO_CLOSE, _IDLE = map(_CODE, (MET, NOT_MET, UNKNOWN, TOO_CLOSE, IDLE))
_ALL_IDLE = np.full(1, IDLE, dtype=_CODE)
_FIRST = np.zeros(1, dtype=np.intp)
_FAR = np.full(1, np.inf)
_LARGEST = np.finfo(float).max
_NO_MARGIN = np.full(1, np.nan)
_NOT_NEAR = np.zeros(1, dtype=bool)


def _of_corners(codes: Codes) -> Codes:
    """The verdict of each haul from those of its corners, a row of them each."""
    first: Codes = codes[0]
    if (codes == first).all():
        return first
    broken = codes == NOT_MET
    told: Codes = np.select(
        [
            (codes == UNKNOWN).any(axis=0),
            (codes == IDLE).all(axis=0),
            ~broken.any(axis=0),
            broken.all(axis=0),
        ],
        [_UNKNOWN, _IDLE, _MET, _NOT_MET],
        _TOO_CLOSE,
    )
    return told


def alike(truth: Number) -> Number:
    """One truth where all rows agree: most rulebooks apply to all hauls of a load or to none."""
    if isinstance(truth, float):
        return truth
    first = truth.flat[0]
    return float(first) if (truth == first).all() else truth


def _codes(applies: Number, truth: Number) -> Codes:
    """The verdict of each row from whether the rule applies and whether it holds."""
    known: Codes | np.int8 = _MET
    holds = np.equal(truth, 1)
    if not holds.all():
        known = np.where(holds, _MET, np.where(np.equal(truth, 0), _NOT_MET, _UNKNOWN))
    if not isinstance(applies, float) or applies != 1:
        known = np.where(np.equal(applies, 1), known, _UNKNOWN)
        known = np.where(np.equal(applies, 0), _IDLE, known)
    return np.atleast_1d(known)
