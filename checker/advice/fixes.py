"""For each rule that is not met: the smallest change of one thing that would meet it."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cached_property
from itertools import chain

import numpy as np
from msgspec import Struct

from checker.advice.adjustment_search import Change, Search, Span
from checker.advice.adjustments import adjustments
from checker.evaluation.check import Check
from checker.evaluation.finding import Finding
from checker.evaluation.rule_rows import Flags, RuleRows
from checker.load.build import Profile
from checker.rulebooks.model import Rule, Rulebooks
from checker.rulebooks.verdicts import Verdict
from checker.units.arithmetic import NOT_STATED


class Fix(Struct, frozen=True):
    """A change of one thing that meets a rule.

    `kind`: "move" (metres from where it stands, rearward positive), "lighten" (greatest weight in
    N) or "strengthen" (least working load limit in N of each tiedown). `breaks` names must-rules
    that would then no longer be met.
    """

    kind: str
    article: str
    value: float
    breaks: tuple[Rule, ...]
    meets: frozenset[str] = frozenset()
    """Ids of the must-rules broken today that this one change would meet."""
    to: float = NOT_STATED
    """The value the field would have; of a move where the front of the article would stand."""


class FixesOnDemand(Mapping[str, tuple[Fix, ...]]):
    """Fixes by rule id, searched for when a report looks for the first one.

    The search costs as much as the check, and not every report prints what it finds.
    """

    def __init__(self, profile: Profile, done: Check, rulebooks: Rulebooks) -> None:
        """Hold what the search needs."""
        self._search = profile, done, rulebooks

    @cached_property
    def _found(self) -> Mapping[str, tuple[Fix, ...]]:
        return fixes(*self._search)

    def __getitem__(self, rule: str) -> tuple[Fix, ...]:
        return self._found[rule]

    def __iter__(self) -> Iterator[str]:
        return iter(self._found)

    def __len__(self) -> int:
        return len(self._found)


def fixes(profile: Profile, done: Check, rulebooks: Rulebooks) -> dict[str, tuple[Fix, ...]]:
    """Fixes by rule id, for every rule that is not met."""
    broken = [each for each in done.findings if each.verdict is Verdict.NOT_MET]
    return fixes_of(broken, profile, done, rulebooks)


def fixes_of(
    broken: Sequence[Finding], profile: Profile, done: Check, rulebooks: Rulebooks
) -> dict[str, tuple[Fix, ...]]:
    """Fixes by rule id, for some of the rules that are not met; those that break nothing first."""
    behind = {each.rule.id: fields_behind(each, done) for each in broken}
    spans = [
        Span(adjustment, candidates, moved)
        for adjustment in adjustments(profile)
        if (moved := frozenset(name for name in behind if adjustment.fields & behind[name]))
        for candidates in map(adjustment.within_reach, adjustment.candidates)
    ]
    search = Search(spans, profile, rulebooks, done.on)
    changes = _smallest(chain.from_iterable(search.first(_met)))
    found: dict[str, list[Fix]] = {each.rule.id: [] for each in broken}
    for change, (breaks, meets) in zip(changes, _after(search, changes, done), strict=True):
        found[change.rule].append(_fix(change, breaks, meets))
    return {
        name: tuple(sorted(offered, key=lambda fix: bool(fix.breaks)))
        for name, offered in found.items()
        if offered
    }


def fields_behind(finding: Finding, done: Check) -> set[str]:
    """Fields of a load profile that the facts of a rule use, for the deciding subject."""
    subject = finding.subject
    return {path for name in finding.rule.facts for path in done.facts.fields(name, subject)}


def _smallest(changes: Iterable[Change]) -> list[Change]:
    """Of the changes of each rule by each adjustment, the one nearest to today's value."""
    nearest: dict[tuple[int, str], Change] = {}
    for each in changes:
        key = (id(each.adjustment), each.rule)
        if key not in nearest or abs(each.by) < abs(nearest[key].by):
            nearest[key] = each
    return list(nearest.values())


def _fix(change: Change, breaks: tuple[Rule, ...], meets: frozenset[str]) -> Fix:
    kind, article = change.adjustment.kind, change.adjustment.article
    value = change.by if kind == "move" else change.value
    return Fix(kind, article, value, breaks, meets | {change.rule}, change.value)


def _after(
    search: Search, changes: Sequence[Change], done: Check
) -> Iterator[tuple[tuple[Rule, ...], frozenset[str]]]:
    """For each change, the must-rules that it breaks, and those broken today that it meets."""
    if not changes:
        return
    today = {each.rule.id for each in done.findings if each.verdict is Verdict.NOT_MET}
    rows = search.at(
        np.array([each.position for each in changes]), lambda rule: rule.level == "must"
    )
    broken = [(each.rule, each.are(Verdict.NOT_MET)) for each in rows if each.rule.id not in today]
    mended = [(each.rule.id, each.satisfied) for each in rows if each.rule.id in today]
    for row in range(len(changes)):
        yield (
            tuple(rule for rule, at in broken if at[row]),
            frozenset(name for name, at in mended if at[row]),
        )


def _met(rows: RuleRows) -> Flags:
    """True where a rule is met: that it no longer applies, to a pound less, mends nothing."""
    return rows.are(Verdict.MET)
