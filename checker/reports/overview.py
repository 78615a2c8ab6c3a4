"""Several loads on a terminal: one line each, the worst last, where the eye is."""

from rich.console import Console

from checker.engine import Outcome
from checker.gate import outcome_at
from checker.reports.gathered import Checked, Gathered, told
from checker.reports.page import Page
from checker.reports.words import number_of, warned_of

_WORDS = {
    Outcome.NO_RULE_BROKEN: ("no rule broken", "green"),
    Outcome.OPEN: ("OPEN", "bold yellow"),
    Outcome.HOLD: ("HOLD", "bold red"),
}
_NOT_JUDGED = "NOT JUDGED"
_COLUMN = max(len(_NOT_JUDGED), *(len(words) for words, _ in _WORDS.values())) + 2


def worth_printing(checked: Checked, run: Gathered) -> bool:
    """Whether a load among several is printed in full: one that is stopped at the gate."""
    return outcome_at(checked.check, run.fail_on, run.near) is not Outcome.NO_RULE_BROKEN


def print_overview(run: Gathered, console: Console) -> None:
    """Every load with its outcome and the first rule that stops it, then how many of each."""
    page = Page(console)
    page.heading(number_of(len(run.checked) + len(run.unreadable), "load profile").upper())
    outcomes = [outcome_at(each.check, run.fail_on, run.near) for each in run.checked]
    for outcome, (words, style) in _WORDS.items():
        for each, came_to in zip(run.checked, outcomes, strict=True):
            if came_to is outcome:
                page.line(_told(each, run), lead=f"{words:<{_COLUMN}}", lead_style=style)
    for unread in run.unreadable:
        problems = number_of(len(unread.problems), "problem")
        said = f"{unread.file}: {problems} to mend"
        page.line(said, lead=f"{_NOT_JUDGED:<{_COLUMN}}", lead_style="bold red")
    page.line()
    counts = [f"{outcomes.count(outcome)} {words}" for outcome, (words, _) in _WORDS.items()]
    if run.unreadable:
        counts.append(f"{len(run.unreadable)} not judged")
    page.line("; ".join(counts))


def _told(checked: Checked, run: Gathered) -> str:
    load = checked.check.load
    stops = [each.finding.rule.id for each in told(checked, run) if each.stop is not None]
    more = f" and {len(stops) - 1} more" if len(stops) > 1 else ""
    by = f": {stops[0]}{more}" if stops else ""
    also = "".join(f"; {words}" for words in warned_of(checked.check))
    return f"{load.title} ({load.file}){by}{also}"
