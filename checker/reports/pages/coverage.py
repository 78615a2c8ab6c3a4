"""Paragraphs of a law and their homes, as text."""

from collections import Counter
from collections.abc import Sequence

from rich.console import Console

from checker.reports.shared.page import Page
from checker.rulebooks.coverage import Gap
from checker.rulebooks.model import Coverage


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
