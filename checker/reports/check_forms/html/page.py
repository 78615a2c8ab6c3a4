"""The page of one load and the index page of several: records put into templates."""

import re
from collections.abc import Sequence
from pathlib import PurePath

from checker.evaluation.check import deciding_fields
from checker.evaluation.gate import outcome_at
from checker.evaluation.outcome import Outcome
from checker.reports.check_forms.html.borders import crossings
from checker.reports.check_forms.html.compass import rounds
from checker.reports.check_forms.html.figures import bars
from checker.reports.check_forms.html.walkaround import checklist, stops
from checker.reports.shared.actions import decides_words, field_words, first_things
from checker.reports.shared.check_results import (
    CheckedLoad,
    CheckRun,
    findings_to_report,
    ignored_words,
    note_lines,
    unread_by_place,
    warnings,
)
from checker.reports.shared.glossary import words_of
from checker.reports.shared.html.drawing import from_above, from_the_left
from checker.reports.shared.html.drawing_words import (
    missing_words,
    position_words,
    tiedown_rows,
)
from checker.reports.shared.html.entries import groups
from checker.reports.shared.html.environment import template
from checker.reports.shared.outcome_words import (
    headline,
    listed_outcome,
    near_words,
    sources_due_for_review,
    total_words,
    warning_words,
)
from checker.reports.shared.route_words import not_everywhere, places_in_words
from checker.reports.shared.scene_building import build_scene
from checker.reports.shared.words import CAUTIONS, statement_alone, variance_words
from checker.rulebooks.verdicts import Verdict

_STATES = {Outcome.HOLD: "hold", Outcome.OPEN: "open", Outcome.NO_RULE_BROKEN: "clear"}


def load_page(checked: CheckedLoad, run: CheckRun) -> str:
    """One load as a page that needs no other file and no network; always the same bytes."""
    check = checked.check
    scene = build_scene(check)
    diagrams = list(rounds(check, scene))
    loose = {each.article: [way.way for way in each.ways if not way.enough] for each in diagrams}
    planned, stop_rules = stops(check, checked.system)
    stopped = [each for each in findings_to_report(checked, run) if each.stop is not None]
    return template("page.html.j2").render(
        local=words_of(check.load),
        title=check.load.title,
        file=check.load.file,
        on=check.on.isoformat(),
        headline=headline(check, run.fail_on, run.near),
        state=_STATES[outcome_at(check, run.fail_on, run.near)],
        counted=total_words(check.findings),
        near=near_words(check, run.near),
        notes=note_lines(check),
        by_place=places_in_words(check),
        not_everywhere=not_everywhere(check),
        borders=crossings(check),
        warnings=[(each.words, str(each.location)) for each in warnings(check)],
        first=first_things(check, checked.fixes, checked.system),
        stopped=[(statement_alone(each.finding), each.summary) for each in stopped],
        state_next=[
            (each.field, field_words(each.field, check), decides_words(each))
            for each in deciding_fields(check.findings)
        ],
        above=from_above(scene, checked.system, loose),
        loose=loose,
        side=from_the_left(scene, checked.system, loose),
        tiedowns=tiedown_rows(scene, checked.system, loose),
        placed=position_words(scene, checked.system),
        missing=missing_words(scene),
        rounds=diagrams,
        bars=bars(check, checked.system, run.near),
        groups=groups(checked, run),
        ticks=checklist(check),
        planned=planned,
        stop_rules=stop_rules,
        in_force=[
            (entry.book.title, f"{entry.book.id} {entry.book.digest}", str(entry.verdict))
            for entry in check.in_force
            if not entry.elsewhere
        ],
        elsewhere=sum(entry.elsewhere for entry in check.in_force),
        amendments=[
            (each.title, f"{each.id} {each.digest}")
            for each in dict.fromkeys(change.amendment for change in check.changes)
        ],
        variances=[
            (each.rule, str(standing), variance_words(each)) for each, standing in check.variances
        ],
        stale=sources_due_for_review(check),
        undecided_books=sum(e.verdict is Verdict.NOT_STATED for e in check.in_force),
        cautions=CAUTIONS,
        version=run.version,
    )


def index(run: CheckRun, names: Sequence[str]) -> str:
    """An index of the pages of several loads, those on hold first."""
    order = list(_STATES)
    rows = []
    for checked, name in zip(run.checked, names, strict=True):
        outcome = outcome_at(checked.check, run.fail_on, run.near)
        stopped = [
            statement_alone(each.finding)
            for each in findings_to_report(checked, run)
            if each.stop is not None
        ]
        stopped += warning_words(checked.check)
        words = listed_outcome(outcome, checked.check)
        row = (order.index(outcome), _STATES[outcome], words, checked.check.load, name, stopped)
        rows.append(row)
    rows.sort(key=lambda row: row[0])
    return template("index.html.j2").render(
        rows=rows,
        unreadable=run.unreadable,
        unread=unread_by_place(run),
        ignored=ignored_words(run.ignored) if run.ignored else "",
        cautions=CAUTIONS,
        version=run.version,
    )


def page_names(run: CheckRun) -> list[str]:
    """A file name for the page of each load; loads of the same name get a number."""
    names: list[str] = []
    for checked in run.checked:
        stem = re.sub(r"[^A-Za-z0-9._-]+", "-", PurePath(checked.check.load.file).stem) or "load"
        name, number = f"{stem}.html", 2
        while name in names or name == "index.html":
            name, number = f"{stem}-{number}.html", number + 1
        names.append(name)
    return names
