"""A check on a terminal: outcome and what to do, what is broken, and the outcome again."""

from collections.abc import Iterable, Iterator, Mapping, Sequence

from rich.console import Console

from checker.advice.fixes import Fix
from checker.advice.nearest import NearestOnDemand
from checker.evaluation.check import Check, deciding_fields
from checker.evaluation.finding import Finding
from checker.evaluation.gate import outcome_at
from checker.evaluation.outcome import Outcome
from checker.evaluation.strictness import FailOn
from checker.reports.pages.check.borders import print_borders
from checker.reports.pages.check.entries import WORDS, print_entry, print_waiting
from checker.reports.pages.check.in_force import (
    print_held,
    print_held_in_short,
    print_rules_in_force,
)
from checker.reports.shared.actions import decides_words, field_words, first_things
from checker.reports.shared.check_results import UNREAD_SUBJECTS, note_lines, warnings
from checker.reports.shared.deck_section import print_deck
from checker.reports.shared.glossary import words_of
from checker.reports.shared.nearest_words import nearest_words
from checker.reports.shared.outcome_words import headline, near_words, total_words
from checker.reports.shared.page import Page
from checker.reports.shared.route_words import not_everywhere, places_in_words
from checker.reports.shared.scene_building import build_scene
from checker.reports.shared.words import CAUTIONS, amended_words, number_of
from checker.rulebooks.verdicts import Verdict
from checker.units.formatting import System

QUESTIONS = {
    "placement": "PLACEMENT - does the machine stand right on the deck?",
    "tiedowns": "TIEDOWNS - is it tied down right?",
    "coupling": "COUPLING - is the trailer hitched right?",
    "walk-around": "WALK-AROUND - was everything checked?",
    "trip": "TRIP - the road and the stops",
    "limits": "LIMITS - ratings, sizes, licence",
}
_OUTCOME_STYLES = {
    Outcome.HOLD: "bold red",
    Outcome.OPEN: "bold yellow",
    Outcome.NO_RULE_BROKEN: "bold green",
}
_LAST_THINGS = 2
"""How many things to do stand at the end of a report, above the prompt."""


def print_check(
    check: Check,
    console: Console,
    system: System,
    fixes: Mapping[str, Sequence[Fix]],
    near: float,
    *,
    fail_on: FailOn = FailOn.MUST,
    full: bool = False,
    nearest: NearestOnDemand | None = None,
) -> None:
    """Print one check; colour only repeats what the words say.

    `fixes` holds the smallest changes by rule id, for rules that are not met; rules met by no more
    than the share `near` of their limit are named at the top. The headline is that of the gate
    `fail_on`. Unless `full`, only rules that are
    not met, too close to call or undecided are listed, and undecided ones that wait for the same
    fields together. `nearest` is asked for the arrangement of a load that no single change mends.
    """
    page = Page(console)
    things = first_things(check, fixes, system)
    if arranged := nearest_words(check, fixes, system, nearest):
        things[-1] = arranged
    with page.at_once():
        _head(check, page, fail_on, near)
        if things:
            page.heading("DO FIRST")
        for number, thing in enumerate(things, 1):
            page.line(thing, lead=f"{number}. ")
        if full:
            _state_next(check, page)
            print_deck(build_scene(check), page, system, words_of(check.load), full=True)
            _by_question(check, page, system, fixes)
            print_borders(check, page, full=True)
            print_held(check, page)
            print_rules_in_force(check, page, full=True)
        else:
            _not_met(check, page, system, fixes, things)
            _undecided(check, page)
            print_borders(check, page, full=False)
            print_deck(build_scene(check), page, system, words_of(check.load), full=False)
            print_held_in_short(check, page)
            print_rules_in_force(check, page, full=False)
            page.line("Every rule, source and figure: --full. One rule: cinchbook explain.")
        page.line(" ".join(CAUTIONS), style="italic")
        _end(check, page, things, fail_on, near)


