"""The page of one load: records put into a template."""

from checker.evaluation.gate import outcome_at
from checker.evaluation.outcome import Outcome
from checker.reports.check_forms.html.borders import crossings
from checker.reports.check_forms.html.compass import rounds
from checker.reports.check_forms.html.figures import bars, most_loaded
from checker.reports.check_forms.html.lists import (
    MOST_FIRST,
    missing_fields,
    shoulds_not_met,
    stopped_rules,
)
from checker.reports.check_forms.html.walkaround import checklist, stops
from checker.reports.shared.actions import first_things
from checker.reports.shared.check_results import (
    UNREAD_SUBJECTS,
    CheckedLoad,
    CheckRun,
    note_lines,
    warnings,
)
from checker.reports.shared.glossary import words_of
from checker.reports.shared.html.drawing import from_above, from_the_left
from checker.reports.shared.html.drawing_words import (
    missing_words,
    position_words,
    tiedown_rows,
)
from checker.reports.shared.html.entries import groups, listed_findings, stated_behind
from checker.reports.shared.html.environment import template
from checker.reports.shared.outcome_words import (
    headline,
    near_words,
    sources_due_for_review,
    total_words,
)
from checker.reports.shared.route_words import not_everywhere, places_in_words
from checker.reports.shared.scene_building import build_scene
from checker.reports.shared.words import CAUTIONS, variance_words
from checker.rulebooks.verdicts import Verdict

STATES = {Outcome.HOLD: "hold", Outcome.OPEN: "open", Outcome.NO_RULE_BROKEN: "clear"}


MOST_PLACES = 1
"""How many lines about single places stand in the head; the others come after the rules."""


def load_page(checked: CheckedLoad, run: CheckRun, index_name: str = "") -> str:
    """One load as a page that needs no other file and no network; always the same bytes.

    `index_name` is the file of the page that lists all loads; empty where there is none.
    """
    check = checked.check
    scene = build_scene(check)
    diagrams = list(rounds(check, scene))
    loose = {each.article: [way.way for way in each.ways if not way.enough] for each in diagrams}
    planned, stop_rules = stops(check, checked.system)
    things = first_things(check, checked.fixes, checked.system)
    places = not_everywhere(check)
    entries = {each.rule.id for each in listed_findings(check)}
    questions = groups(checked, run)
    weights = bars(check, checked.system, run.near)
    shown = most_loaded(weights)
    return template("page.html.j2").render(
        local=words_of(check.load),
        title=check.load.title,
        file=check.load.file,
        on=check.on.isoformat(),
        headline=headline(check, run.fail_on, run.near),
        state=STATES[outcome_at(check, run.fail_on, run.near)],
        counted=total_words(check.findings),
        near=near_words(check, run.near),
        notes=note_lines(check),
        by_place=places_in_words(check),
        not_everywhere=places[:MOST_PLACES],
        more_places=places[MOST_PLACES:],
        borders=crossings(check),
        first_warnings=[
            (each.words, str(each.location))
            for each in warnings(check)
            if each.name != UNREAD_SUBJECTS
        ],
        unread=[
            f"Not looked at in {place}: {', '.join(subjects)}"
            for place, subjects in check.unread_subjects.items()
            if place not in check.unread
        ],
        warnings=[
            (each.words, str(each.location))
            for each in warnings(check)
            if each.name == UNREAD_SUBJECTS
        ],
        first=things[:MOST_FIRST],
        then=things[MOST_FIRST:],
        stopped=stopped_rules(checked, run, entries),
        shoulds=shoulds_not_met(checked, run, entries),
        missing_fields=missing_fields(check),
        index_name=index_name,
        above=from_above(scene, checked.system, loose),
        loose=loose,
        side=from_the_left(scene, checked.system, loose),
        tiedowns=tiedown_rows(scene, checked.system, loose),
        placed=position_words(scene, checked.system),
        missing=missing_words(scene),
        rounds=diagrams,
        bars=weights[:shown],
        more_bars=weights[shown:],
        groups=questions,
        behind=stated_behind(
            (each for group in questions for each in (*group.open, *group.met)), check.load
        ),
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
