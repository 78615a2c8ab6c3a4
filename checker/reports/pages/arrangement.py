"""An arrangement on a terminal: what changes, the steps, the drawing, what remains."""

from collections.abc import Sequence

from rich.console import Console

from checker.reports.shared.arrangement.record import (
    ArrangementReport,
    NoArrangement,
    RuleLine,
    first_line,
)
from checker.reports.shared.arrangement_help import gear_need_lines, mark_room_lines
from checker.reports.shared.check_results import note_lines, warnings
from checker.reports.shared.deck_section import print_deck
from checker.reports.shared.glossary import words_of
from checker.reports.shared.outcome_words import headline, total_words
from checker.reports.shared.page import Page
from checker.reports.shared.scene_building import build_scene
from checker.reports.shared.words import CAUTIONS

_MOST_LEFT = 8


def print_arrangement(report: ArrangementReport | NoArrangement, console: Console) -> None:
    """Print an arrangement as numbered steps, or that there is none."""
    page = Page(console)
    if isinstance(report, NoArrangement):
        page.line(f"{report.load_title}: how to arrange it", style="bold")
        page.line(f"{report.file}, for {report.on}")
        page.line()
        page.line(report.why, style="bold red")
        for line in report.reasons:
            page.line(line)
        page.line()
        page.line(" ".join(CAUTIONS), style="italic")
        return
    check = report.check
    with page.at_once():
        _head(report, page)
        page.heading("STEPS, in the order of the work")
        for number, step in enumerate(report.steps, 1):
            lead = f"{number}. "
            page.line(step.text, lead=lead)
            for detail in step.details:
                page.line(detail, lead=f"{' ' * len(lead)}- ")
        words = words_of(check.load)
        print_deck(build_scene(check), page, report.system, words, full=False)
        _left(report.left, page)
        if report.nearest:
            page.heading("NEAREST TO THEIR LIMITS")
        for each in report.nearest:
            page.line(f"{each.statement}: {each.summary} [{each.rule}]", lead="- ")
        _trials(report, page)
        page.heading("WHAT WAS COMPARED")
        page.line(f"{report.compared} For another order: --order.")
        for line in report.blocks_left_out:
            page.line(line)
        page.line()
        page.line(" ".join(CAUTIONS), style="italic")


def _trials(report: ArrangementReport, page: Page) -> None:
    if report.trials.rooms:
        page.heading("HOW FAR IT MAY BE OFF")
    for line in mark_room_lines(report.trials.rooms, report.system):
        page.line(line)
    if report.trials.gear_needs:
        page.heading("WITHOUT SOME OF THE GEAR")
    for line in gear_need_lines(report.trials.gear_needs):
        page.line(line)


def _head(report: ArrangementReport, page: Page) -> None:
    check = report.check
    page.line(f"{check.load.title}: how to arrange it", style="bold")
    page.line(f"{check.load.file}, for {check.on.isoformat()}, with {report.gear}")
    for line in note_lines(check):
        page.line(line)
    page.line()
    page.line(first_line(report), style="bold")
    for change in report.changes:
        page.line(change, lead="- ")
    page.line(f"Arranged so: {headline(check)}", style="bold")
    page.line(total_words(check.findings))
    for each in warnings(check):
        page.line(f"{each.words} ({each.location})", lead="! ", lead_style="bold yellow")


def _left(left: Sequence[RuleLine], page: Page) -> None:
    """The rules that stay broken or open."""
    if not left:
        return
    page.heading("WHAT STAYS BROKEN OR OPEN")
    for each in left[:_MOST_LEFT]:
        level = "" if each.level == "must" else " (should)"
        page.line(f"{each.statement}{level}: {each.summary} [{each.rule}]", lead=f"{each.label} ")
        if each.action:
            page.line(f"Do: {each.action}", lead=" " * (len(each.label) + 1))
    if len(left) > _MOST_LEFT:
        page.line(f"and {len(left) - _MOST_LEFT} more: `cinchbook check` lists them.")
