"""Every rule of a check as an entry that folds open: both sides, reason, fix, working."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from checker.evaluation.check import Check
from checker.evaluation.finding import FactUsed, Finding
from checker.evaluation.gate import is_near
from checker.facts.catalogue import ANSWER
from checker.facts.printed_kind import printed_kind
from checker.load.model import Load, Origin
from checker.reports.shared.actions import finding_action
from checker.reports.shared.check_results import CheckedLoad, CheckRun, summary_words
from checker.reports.shared.comparison_words import answer, at_row, kind_for
from checker.reports.shared.words import (
    amended_words,
    on_the_same_subject,
    sources,
    variance_words,
    verdict_label,
)
from checker.rulebooks.verdicts import Verdict
from checker.units.arithmetic import Number
from checker.units.formatting import System, show

QUESTIONS = {
    "placement": "Does the machine stand right on the deck?",
    "tiedowns": "Is it tied down right?",
    "coupling": "Is the trailer hitched right?",
    "walk-around": "Was everything checked?",
    "trip": "The road and the stops",
    "limits": "Ratings, sizes, licence",
}
WORDS = {
    Verdict.NOT_MET: "NOT MET",
    Verdict.TOO_CLOSE: "TOO CLOSE TO CALL",
    Verdict.NOT_STATED: "NOT KNOWN",
    Verdict.MET: "met",
}
STATES = {
    Verdict.NOT_MET: "broken",
    Verdict.TOO_CLOSE: "open",
    Verdict.NOT_STATED: "open",
    Verdict.MET: "met",
}
_ORDER = list(WORDS)
_DIGITS = 4
_FEW = 2
"""So many stated fields are named beside a fact; more are in the list of the page."""


@dataclass(frozen=True, slots=True)
class Used:
    """A number or answer behind a finding, and its location."""

    label: str
    value: str
    origins: Sequence[str]
    """Where it is stated; empty for a fact of many fields, which a page lists in one place."""
    fields: Sequence[str] = ()
    """The stated fields behind it."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One finding as an entry of the page."""

    rule: str
    title: str
    level: str
    basis: str
    verdict: str
    state: str
    summary: str
    why: str
    do: Sequence[str]
    notes: Sequence[str]
    formula: str
    facts: Sequence[Used]
    thresholds: Sequence[Used]
    sources: Sequence[str]
    stated_in: str


@dataclass(frozen=True, slots=True)
class Group:
    """The entries of one question; the met ones are separate."""

    heading: str
    open: Sequence[Entry]
    met: Sequence[Entry]


def stated_behind(entries: Iterable[Entry], load: Load) -> list[str]:
    """Every stated figure behind some entries with its location, each once, by field.

    Most rules rest on the same few dozen figures, so a page lists them in one place.
    """
    facts = (fact for each in entries for fact in each.facts)
    fields = {field for fact in facts for field in fact.fields}
    return [_origin_words(field, load.origins[field]) for field in sorted(fields)]


def _origin_words(field: str, origin: Origin) -> str:
    return f"{field}: {origin.text} ({origin})"


def listed_findings(check: Check) -> list[Finding]:
    """The findings that have an entry.

    Left out are rules that do not apply, and those of a rulebook of which that is not known.
    """
    undecided = [entry.book for entry in check.in_force if entry.verdict is Verdict.NOT_STATED]
    return [
        finding
        for finding in check.findings
        if finding.verdict is not Verdict.DOES_NOT_APPLY and finding.book not in undecided
    ]


def groups(checked: CheckedLoad, run: CheckRun) -> list[Group]:
    """The listed findings by question, the worst first."""
    shown = listed_findings(checked.check)
    found = []
    for question, heading in QUESTIONS.items():
        here = [finding for finding in shown if finding.rule.question == question]
        here.sort(key=lambda each: (_ORDER.index(each.verdict), each.rule.level != "must"))
        entries = [(finding, entry(finding, checked, run)) for finding in here]
        if entries:
            met = [each for finding, each in entries if finding.verdict is Verdict.MET]
            rest = [each for finding, each in entries if finding.verdict is not Verdict.MET]
            found.append(Group(heading, rest, met))
    return found


def entry(finding: Finding, checked: CheckedLoad, run: CheckRun) -> Entry:
    """One finding with everything behind it."""
    check, system = checked.check, checked.system
    unmet = finding.verdict in (Verdict.NOT_MET, Verdict.TOO_CLOSE)
    fixes = checked.fixes.get(finding.rule.id, ())
    do = [finding_action(finding, fixes, check, system)] if unmet and not finding.variance else []
    near = is_near(finding, run.near)
    return Entry(
        rule=finding.rule.id,
        title=finding.broken or finding.title,
        level=finding.rule.level,
        basis=finding.rule.basis,
        verdict=f"{verdict_label(finding, WORDS)}{', but near the limit' if near else ''}",
        state="excused" if finding.variance else "near" if near else STATES[finding.verdict],
        summary=summary_words(finding, check, system),
        why=finding.because,
        do=do,
        notes=list(_notes(finding, check, system)),
        formula=" ".join(finding.rule.requires.text.split()),
        facts=[_fact(used, finding, system) for used in finding.facts],
        thresholds=[
            Used(
                name.replace("_", " "),
                value.text,
                [f"from {value.starts}, {value.citation}"],
            )
            for name, value in finding.thresholds
        ],
        sources=sources(finding),
        stated_in=f"{finding.book.title} ({finding.book.id} {finding.book.digest})",
    )


def _notes(finding: Finding, check: Check, system: System) -> Iterator[str]:
    for shown in finding.shows:
        yield f"{shown.label}: {show(shown.value, kind_for(shown), system, digits=3)}"
    yield from amended_words(finding)
    if finding.variance:
        yield f"Variance {variance_words(finding.variance)}"
    if finding.metric_print:
        yield "Uses the printed metric figures, which are stricter here."
    for other in on_the_same_subject(finding, check):
        yield f"Another rule on the same subject: {other.rule.title} ({other.rule.id})."


def _fact(used: FactUsed, finding: Finding, system: System) -> Used:
    row = finding.governing.row if finding.governing else 0
    stated = used.origins
    few = stated.items() if len(stated) <= _FEW else ()
    return Used(
        used.fact.label,
        _shown(used.value, row, printed_kind(used.fact), system),
        [_origin_words(field, origin) for field, origin in few],
        list(stated),
    )


def _shown(value: Number, row: int, kind: str, system: System) -> str:
    number = at_row(value, row)
    if kind == ANSWER:
        return answer(number)
    return "not stated" if number != number else show(number, kind, system, digits=_DIGITS)
