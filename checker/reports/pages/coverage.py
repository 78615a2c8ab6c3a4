"""Paragraphs of the law of a place and their homes, as text."""

from collections import Counter
from collections.abc import Sequence

from rich.console import Console

from checker.documents.jurisdiction_codes import place_name
from checker.reports.shared.page import Page
from checker.reports.shared.words import number_of
from checker.rulebooks.coverage import Gap
from checker.rulebooks.model import Coverage
from checker.rulebooks.places import HeldForPlace, clauses


def print_coverage(coverages: Sequence[Coverage], missing: Sequence[Gap], console: Console) -> None:
    """Every paragraph on a line of its own, the count of each home, then what is missing."""
    page = Page(console)
    for coverage in coverages:
        page.heading(coverage.title)
        for paragraph in coverage.paragraphs:
            home = ", ".join(paragraph.rules) or paragraph.reason or ""
            page.line(f"{paragraph.home}: {home}", lead=f"{paragraph.id}  ")
        homes = Counter(paragraph.home for paragraph in coverage.paragraphs)
        total = len(coverage.paragraphs)
        page.line()
        page.line(f"{total} paragraphs: " + ", ".join(f"{n} {home}" for home, n in homes.items()))
    for gap in missing:
        page.line(f"{gap.location}: {gap.text}")
    page.line("Nothing is missing." if not missing else f"{len(missing)} missing.", style="bold")


def print_clauses(held: HeldForPlace, console: Console) -> None:
    """Every clause that rules of a place cite, by document, and the subjects nobody read."""
    page = Page(console)
    total = 0
    for source, cited in clauses(held.own).items():
        if source is None:
            page.heading("No document, common practice")
        else:
            page.heading(f"{source.title}, {source.edition} ({source.read_as})")
            total += len(cited)
        for clause, rules in cited.items():
            page.line(", ".join(rules), lead=f"{clause}  " if clause else "")
    page.line()
    page.line(f"{number_of(total, 'clause')} that rules of {place_name(held.place)} cite.")
    if held.not_read:
        page.line(f"Subjects of its law not read: {', '.join(held.not_read)}")
    page.line(
        "No list of the paragraphs of its law is held: what else it says is not compared.",
        style="bold",
    )
