"""One rule in a text report: verdict, title, both sides, reason, what to do, source."""

from collections.abc import Iterator, Sequence

from checker.advice.fixes import Fix
from checker.evaluation.check import Check
from checker.evaluation.finding import Finding
from checker.reports.shared.actions import finding_action, named_fields
from checker.reports.shared.comparison_words import found_and_wanted, kind_for
from checker.reports.shared.page import Page
from checker.reports.shared.words import (
    amended_words,
    is_strictest,
    margin_words,
    on_the_same_subject,
    sources,
    subject_that_decides,
    variance_words,
    verdict_label,
)
from checker.rulebooks.verdicts import Verdict
from checker.units.formatting import System, show

WORDS = {
    Verdict.NOT_MET: "NOT MET",
    Verdict.TOO_CLOSE: "CLOSE",
    Verdict.NOT_STATED: "UNKNOWN",
    Verdict.MET: "met",
}
STYLES = {
    Verdict.NOT_MET: "bold red",
    Verdict.TOO_CLOSE: "bold yellow",
    Verdict.NOT_STATED: "yellow",
    Verdict.MET: "green",
}
COLUMN = max(map(len, WORDS.values())) + 1
_INDENT = " " * COLUMN


def print_entry(
    finding: Finding,
    check: Check,
    page: Page,
    system: System,
    fixes: Sequence[Fix],
    *,
    done_first: Sequence[str] = (),
) -> None:
    """Print one rule: a line with verdict and title, and below it the working and the source.

    What stands in `done_first`, at the top of the report, is not repeated.
    """
    lead = f"{verdict_label(finding, WORDS):<{COLUMN}}"
    page.line(_title(finding), lead=lead, lead_style=STYLES[finding.verdict])
    for detail in (*_details(finding, check, system, fixes, done_first), _cited(finding)):
        page.line(detail, lead=_INDENT)


def print_waiting(group: Sequence[Finding], check: Check, page: Page) -> None:
    """Print undecided rules that wait for the same fields: their titles, then the fields once."""
    lead = f"{WORDS[Verdict.NOT_STATED]:<{COLUMN}}"
    for finding in group:
        line = f"{_title(finding)} [{finding.rule.id}]"
        page.line(line, lead=lead, lead_style=STYLES[Verdict.NOT_STATED])
        lead = _INDENT
    where = subject_that_decides(group[0], check) if len(group) == 1 else ""
    page.line(f"{where}{_gap(group[0])}", lead=_INDENT)


def _title(finding: Finding) -> str:
    title = finding.broken or finding.title
    return title + ("" if finding.rule.level == "must" else " (should)")


def _details(
    finding: Finding,
    check: Check,
    system: System,
    fixes: Sequence[Fix],
    done_first: Sequence[str],
) -> Iterator[str]:
    where = subject_that_decides(finding, check)
    if finding.verdict is Verdict.NOT_STATED:
        yield f"{where}{_gap(finding)}"
    elif finding.verdict is not Verdict.MET or finding.margin is not None:
        # For a wanted yes the title says it all; anything else shows both sides.
        yield from _sides(finding, where, system)
    yield from amended_words(finding)
    if finding.variance:
        yield f"Variance {variance_words(finding.variance)}"
    if finding.verdict in (Verdict.NOT_MET, Verdict.TOO_CLOSE):
        yield f"Why: {finding.because}"
        action = finding_action(finding, fixes, check, system)
        if action and action not in done_first:
            yield f"Do: {action}"
    yield from _other_figures(finding, check, system)
    if finding.metric_print:
        yield "Uses the printed metric figures, which are stricter here."


def _other_figures(finding: Finding, check: Check, system: System) -> Iterator[str]:
    """What other rules require on the same subject, and which of them leaves the least room."""
    others = on_the_same_subject(finding, check)
    for other in others:
        sides = found_and_wanted(other, system)
        if sides:
            yield f"Another figure for this: wanted {sides.wanted} [{other.rule.id}]"
    if others and is_strictest(finding, others):
        yield "This one is the stricter and decides."


def _cited(finding: Finding) -> str:
    return f"[{finding.rule.id}] {'; '.join(sources(finding))}"


def _sides(finding: Finding, where: str, system: System) -> Iterator[str]:
    sides = found_and_wanted(finding, system)
    if sides:
        margin = margin_words(finding)
        tail = f" ({margin})" if margin else ""
        yield f"{where}{sides.found}; wanted {sides.wanted}{tail}"
    for shown in finding.shows:
        yield f"{shown.label}: {show(shown.value, kind_for(shown), system, digits=3)}"


def _gap(finding: Finding) -> str:
    """What an undecided rule needs."""
    return finding.reason or f"not stated: {named_fields(finding.missing)}"
