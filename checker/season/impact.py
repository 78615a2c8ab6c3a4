"""What a change of the rules does to saved loads: the same loads under two sets of rules."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import PurePath

from msgspec.structs import replace

from checker.evaluation.check import Check, Finding
from checker.evaluation.outcome import Outcome
from checker.evaluation.tolerances import check_profile
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
    """Hold each load on its days against both sets of rules and tell what differs."""
    shifts: list[Shift] = []
    turned: list[Turned] = []
    nearest: list[Near] = []
    judged = 0
    for profile, days in loads:
        judged += 1
        for day in days:
            old = check_profile(profile, before, day)
            new = check_profile(profile, after, day)
            shifts += _shifts(old, new)
            nearest += _met_by_little(new)
            if old.outcome is not new.outcome:
                where = (new.load.title, new.load.file, day)
                turned.append(Turned(*where, old.outcome, new.outcome))
    nearest.sort(key=lambda each: each.margin)
    return Impact(judged, tuple(shifts), tuple(turned), tuple(nearest))


def _shifts(old: Check, new: Check) -> Iterator[Shift]:
    said_before = {finding.rule.id: finding for finding in old.findings}
    said_after = {finding.rule.id: finding for finding in new.findings}
    repealed = {rule.id: change for rule, change in new.repealed}
    for rule_id in dict.fromkeys((*said_before, *said_after)):
        one, other = said_before.get(rule_id), said_after.get(rule_id)
        before = one.verdict if one else None
        after = other.verdict if other else None
        either = other or one
        assert either is not None
        if before is after:
            continue
        changes = _changes(other) if other else (repealed[rule_id],) if rule_id in repealed else ()
        yield Shift(new.load.title, new.load.file, new.on, either.rule, before, after, changes)


def _changes(finding: Finding) -> tuple[Change, ...]:
    thresholds = finding.rule.thresholds.values()
    named = [value.change for _, value in finding.thresholds]
    named += [threshold.open_change for threshold in thresholds]
    return tuple(dict.fromkeys(change for change in named if change is not None))


def _met_by_little(check: Check) -> Iterator[Near]:
    for finding in check.findings:
        if finding.verdict is Verdict.MET and finding.margin is not None and _changes(finding):
            title, file = check.load.title, check.load.file
            yield Near(title, file, check.on, finding.rule, finding.margin)
