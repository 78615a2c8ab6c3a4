"""A check on a terminal: outcome first, then what to mend, then every rule by question."""

import textwrap
from collections.abc import Iterator

from rich.console import Console
from rich.text import Text

from checker.documents.schemas import field_description
from checker.engine import Check, Finding, Outcome, deciding_fields
from checker.reports.words import (
    CAUTIONS,
    counts,
    found_and_wanted,
    headline,
    kind_for,
    margin_words,
    number_of,
    of_verdict,
    sources,
    to_look_at_again,
)
from checker.rulebooks.verdicts import Verdict
from checker.unit_words import System, show

QUESTIONS = {
    "placement": "PLACEMENT - does the machine stand right on the deck?",
    "tiedowns": "TIEDOWNS - is it tied down right?",
    "coupling": "COUPLING - is the trailer hitched right?",
    "walk-around": "WALK-AROUND - was everything looked at?",
    "trip": "TRIP - the road and the stops",
    "limits": "LIMITS - ratings, sizes, licence",
}
_WORDS = {
    Verdict.NOT_MET: "NOT MET",
    Verdict.TOO_CLOSE: "CLOSE",
    Verdict.NOT_STATED: "UNKNOWN",
    Verdict.MET: "met",
}
_STYLES = {
    Verdict.NOT_MET: "bold red",
    Verdict.TOO_CLOSE: "bold yellow",
    Verdict.NOT_STATED: "yellow",
    Verdict.MET: "green",
}
_OUTCOME_STYLES = {
    Outcome.HOLD: "bold red",
    Outcome.OPEN: "bold yellow",
    Outcome.NO_RULE_BROKEN: "bold green",
}
_COLUMN = max(map(len, _WORDS.values())) + 1
_MOST_FIELDS_NAMED = 4


def print_check(check: Check, console: Console, system: System) -> None:
    """Print one check; colour only repeats what the words say."""
    page = _Page(console)
    _head(check, page)
    _first_things(check, page)
    _state_next(check, page)
    for question, heading in QUESTIONS.items():
        findings = [finding for finding in _shown(check) if finding.rule.question == question]
        if findings:
            page.heading(heading)
            order = list(_WORDS)
            for finding in sorted(findings, key=lambda each: order.index(each.verdict)):
                _entry(finding, check, page, system)
    _rules_in_force(check, page)
    page.line()
    for caution in CAUTIONS:
        page.line(caution, style="italic")


class _Page:
    """Writes wrapped lines without the padding that would end up in pipes and files."""

    def __init__(self, console: Console) -> None:
        self.console = console
        self.width = console.width

    def heading(self, text: str) -> None:
        self.line()
        self.line(text, style="bold")

    def line(
        self, text: str = "", *, style: str = "", lead: str = "", lead_style: str = ""
    ) -> None:
        """One paragraph; `lead` stands in a column of its own to the left of all its lines."""
        wrapped = textwrap.wrap(text, max(self.width - len(lead), 20)) or [""]
        for number, part in enumerate(wrapped):
            margin = lead if number == 0 else " " * len(lead)
            self.console.print(Text.assemble((margin, lead_style), (part, style)), soft_wrap=True)


def _shown(check: Check) -> Iterator[Finding]:
    """Findings listed one by one: what concerns the load, of rulebooks known to be in force."""
    undecided = [entry.book for entry in check.in_force if entry.verdict is Verdict.NOT_STATED]
    for finding in check.findings:
        if finding.verdict is not Verdict.DOES_NOT_APPLY and finding.book not in undecided:
            yield finding


def _head(check: Check, page: _Page) -> None:
    totals = counts(check.findings)
    summary = ", ".join(f"{number} {verdict}" for verdict, number in totals.items() if number)
    page.line(check.load.title, style="bold")
    page.line(f"{check.load.file}, judged for {check.on.isoformat()}")
    page.line()
    page.line(headline(check), style=_OUTCOME_STYLES[check.outcome])
    page.line(f"{number_of(len(check.findings), 'rule')}: {summary}")


