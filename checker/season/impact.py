"""What a change of the rules does to saved loads: the same loads under two sets of rules."""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import PurePath

from msgspec.structs import replace

from checker.evaluation.evaluator import evaluators
from checker.evaluation.outcome import OUTCOMES, Outcome, OutcomeRows
from checker.evaluation.rule_rows import MET, VERDICTS, RuleRows
from checker.evaluation.tolerances import load_with_corners
from checker.facts.view import Facts
from checker.load.build import Profile
from checker.rulebooks.model import Change, Rule, Rulebooks
from checker.rulebooks.verdicts import Verdict


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
    loads: Iterable[tuple[Profile, Sequence[date]]], before: Rulebooks, after: Rulebooks
) -> Impact:
    """Hold each load on its days against both sets of rules and list what differs."""
    shifts: list[Shift] = []
    turned: list[Turned] = []
    nearest: list[Near] = []
    judged = 0
    for profile, days in loads:
        judged += 1
        for day in days:
            old = _Answer(profile, before, day)
            new = _Answer(profile, after, day, old.evaluated.facts)
            shifts += _shifts(old, new)
            nearest += _met_by_little(new)
            if old.outcome is not new.outcome:
                turned.append(Turned(*new.where, old.outcome, new.outcome))
    nearest.sort(key=lambda each: each.margin)
    return Impact(judged, tuple(shifts), tuple(turned), tuple(nearest))


class _Answer:
    """What every rule in reach, and the whole load, come to under one set of rules."""

    def __init__(
        self, profile: Profile, rulebooks: Rulebooks, on: date, facts: Facts | None = None
    ) -> None:
        """`facts` are those of the same profile under another set of rules."""
        load = load_with_corners(profile, rulebooks, on)
        self.where = load.title, load.file, on
        self.evaluated = evaluators(load, rulebooks, on, corners=load.rows, facts=facts)
        self.rules: dict[str, RuleRows] = {}
        outcome = OutcomeRows(1)
        for evaluator in self.evaluated.in_reach():
            for rule in evaluator.book.rules:
                rows = self.rules[rule.id] = evaluator.rule_rows(rule)
                outcome.add(rows)
        (code,) = outcome.outcomes(load, rulebooks, on)
        self.outcome = OUTCOMES[code]

    def verdict(self, rule_id: str) -> Verdict | None:
        """What a rule comes to; None where it is not asked."""
        rows = self.rules.get(rule_id)
        return VERDICTS[rows.verdicts[0]] if rows else None


def _shifts(old: _Answer, new: _Answer) -> Iterator[Shift]:
    repealed = {rule.id: change for rule, change in new.evaluated.repealed}
    for rule_id in dict.fromkeys((*old.rules, *new.rules)):
        before, after = old.verdict(rule_id), new.verdict(rule_id)
        if before is after:
            continue
        if rule_id in new.rules:
            rule = new.rules[rule_id].rule
            changes = _changes(rule, new.where[-1])
        else:
            rule = old.rules[rule_id].rule
            changes = (repealed[rule_id],) if rule_id in repealed else ()
        yield Shift(*new.where, rule, before, after, changes)


def _changes(rule: Rule, on: date) -> tuple[Change, ...]:
    """The amendments behind the thresholds that a rule has on a day."""
    thresholds = rule.thresholds.values()
    values = [threshold.on(on) for threshold in thresholds]
    named = [value.change for value in values if value]
    named += [threshold.open_change for threshold in thresholds]
    return tuple(dict.fromkeys(change for change in named if change is not None))


def _met_by_little(answer: _Answer) -> Iterator[Near]:
    for rows in answer.rules.values():
        margin = float(rows.margins[0])
        is_met = rows.verdicts[0] == MET and not math.isnan(margin)
        if is_met and _changes(rows.rule, answer.where[-1]):
            yield Near(*answer.where, rows.rule, margin)
