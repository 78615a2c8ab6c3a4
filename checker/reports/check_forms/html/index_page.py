"""The page that lists the pages of several loads, with totals, those on hold first."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from checker.evaluation.gate import outcome_at
from checker.evaluation.outcome import Outcome
from checker.load.model import Load
from checker.reports.check_forms.html.lists import (
    MissingField,
    RuleLine,
    RuleList,
    missing_fields,
    stopped_rules,
)
from checker.reports.check_forms.html.page import STATES
from checker.reports.shared.check_results import (
    CheckedLoad,
    CheckRun,
    ignored_words,
    unread_by_place,
)
from checker.reports.shared.html.entries import listed_findings
from checker.reports.shared.html.environment import template
from checker.reports.shared.outcome_words import listed_outcome, warning_words
from checker.reports.shared.words import CAUTIONS

INDEX = "index.html"
_MOST_RULES = 5
_MOST_FIELDS = 2


@dataclass(frozen=True, slots=True)
class Row:
    """One load: its outcome, its page, what stops it, and for an open one what to find out."""

    outcome: Outcome
    state: str
    words: str
    load: Load
    page: str
    rules: Sequence[RuleLine]
    more: int
    warnings: Sequence[str]
    find_out: Sequence[MissingField]


def index(run: CheckRun, names: Sequence[str], outdated: Sequence[str] = ()) -> str:
    """The list of the pages `names`, and of `outdated` ones that an earlier run left there."""
    rows = [_row(each, name, run) for each, name in zip(run.checked, names, strict=True)]
    order = list(STATES)
    rows.sort(key=lambda row: order.index(row.outcome))
    totals = [
        (STATES[outcome], sum(row.outcome is outcome for row in rows), words)
        for outcome, words in _TOTALS.items()
    ]
    return template("index.html.j2").render(
        rows=rows,
        totals=totals,
        number=len(rows) + len(run.unreadable),
        unreadable=run.unreadable,
        unread=unread_by_place(run),
        ignored=ignored_words(run.ignored) if run.ignored else "",
        outdated=outdated,
        cautions=CAUTIONS,
        version=run.version,
    )


_TOTALS = {
    Outcome.HOLD: "HOLD",
    Outcome.OPEN: "OPEN",
    Outcome.NO_RULE_BROKEN: "no rule broken",
}


def _row(checked: CheckedLoad, page: str, run: CheckRun) -> Row:
    check = checked.check
    outcome = outcome_at(check, run.fail_on, run.near)
    entries = {each.rule.id for each in listed_findings(check)}
    stopped = stopped_rules(checked, run, entries)
    return Row(
        outcome,
        STATES[outcome],
        listed_outcome(outcome, check),
        check.load,
        page,
        stopped.full[:_MOST_RULES],
        max(_number(stopped) - _MOST_RULES, 0),
        warning_words(check),
        missing_fields(check)[:_MOST_FIELDS] if outcome is Outcome.OPEN else (),
    )


def _number(rules: RuleList) -> int:
    return len(rules.full) + len(rules.named) + rules.left_out


def page_names(run: CheckRun) -> list[str]:
    """A file name for the page of each load; loads of the same name get a number."""
    names: list[str] = []
    for checked in run.checked:
        load = checked.check.load
        # Of a haul the row is part of its name, behind the ending of the log.
        own = load.file.name if load.log_row else load.file.stem
        stem = re.sub(r"[^A-Za-z0-9._-]+", "-", own) or "load"
        name, number = f"{stem}.html", 2
        while name in names or name == INDEX:
            name, number = f"{stem}-{number}.html", number + 1
        names.append(name)
    return names
