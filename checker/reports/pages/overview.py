"""Several loads on a terminal: one line each, the worst last, just above the prompt."""

from rich.console import Console

from checker.documents.problems import count_problems
from checker.evaluation.gate import outcome_at
from checker.evaluation.outcome import Outcome
from checker.reports.shared.actions import first_things
from checker.reports.shared.check_results import (
    CheckedLoad,
    CheckRun,
    findings_to_report,
    ignored_words,
    unread_by_place,
)
from checker.reports.shared.outcome_words import excused_words, warning_words
from checker.reports.shared.page import Page
from checker.reports.shared.words import number_of

_WORDS = {
    Outcome.NO_RULE_BROKEN: ("no rule broken", "green"),
    Outcome.OPEN: ("OPEN", "bold yellow"),
    Outcome.HOLD: ("HOLD", "bold red"),
}
_NOT_JUDGED = "NOT CHECKED"
_LAST_LOADS = 2
"""How many loads on hold have their first thing to do at the end, above the prompt."""
_COLUMN = max(len(_NOT_JUDGED), *(len(words) for words, _ in _WORDS.values())) + 2


def worth_printing(checked: CheckedLoad, run: CheckRun) -> bool:
    """True if a load among several is printed in full: it is stopped at the gate."""
    return outcome_at(checked.check, run.fail_on, run.near) is not Outcome.NO_RULE_BROKEN


def print_overview(run: CheckRun, console: Console, *, short: bool = False) -> None:
    """Print every load with its outcome and the first rule that stops it, then the totals.

    In the `short` form each load is one line with the name of its file, however long, and what to
    do is left out. Either form names the law that nobody read.
    """
    page = Page(console)

    def line(outcome: str, style: str, text: str) -> None:
        lead = f"{outcome:<{_COLUMN}}"
        if short:
            page.drawn(lead + text, style=style)
        else:
            page.line(text, lead=lead, lead_style=style)

    page.heading(number_of(len(run.checked) + len(run.unreadable), "load profile").upper())
    outcomes = [outcome_at(each.check, run.fail_on, run.near) for each in run.checked]
    for outcome, (words, style) in _WORDS.items():
        for each, came_to in zip(run.checked, outcomes, strict=True):
            if came_to is outcome:
                line(words, style, _line_words(each, run, short=short))
    for unread in run.unreadable:
        problems = number_of(count_problems(unread.problems), "problem")
        line(_NOT_JUDGED, "bold red", f"{unread.file}: {problems} to fix")
    page.line()
    counts = [f"{outcomes.count(outcome)} {words}" for outcome, (words, _) in _WORDS.items()]
    if run.unreadable:
        counts.append(f"{len(run.unreadable)} not checked")
    page.line("; ".join(counts))
    if run.ignored:
        page.line(ignored_words(run.ignored))
    for words in unread_by_place(run):
        page.line(words, lead="! ", lead_style="bold yellow")
    if short:
        return
    held = [
        each for each, came_to in zip(run.checked, outcomes, strict=True) if came_to is Outcome.HOLD
    ]
    for number, each in enumerate(held[:_LAST_LOADS], 1):
        for thing in first_things(each.check, each.fixes, each.system)[:1]:
            page.line(f"{each.check.load.title}: {thing}", lead=f"{number}. ")


def _line_words(checked: CheckedLoad, run: CheckRun, *, short: bool) -> str:
    """The load and its file, what stops it, and what was not looked at."""
    load = checked.check.load
    stops = [
        each.finding.rule.id for each in findings_to_report(checked, run) if each.stop is not None
    ]
    more = f" and {len(stops) - 1} more" if len(stops) > 1 else ""
    by = f": {stops[0]}{more}" if stops else ""
    partly = ["part of the law not read"] if checked.check.unread_subjects else []
    also = "".join(
        f"; {words}"
        for words in (*excused_words(checked.check), *partly, *warning_words(checked.check))
    )
    return f"{load.file}{by}{also}" if short else f"{load.title} ({load.file}){by}{also}"