def _head(check: Check, page: Page, fail_on: FailOn, near: float) -> None:
    page.line(check.load.title, style="bold")
    page.line(f"{check.load.file}, checked for {check.on.isoformat()}")
    for line in note_lines(check):
        page.line(line)
    page.line()
    style = _OUTCOME_STYLES[outcome_at(check, fail_on, near)]
    page.line(headline(check, fail_on, near), style=style)
    page.line(total_words(check.findings))
    close = near_words(check, near)
    if close:
        page.line(close)
    by_place = places_in_words(check)
    if by_place:
        page.line(by_place)
    for words in not_everywhere(check):
        page.line(words, lead="! ", lead_style="bold yellow")
    warned: dict[str, list[str]] = {}
    for each in warnings(check):
        if each.name == UNREAD_SUBJECTS:
            page.line(each.summary, lead="! ", lead_style="bold yellow")
            continue
        warned.setdefault(each.words, []).append(str(each.location))
    for words, locations in warned.items():
        page.line(f"{words} ({', '.join(locations)})", lead="! ", lead_style="bold yellow")


def _state_next(check: Check, page: Page) -> None:
    """The few fields that would decide the most rules, must-rules first, each with its meaning."""
    fields = deciding_fields(check.findings)
    if fields:
        page.heading("STATE NEXT - this would decide the most rules, must-rules first")
    for each in fields:
        words = f"{field_words(each.field, check)} ({each.field}; {decides_words(each)})"
        page.line(words, lead="- ")


def _not_met(
    check: Check,
    page: Page,
    system: System,
    fixes: Mapping[str, Sequence[Fix]],
    things: Sequence[str],
) -> None:
    """The rules not met, too close to call, or met by a figure somebody changed."""
    for finding in _worst_first(_shown(check)):
        changed = finding.verdict is Verdict.MET and amended_words(finding)
        if changed or finding.verdict in (Verdict.NOT_MET, Verdict.TOO_CLOSE):
            page.line()
            of_rule = fixes.get(finding.rule.id, ())
            print_entry(finding, check, page, system, of_rule, done_first=things)


def _undecided(check: Check, page: Page) -> None:
    """What to state next, and the must-rules that are undecided; others are counted."""
    _state_next(check, page)
    waiting: dict[object, list[Finding]] = {}
    others = 0
    for finding in _shown(check):
        if finding.verdict is Verdict.NOT_STATED and finding.rule.level == "must":
            waiting.setdefault(finding.reason or finding.missing, []).append(finding)
        elif finding.verdict is Verdict.NOT_STATED:
            others += 1
    if waiting:
        page.heading("MUST-RULES NOT DECIDED")
    for group in waiting.values():
        print_waiting(group, check, page)
    if others:
        page.line(f"{number_of(others, 'should-rule')} not decided: --full lists them.")


def _by_question(
    check: Check, page: Page, system: System, fixes: Mapping[str, Sequence[Fix]]
) -> None:
    """Every rule that applies, by question, the worst first."""
    for question, heading in QUESTIONS.items():
        findings = [finding for finding in _shown(check) if finding.rule.question == question]
        if findings:
            page.heading(words_of(check.load)(heading))
        for finding in _worst_first(findings):
            print_entry(finding, check, page, system, fixes.get(finding.rule.id, ()))


def _worst_first(findings: Iterable[Finding]) -> list[Finding]:
    order, levels = list(WORDS), ["must", "should"]
    return sorted(
        findings, key=lambda each: (order.index(each.verdict), levels.index(each.rule.level))
    )


def _shown(check: Check) -> Iterator[Finding]:
    """The findings to list one by one: those that apply, of rulebooks known to be in force."""
    undecided = [entry.book for entry in check.in_force if entry.verdict is Verdict.NOT_STATED]
    for finding in check.findings:
        if finding.verdict is not Verdict.DOES_NOT_APPLY and finding.book not in undecided:
            yield finding


def _end(check: Check, page: Page, things: Sequence[str], fail_on: FailOn, near: float) -> None:
    """The headline again and the first things to do, where they stand above the prompt."""
    outcome = outcome_at(check, fail_on, near)
    page.line()
    page.line(headline(check, fail_on, near), style=_OUTCOME_STYLES[outcome])
    if outcome is Outcome.OPEN:
        fields = deciding_fields(check.findings, _LAST_THINGS)
        state = [f"State {field_words(each.field, check)} ({each.field})" for each in fields]
        things = [*things, *state]
    for number, thing in enumerate(things[:_LAST_THINGS], 1):
        page.line(thing, lead=f"{number}. ")
