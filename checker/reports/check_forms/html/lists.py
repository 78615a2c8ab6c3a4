"""The lists at the head of the page: what stops a load, should-rules not met, what to find out."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from checker.documents.schemas import field_node
from checker.evaluation.check import Check, deciding_fields
from checker.reports.shared.actions import decides_words, field_words
from checker.reports.shared.check_results import (
    CheckedLoad,
    CheckRun,
    FindingToReport,
    findings_to_report,
)
from checker.reports.shared.words import join_words, statement_alone
from checker.rulebooks.verdicts import Verdict

MOST_STOPS, MOST_SHOULDS = 8, 3
"""How many rules of a list have their figures; the others have them in their entry."""
MOST_FIRST = 6
"""How many things to do stand before the drawing."""


@dataclass(frozen=True, slots=True)
class RuleLine:
    """A rule of a list: its words, its figures, and its id where the page has an entry for it."""

    words: str
    figures: str
    entry: str


@dataclass(frozen=True, slots=True)
class RuleList:
    """A list of rules: the first with their figures, others by name, and how many are left out.

    Only undecided rules are left out: a rule that is not met is named, on paper too.
    """

    full: Sequence[RuleLine]
    named: Sequence[RuleLine]
    left_out: int


@dataclass(frozen=True, slots=True)
class MissingField:
    """A field to find out: the question in words, its name, and what its answer decides."""

    question: str
    field: str
    effect: str


def stopped_rules(checked: CheckedLoad, run: CheckRun, entries: Collection[str]) -> RuleList:
    """What stops a load at the gate, rules not met first."""
    found = [each for each in findings_to_report(checked, run) if each.stop is not None]
    found.sort(key=lambda each: not _is_decided(each))
    return _as_list(found, MOST_STOPS, entries)


def shoulds_not_met(checked: CheckedLoad, run: CheckRun, entries: Collection[str]) -> RuleList:
    """The should-rules that are not met and stop nothing, without those under a variance."""
    found = [
        each
        for each in findings_to_report(checked, run)
        if each.stop is None
        and each.finding.verdict is Verdict.NOT_MET
        and each.finding.rule.level == "should"
        and not each.finding.variance
    ]
    return _as_list(found, MOST_SHOULDS, entries)


def missing_fields(check: Check) -> list[MissingField]:
    """What to find out: the few fields that decide the most rules."""
    return [
        MissingField(_question(each.field, check), each.field, decides_words(each))
        for each in deciding_fields(check.findings)
    ]


def _is_decided(each: FindingToReport) -> bool:
    return each.finding.verdict is not Verdict.NOT_STATED


def _as_list(found: Sequence[FindingToReport], most: int, entries: Collection[str]) -> RuleList:
    full, rest = found[:most], found[most:]
    named = [each for each in rest if _is_decided(each)]
    return RuleList(
        [_line(each, entries) for each in full],
        [_line(each, entries) for each in named],
        len(rest) - len(named),
    )


def _line(each: FindingToReport, entries: Collection[str]) -> RuleLine:
    finding = each.finding
    # The names of missing fields are in the rule's own entry; what they mean is what to find out.
    told = _is_decided(each) or bool(finding.reason)
    rule = finding.rule.id
    return RuleLine(
        statement_alone(finding), each.summary if told else "", rule if rule in entries else ""
    )


def _question(path: str, check: Check) -> str:
    words = field_words(path, check)
    choices = [str(each) for each in field_node(path).get("enum", ())]
    return f"{words}: {join_words(choices, 'or')}?" if choices else words
