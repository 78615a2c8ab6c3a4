"""The results of an audit in the order in which every report lists them."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from checker.evaluation.outcome import Outcome
from checker.load.plausible.titles import doubt_title
from checker.reports.shared.haul_command import HaulCommands
from checker.reports.shared.log_remarks import log_remarks
from checker.reports.shared.rate_words import rank
from checker.reports.shared.statement import StatementDetails
from checker.reports.shared.words import number_of
from checker.rulebooks.model import Rule
from checker.rulebooks.rule_text import Side, with_figures
from checker.rulebooks.verdicts import Verdict
from checker.season.audit import Audit
from checker.season.odd_days import month_groups, odd_months
from checker.season.records.evidence import ListedHauls
from checker.season.records.workings import Working
from checker.season.totals import MOST_REMEMBERED, RuleTally, Tally, WorstHaul
from checker.units.formatting import Units

NOTHING_JUDGED = "No haul was checked: that is no verdict on any"
NO_RULE_MET = "no must-rule was met"
NO_RULEBOOK, DOUBTFUL = "no rulebook read for", "doubtful figure:"
NOT_LOOKED_AT = "not looked at in"
FAR_DAY = "date far from the others, in"
"""The warnings of an audit, beside the outcomes of its hauls."""


@dataclass(frozen=True, slots=True)
class AuditRun:
    """An audit, the options of its reports, and the workings of some of its hauls by row.

    `compared` is the comparison with an earlier audit as JSON, and `differs` in words: headings, or
    none for a remark, with the lines under each.
    """

    audit: Audit
    units: Units
    version: str
    workings: Mapping[int, Working] = field(default_factory=dict)
    compared: Mapping[str, Any] | None = None
    differs: Sequence[tuple[str, Sequence[str]]] = ()
    held: ListedHauls | None = None
    """Every haul on hold or open; None where no report needs them."""
    commands: HaulCommands = field(default_factory=HaulCommands)
    statement: StatementDetails = field(default_factory=StatementDetails)


@dataclass(frozen=True, slots=True)
class RuleCount:
    """A rule, and the number of hauls with each verdict."""

    rule: Rule
    tally: RuleTally

    @property
    def asked(self) -> int:
        """The number of hauls that the rule applies to."""
        return sum(self.tally.verdicts) - self.tally.of(Verdict.DOES_NOT_APPLY)

    @property
    def statement(self) -> str:
        """The title as it reads where the rule is broken, by the side if all hauls are on one."""
        sides = self._sides
        return self.broken_on(sides[0] if len(sides) == 1 else None)

    @property
    def title(self) -> str:
        """The title with the figures that were in force in the hauls."""
        return self._printed(self.rule.text.title)

    @property
    def broken_title(self) -> str:
        """The title as it reads where the rule is broken, on either side."""
        return self.broken_on(None)

    def broken_on(self, side: Side | None) -> str:
        """The title as it reads where the rule is broken with a value on this side of its limit."""
        return self._printed(self.rule.text.when_broken(side))

    def action_on(self, side: Side | None) -> str:
        """What to do where it is broken on one side of its limit."""
        return self._printed(self.rule.text.fix_for(side))

    def _printed(self, text: str) -> str:
        """The text with its figures: where several were in force, the one of most hauls first."""
        found = {
            name: " or ".join(each for each, _ in most_first(texts))
            for name, texts in self.tally.figures.items()
        }
        return with_figures(text, {**self.rule.last_figures, **found})

    @property
    def _sides(self) -> list[Side]:
        """The sides of the limit on which hauls were, the more frequent one first."""
        hauls = {Side.BELOW: self.tally.below, Side.ABOVE: self.tally.above}
        return sorted((side for side in hauls if hauls[side]), key=lambda side: -hauls[side])

    @property
    def actions(self) -> list[str]:
        """What to do about the hauls in which the rule was broken, by the side of its limit.

        Where hauls were on both sides each action says for how many, the more frequent one first.
        """
        if not self.tally.broken:
            return []
        hauls = {Side.BELOW: self.tally.below, Side.ABOVE: self.tally.above}
        sides = self._sides
        fixes = [self.action_on(side) for side in sides or (None,)]
        if len(set(fixes)) == 1:
            return fixes[:1]
        return [
            f"{number_of(hauls[side], 'haul')} {side} the limit: {fix}"
            for side, fix in zip(sides, fixes, strict=True)
        ]

    @property
    def undecided(self) -> int:
        """The number of hauls in which the rule could not be decided."""
        return self.tally.of(Verdict.NOT_STATED) + self.tally.of(Verdict.TOO_CLOSE)


def rule_counts(audit: Audit) -> list[RuleCount]:
    """Every counted rule, in the order of the rulebooks."""
    tallies = audit.totals.rules
    return [
        RuleCount(rule, tallies[rule.id])
        for book in audit.rulebooks.books
        for rule in book.rules
        if rule.id in tallies
    ]


def warning_counts(audit: Audit) -> list[tuple[str, str, int]]:
    """Law not read, doubtful figures and dates, names that are alike: what, which, hauls."""
    unread = most_first(audit.totals.unread)
    figures = most_first(audit.totals.doubtful)
    months = audit.totals.by["month"]
    return [
        *((NO_RULEBOOK, jurisdiction, number) for jurisdiction, number in unread),
        *_subjects_not_read(audit),
        *((DOUBTFUL, doubt_title(name), number) for name, number in figures),
        *((FAR_DAY, name, months[name].hauls) for name in odd_months(months)),
        *log_remarks(audit),
    ]


def doubtful_rows(audit: Audit) -> list[tuple[str, str, int, str]]:
    """The first rows with each doubtful figure or date: what and which, the row, what it states."""
    totals = audit.totals
    figures = [
        (DOUBTFUL, doubt_title(name), row, words)
        for name, _ in most_first(totals.doubtful)
        for row, words in sorted(totals.doubt_words[name].items())
    ]
    days = [
        (FAR_DAY, month, row, "usual: a date of the season")
        for month in odd_months(totals.by["month"])
        for row in totals.month_rows[month]
    ]
    return figures + days


def _subjects_not_read(audit: Audit) -> Iterator[tuple[str, str, int]]:
    """By place the subjects of its law that no rulebook holds, those of as many hauls together."""
    for place, subjects in sorted(audit.totals.unread_subjects.items()):
        if place in audit.totals.unread:
            continue
        together: dict[int, list[str]] = {}
        for subject, number in subjects.items():
            together.setdefault(number, []).append(subject)
        for number, names in sorted(together.items(), reverse=True):
            yield NOT_LOOKED_AT, f"{place}: {', '.join(names)}", number


def rules_not_met(audit: Audit) -> list[RuleCount]:
    """Rules not met, must-rules first, the most often broken first."""
    found = [each for each in rule_counts(audit) if each.tally.broken]
    order = {"must": 0, "should": 1}
    return sorted(found, key=lambda it: (order[it.rule.level], -it.tally.broken, it.rule.id))


def rules_near_limit(audit: Audit) -> list[RuleCount]:
    """Rules met by little, the most often first."""
    found = [each for each in rule_counts(audit) if each.tally.near]
    return sorted(found, key=lambda it: (-it.tally.near, it.rule.id))


def never_decided(audit: Audit) -> list[RuleCount]:
    """Rules that applied and were never decided, the most often first."""
    decided = (Verdict.MET, Verdict.NOT_MET, Verdict.TOO_CLOSE)
    found = [
        each
        for each in rule_counts(audit)
        if each.tally.of(Verdict.NOT_STATED) and not any(map(each.tally.of, decided))
    ]
    return sorted(found, key=lambda it: (-it.tally.of(Verdict.NOT_STATED), it.rule.id))


def most_first(counts: Mapping[str, int]) -> list[tuple[str, int]]:
    """Names or keys with their counts, the largest first."""
    return sorted(counts.items(), key=lambda each: (-each[1], each[0]))


def most_often_held_first(tallies: Mapping[str, Tally]) -> list[tuple[str, Tally]]:
    """Keys of trailers, machines or crews, those most often on hold first.

    Groups of few hauls come last and are not ranked: they come by key.
    """
    return sorted(tallies.items(), key=lambda each: (*rank(each[1]), each[0]))


def month_by_month(tallies: Mapping[str, Tally]) -> list[tuple[str, Tally]]:
    """Every month with a haul, and those without one between two that are a year apart at most."""
    found: list[tuple[str, Tally]] = []
    for group in month_groups(tallies):
        month, last = (date.fromisoformat(f"{name}-01") for name in (group[0], group[-1]))
        while month <= last:
            name = month.isoformat()[:7]
            found.append((name, tallies.get(name, Tally())))
            month = date(month.year + month.month // 12, month.month % 12 + 1, 1)
    return found


def outcome_parts(tally: Tally) -> tuple[int, int, int, int]:
    """Hauls on hold, open, near a limit, and the rest; they add up to all."""
    clear = tally.hauls - tally.held - tally.open
    return tally.held, tally.open, tally.near, clear - tally.near


def worst_hauls(audit: Audit) -> list[WorstHaul]:
    """The hauls on hold to list one by one, the worst first."""
    return [each for each in audit.totals.worst_hauls if each.outcome == Outcome.HOLD]


def first_open_hauls(audit: Audit) -> list[WorstHaul]:
    """The first open hauls, those with most undecided must-rules first."""
    return [each for each in audit.totals.worst_hauls if each.outcome == Outcome.OPEN]


def why_open(haul: WorstHaul) -> str:
    """What an open haul lacks, and how many of its must-rules are not decided."""
    if not haul.undecided:
        return without_a_rule(haul)
    number = number_of(len(haul.undecided), "must-rule")
    if haul.missing:
        return f"not stated: {', '.join(haul.missing)} ({number} undecided)"
    return f"{number} undecided, no field missing: {haul.undecided[0]}"


def closest_hauls(audit: Audit) -> list[WorstHaul]:
    """Hauls with no must-rule broken that came near a limit, the closest first."""
    return [
        each
        for each in audit.totals.worst_hauls
        if each.outcome == Outcome.NO_RULE_BROKEN and each.near
    ]


def without_a_rule(haul: WorstHaul) -> str:
    """Why a haul is open though none of its rules is."""
    return NO_RULE_MET if haul.outcome == Outcome.OPEN else ""


def listed_words(audit: Audit) -> str:
    """How many of the hauls that need a look are listed."""
    listed = audit.totals.worst_hauls
    if len(listed) < MOST_REMEMBERED:
        return f"All {len(listed)} of them are listed."
    tally = audit.totals.all
    parts = [
        f"{sum(each.outcome == outcome for each in listed)} of {number} {words}"
        for outcome, number, words in (
            (Outcome.HOLD, tally.held, "on hold"),
            (Outcome.OPEN, tally.open, "open"),
        )
    ]
    parts.append(f"{len(closest_hauls(audit))} of {tally.near} near a limit")
    return f"The worst {len(listed)} are listed: {', '.join(parts)}. All are counted."


def bar(numbers: Sequence[int], width: int) -> list[int]:
    """A bar of `width` cells divided by numbers; each that is not 0 has at least one cell.

    Left-over cells go to those furthest below their share.
    """
    total = sum(numbers)
    found = [min(number, 1) for number in numbers]
    while total and sum(found) < width:
        short = [number * width / total - have for number, have in zip(numbers, found, strict=True)]
        found[short.index(max(short))] += 1
    return found
