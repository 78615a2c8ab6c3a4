"""The borders of a trip in a text report: what differs behind each."""

from checker.evaluation.check import Check
from checker.reports.pages.check.entries import COLUMN, STYLES, WORDS
from checker.reports.shared.page import Page
from checker.reports.shared.route_words import BorderEntry, borders_in_words, more_words
from checker.reports.shared.words import verdict_label


def print_borders(check: Check, page: Page, *, full: bool) -> None:
    """Print each border of the trip; unless `full`, only some of the rules that are met or end."""
    borders = borders_in_words(check)
    if borders:
        page.heading("BORDERS - what changes at each, in the order of travel")
    for border in borders:
        page.line(border.heading, style="bold")
        shown, more = (border.entries, 0) if full else border.in_short()
        for entry in shown:
            _print_entry(entry, page)
        if more:
            page.line(f"{more_words(more)}: --full lists them.", lead="- ")
        for note in border.notes:
            page.line(note, lead="- ")


def _print_entry(entry: BorderEntry, page: Page) -> None:
    label = entry.ends or verdict_label(entry.finding, WORDS)
    style = "" if entry.ends else STYLES[entry.finding.verdict]
    words = f"{entry.words} [{entry.finding.rule.id}]"
    page.line(words, lead=f"{label:<{COLUMN}}", lead_style=style)