def _first_things(check: Check, page: _Page) -> None:
    """Fixes of the must-rules that are not met, in a list of what to do first."""
    fixes = dict.fromkeys(each.rule.fix for each in of_verdict(check, Verdict.NOT_MET, "must"))
    if fixes:
        page.heading("DO FIRST")
    for number, fix in enumerate(fixes, 1):
        page.line(fix, lead=f"{number}. ")


def _state_next(check: Check, page: _Page) -> None:
    """The few fields that would decide the most rules, and what each of them means."""
    fields = deciding_fields(check.findings)
    if fields:
        page.heading("STATE NEXT - these fields would decide the most rules")
    for path, decided in fields:
        effect = f"decides {decided} more" if decided else "needed together with the others"
        page.line(f"{path}: {field_description(path)} ({effect})", lead="- ")


def _entry(finding: Finding, check: Check, page: _Page, system: System) -> None:
    """One rule: a line for its verdict and title, and below it the working and the source."""
    level = "" if finding.rule.level == "must" else " (should)"
    lead = f"{_WORDS[finding.verdict]:<{_COLUMN}}"
    title = f"{finding.rule.title}{level}"
    page.line(title, lead=lead, lead_style=_STYLES[finding.verdict])
    for detail in _details(finding, check, system):
        page.line(detail, lead=" " * _COLUMN)


def _details(finding: Finding, check: Check, system: System) -> Iterator[str]:
    where = _where(finding, check)
    if finding.verdict is Verdict.NOT_STATED:
        yield f"{where}{_gap(finding)}"
    elif finding.verdict is not Verdict.MET or finding.margin is not None:
        # A yes that was wanted is said by the title; anything else shows both sides.
        yield from _sides(finding, where, system)
    if finding.verdict in (Verdict.NOT_MET, Verdict.TOO_CLOSE):
        yield f"Why: {finding.rule.because}"
        yield f"Do: {finding.rule.fix}"
    if finding.settled_by:
        meaning = field_description(finding.settled_by)
        yield f"To settle it, measure {finding.settled_by} more closely: {meaning}"
    if finding.metric_print:
        yield "Judged by the printed metric figures, the stricter here."
    yield f"[{finding.rule.id}] {'; '.join(sources(finding))}"


def _where(finding: Finding, check: Check) -> str:
    """Which article, tiedown or axle decides, unless there is only one article anyway."""
    subject = finding.subject
    if subject is None or (subject.each == "article" and len(check.load.articles) == 1):
        return ""
    return f"{subject.name}: "


def _sides(finding: Finding, where: str, system: System) -> Iterator[str]:
    sides = found_and_wanted(finding, system)
    if sides:
        margin = margin_words(finding)
        tail = f" ({margin})" if margin else ""
        yield f"{where}{sides.found}; wanted {sides.wanted}{tail}"
    for shown in finding.shows:
        yield f"{shown.label}: {show(shown.value, kind_for(shown), system, digits=3)}"


def _gap(finding: Finding) -> str:
    """What an undecided rule waits for."""
    if finding.reason:
        return finding.reason
    named = ", ".join(finding.missing[:_MOST_FIELDS_NAMED])
    rest = len(finding.missing) - _MOST_FIELDS_NAMED
    return f"not stated: {named}" + (f" and {rest} more" if rest > 0 else "")


def _rules_in_force(check: Check, page: _Page) -> None:
    """Which bodies of rules were in force, and how many of their rules do not concern this load."""
    page.heading("RULES IN FORCE")
    for entry in check.in_force:
        rules = [finding for finding in check.findings if finding.book is entry.book]
        idle = sum(finding.verdict is Verdict.DOES_NOT_APPLY for finding in rules)
        number = number_of(len(rules), "rule")
        if entry.verdict is Verdict.NOT_STATED:
            named = ", ".join(entry.missing[:_MOST_FIELDS_NAMED])
            said = f"{number}, not known whether they apply; not stated: {named}"
        elif entry.verdict is Verdict.DOES_NOT_APPLY and entry.book.scope:
            said = f"left out: {entry.book.scope.because}"
        else:
            said = f"{number}, {idle or 'none'} of no concern to this load"
        page.line(f"{entry.book.title} ({entry.book.id} {entry.book.digest}): {said}", lead="- ")
    stale = to_look_at_again(check)
    if stale:
        page.line(f"Documents to look at again for changes: {'; '.join(stale)}")
