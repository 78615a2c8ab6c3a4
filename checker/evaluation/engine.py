"""A load and the rulebooks in force on a day: one finding for every rule."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from datetime import date
from enum import StrEnum

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from checker.evaluation.variances import EXCUSABLE, Standing, granted, standing
from checker.facts.catalogue import Fact, catalogue
from checker.facts.view import Facts, Subject
from checker.load.model import Load, Origin, Variance
from checker.load.plausible.reading import Doubt
from checker.rulebooks.formula import Formula, Governing
from checker.rulebooks.jurisdictions import touches
from checker.rulebooks.layering import rules_in_force
from checker.rulebooks.model import Change, DatedValue, Rule, Rulebook, Rulebooks
from checker.rulebooks.unread_jurisdictions import law_was_not_read, unread_jurisdictions
from checker.rulebooks.verdicts import Judgement, Verdict, judge, worst
from checker.units.arithmetic import Number, both


class Outcome(StrEnum):
    """What a whole check comes to, judged by its must-rules alone."""

    HOLD = "hold"
    OPEN = "open"
    NO_RULE_BROKEN = "no rule broken"


class FactUsed(Struct, frozen=True):
    """A fact a rule looked at, as seen from what the finding is about: its value in every row."""

    fact: Fact
    value: Number
    subject: Subject | None
    facts: Facts

    @property
    def origins(self) -> Mapping[str, Origin]:
        """Where its fields stand, worked out when asked for."""
        return self.facts.origins(self.fact.name, self.subject)


class Shown(Struct, frozen=True):
    """An extra figure a rule gives for the report."""

    label: str
    value: float
    formula: Formula


class Finding(Struct, frozen=True):
    """What one rule says of the load, and everything needed to follow it.

    `subject` is the article, tiedown or axle that decides; `subjects` holds every one with its
    own verdict. `missing` names the profile fields an undecided rule waits for.
    """

    rule: Rule
    book: Rulebook
    verdict: Verdict
    subject: Subject | None
    subjects: tuple[tuple[Subject, Verdict], ...]
    governing: Governing | None
    facts: tuple[FactUsed, ...]
    thresholds: tuple[tuple[str, DatedValue], ...]
    shows: tuple[Shown, ...]
    missing: tuple[str, ...]
    reason: str | None
    metric_print: bool
    settled_by: str | None
    """The field whose tolerance matters most to a rule that is too close to call."""
    variance: Variance | None = None
    """A permission, in force on the day, to go against the rule where it is not met."""

    @property
    def margin(self) -> float | None:
        """Distance to the limit as a share of it; None for answers and where nothing decides."""
        deciding = self.governing
        if deciding is None or not deciding.relative or not np.isfinite(deciding.margin):
            return None
        return deciding.margin


class InForce(Struct, frozen=True):
    """Whether a rulebook applied to the load, and why not where it did not."""

    book: Rulebook
    verdict: Verdict
    missing: tuple[str, ...]
    elsewhere: bool  # the trip does not touch the place where the rulebook holds

    @property
    def because(self) -> str:
        """Why the rulebook was left out, in words."""
        if self.elsewhere:
            return f"the trip does not touch {self.book.jurisdiction}"
        return self.book.scope.because if self.book.scope else ""


class Check(Struct, frozen=True):
    """One load held against rulebooks on a day.

    `variances` are those the profile states, `changes` those of amendments on that day and trip,
    `unread` the places for which no rulebook was read; `doubts` decide nothing.
    """

    load: Load
    on: date
    outcome: Outcome
    in_force: tuple[InForce, ...]
    findings: tuple[Finding, ...]
    tables: tuple[tuple[str, str], ...]
    variances: tuple[tuple[Variance, Standing], ...]
    changes: tuple[Change, ...]
    repealed: tuple[tuple[Rule, Change], ...]
    unread: tuple[str, ...]
    facts: Facts
    doubts: tuple[Doubt, ...] = ()


def check(load: Load, rulebooks: Rulebooks, on: date) -> Check:
    """Hold a load against the rulebooks of where it goes, with the values in force on a day.

    Every rule of those yields a finding; the rules of other places are not asked.
    """
    facts = Facts(load, rulebooks.unmarked_on(on))
    rules = rules_in_force(rulebooks, load.trip.places, on)
    in_force, findings = [], []
    for book in rules.books:
        engine = _Judging(facts, book, on)
        in_force.append(engine.in_force)
        if not engine.in_force.elsewhere:
            findings += [_excused(engine.finding(rule), load, on) for rule in book.rules]
    excused = {finding.rule.id for finding in findings if finding.variance}
    variances = tuple(
        (each, standing(each, on, in_use=each.rule in excused)) for each in load.variances
    )
    unread = unread_jurisdictions(load.trip.places, rulebooks)
    return Check(
        load=load,
        on=on,
        outcome=_outcome(variances, findings, law_was_not_read(unread, rulebooks)),
        variances=variances,
        in_force=tuple(in_force),
        findings=tuple(findings),
        tables=tuple((table.id, table.digest) for table in rulebooks.tables),
        changes=rules.changes,
        repealed=rules.repealed,
        unread=unread,
        facts=facts,
    )


def judge_each(
    load: Load, rulebooks: Rulebooks, on: date, wanted: Callable[[Rule], bool]
) -> Iterator[tuple[Rulebook, Rule, list[Judgement]]]:
    """The wanted rules held against every row of a load: one judgement per subject, no findings.

    For whoever varies a load over many rows and asks what each rule says of each row.
    """
    facts = Facts(load, rulebooks.unmarked_on(on))
    for book in rules_in_force(rulebooks, load.trip.places, on).books:
        rules = [rule for rule in book.rules if wanted(rule)]
        if rules:
            engine = _Judging(facts, book, on)
            for rule in rules:
                yield book, rule, [judgement for _, judgement in engine.judged(rule)]


def _excused(finding: Finding, load: Load, on: date) -> Finding:
    """The finding with the variance that excuses it, if there is one."""
    if finding.verdict not in EXCUSABLE:
        return finding
    return replace(finding, variance=granted(load, finding.rule, on))


def _outcome(
    variances: Iterable[tuple[Variance, Standing]],
    findings: Iterable[Finding],
    law_missing: bool,  # noqa: FBT001 - the third thing that an outcome rests on
) -> Outcome:
    """Hold when a must-rule is not met or a variance is out of date; open when one is undecided.

    What a variance excuses decides nothing.
    """
    out_of_date = (Standing.EXPIRED, Standing.NOT_BEGUN)
    verdicts = {
        finding.verdict
        for finding in findings
        if finding.rule.level == "must" and finding.variance is None
    }
    if Verdict.NOT_MET in verdicts or any(each in out_of_date for _, each in variances):
        return Outcome.HOLD
    # A check in which no must-rule was met has looked at nothing, and that is not a pass.
    undecided = law_missing or Verdict.MET not in verdicts
    if undecided or verdicts & {Verdict.TOO_CLOSE, Verdict.NOT_STATED}:
        return Outcome.OPEN
    return Outcome.NO_RULE_BROKEN


def deciding_fields(findings: Iterable[Finding], most: int = 5) -> list[tuple[str, int]]:
    """The few missing fields that would let the most undecided rules be decided.

    Greedy: the field that stands in most rules' gaps first. The count is of rules whose whole gap
    is closed once this field and those before it are stated, at least one by each.
    """
    gaps = [set(finding.missing) for finding in findings if finding.missing]
    chosen: list[tuple[str, int]] = []
    while gaps and len(chosen) < most:
        weight: dict[str, float] = {}
        for gap in gaps:
            for field in gap:
                weight[field] = weight.get(field, 0.0) + 1.0 / len(gap)
        best = max(sorted(weight), key=lambda field: weight[field])
        for gap in gaps:
            gap.discard(best)
        chosen.append((best, sum(not gap for gap in gaps)))
        gaps = [gap for gap in gaps if gap]
    return chosen


class _Judging:
    """One rulebook held against the facts of one load on one day."""

    def __init__(self, facts: Facts, book: Rulebook, on: date) -> None:
        self.facts = facts
        self.book = book
        self.on = on
        self.known = catalogue()
        self.scope: Judgement | None = None
        here = touches(book.jurisdiction, facts.load.trip.places)
        self.applies: Number = here
        missing: tuple[str, ...] = () if here == here else ("trip.places",)
        verdict = {1.0: Verdict.MET, 0.0: Verdict.DOES_NOT_APPLY}.get(here, Verdict.NOT_STATED)
        if book.scope and book.scope.when and here != 0:
            self.scope = self._judged(book.scope, None, here)
            verdict = self.scope.verdict
            missing += self._missing(book.scope, None, self.scope)
            self.applies = both(here, book.scope.when.value(self.scope.env))
        self.in_force = InForce(book, verdict, tuple(dict.fromkeys(missing)), here == 0)

    def _judged(self, rule: Rule, subject: Subject | None, in_force: Number) -> Judgement:
        env = {name: self.facts.value(name, subject) for name in rule.facts}
        origins = (
            origin for name in rule.facts for origin in self.facts.origins(name, subject).values()
        )
        metric = any(origin.metric for origin in origins) if _has_metric_print(rule) else False
        return judge(rule, env, self.on, in_force=in_force, metric=metric)

    def judged(self, rule: Rule) -> list[tuple[Subject | None, Judgement]]:
        """A rule held against each of its subjects."""
        subjects: list[Subject | None] = [None]
        if rule.for_each:
            subjects = list(self.facts.subjects(rule.for_each))
        return [(each, self._judged(rule, each, self.applies)) for each in subjects]

    def finding(self, rule: Rule) -> Finding:
        """Judge a rule for each of its subjects; the worst of them governs."""
        judged = self.judged(rule)
        if not judged:
            return self._without_subjects(rule)
        verdict = worst([judgement.verdict for _, judgement in judged])
        deciding = [pair for pair in judged if pair[1].verdict is verdict]
        subject, judgement = min(deciding, key=lambda pair: _margin(pair[1]))
        return Finding(
            rule=rule,
            book=self.book,
            verdict=verdict,
            subject=subject,
            subjects=tuple((each, found.verdict) for each, found in judged if each),
            governing=judgement.governing,
            facts=tuple(
                FactUsed(self.known[name], judgement.env[name], subject, self.facts)
                for name in rule.facts
            ),
            thresholds=tuple(
                (name, value) for name, value in judgement.thresholds.items() if value
            ),
            shows=tuple(_shown(rule, judgement)) if verdict in _SHOWN else (),
            missing=self._missing(rule, subject, judgement),
            reason=self._reason(rule, judgement),
            metric_print=judgement.metric_print,
            settled_by=_settled_by(rule, judgement, self.facts.load),
        )

    def _without_subjects(self, rule: Rule) -> Finding:
        """Nothing to judge: known to be none, or a list that the profile does not state."""
        fields = {"article": "articles", "tiedown": "tiedowns", "axle": "trailer.axles"}
        field = fields[rule.for_each or "article"]
        known_empty = rule.for_each == "tiedown" and self.facts.load.tiedowns is not None
        not_in_force = self.in_force.verdict is Verdict.DOES_NOT_APPLY
        idle = known_empty or not_in_force
        verdict = Verdict.DOES_NOT_APPLY if idle else Verdict.NOT_STATED
        return Finding(
            rule=rule,
            book=self.book,
            verdict=verdict,
            subject=None,
            subjects=(),
            governing=None,
            facts=(),
            thresholds=(),
            shows=(),
            missing=(field,) if verdict is Verdict.NOT_STATED else (),
            reason=None,
            metric_print=False,
            settled_by=None,
        )

    def _missing(
        self, rule: Rule, subject: Subject | None, judgement: Judgement
    ) -> tuple[str, ...]:
        """The fields an undecided rule waits for, those of its rulebook's scope first."""
        if judgement.verdict is not Verdict.NOT_STATED:
            return ()
        found: list[str] = []
        if rule is not self.book.scope:
            found += self.in_force.missing
        when = rule.when.value(judgement.env) if rule.when else 1.0
        names = rule.facts
        if rule.when and np.any(np.isnan(when)):
            # Whether it applies comes first; what it requires may never be asked.
            names = tuple(name for name in names if name in rule.when.names)
        for name in names:
            found += self.facts.missing(name, subject)
        return tuple(dict.fromkeys(found))

    def _reason(self, rule: Rule, judgement: Judgement) -> str | None:
        """Why a rule was left undecided or out, where it is not for want of a fact."""
        if self.in_force.verdict is Verdict.DOES_NOT_APPLY:
            return self.in_force.because
        if judgement.verdict is not Verdict.NOT_STATED:
            return None
        for name, value in judgement.thresholds.items():
            if value is None:
                return _no_value(rule, name, self.on)
        return None


_SHOWN = (Verdict.MET, Verdict.NOT_MET, Verdict.TOO_CLOSE)


def _has_metric_print(rule: Rule) -> bool:
    return any(v.metric_print for each in rule.thresholds.values() for v in each.values)


def _margin(judgement: Judgement) -> float:
    """Order of subjects with the same verdict: the smallest margin decides."""
    if judgement.governing is None or np.isnan(judgement.governing.margin):
        return float("inf")
    return judgement.governing.margin


def _settled_by(rule: Rule, judgement: Judgement, load: Load) -> str | None:
    """The field with a tolerance whose two ends move the rule's margin the farthest apart."""
    if judgement.verdict is not Verdict.TOO_CLOSE:
        return None
    margins = np.broadcast_to(rule.requires.margins(judgement.env), (load.rows,))
    if rule.when is not None and np.all(margins == margins[0]):
        margins = np.broadcast_to(rule.when.margins(judgement.env), (load.rows,))

    def spread(field: str) -> float:
        values = np.asarray(load.varied[field])
        high, low = margins[values > values[0]], margins[values < values[0]]
        both_ends = high.size and low.size
        return abs(float(np.mean(high) - np.mean(low))) if both_ends else 0.0

    return max(sorted(load.varied), key=spread, default=None)


def _shown(rule: Rule, judgement: Judgement) -> Iterator[Shown]:
    for label, formula in rule.shows.items():
        value = float(np.atleast_1d(formula.value(judgement.env))[0])
        if not np.isnan(value):
            yield Shown(label, value, formula)


def _no_value(rule: Rule, name: str, on: date) -> str:
    """Say which value was the last or will be the first, with its source."""
    change, values = rule.thresholds[name].open_change, rule.thresholds[name].values
    if change is not None:
        if change.value is None:
            return (
                f"'{name}' changes on {change.starts} to a figure not yet known ({change.citation})"
            )
        return f"not known whether {change.amendment.id} changes '{name}' on this trip"
    earlier = [value for value in values if value.starts <= on]
    nearest = earlier[-1] if earlier else values[0]
    word = f"until {nearest.ends}" if earlier else f"from {nearest.starts}"
    return (
        f"no value of '{name}' on {on}; the nearest is {nearest.text} {word} ({nearest.citation})"
    )
