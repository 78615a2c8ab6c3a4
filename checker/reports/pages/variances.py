"""Variances as text: those in force on a day, to come, and over."""

from collections.abc import Sequence
from datetime import date

from rich.console import Console

from checker.load.model import Variance
from checker.reports.shared.page import Page
from checker.reports.shared.words import number_of, variance_words, whose_loads

_LEAD = "  "


def print_variances(
    listed: Sequence[tuple[Variance, str]], day: date, soon: int, console: Console
) -> None:
    """Each variance once, what ends first on top; one of a load comes with the load's title.

    Those that end within `soon` days are marked.
    """
    page = Page(console)
    ordered = sorted(listed, key=lambda each: (each[0].ends, each[0].starts, each[0].rule))
    in_force = [each for each in ordered if each[0].starts <= day < each[0].ends]
    to_come = [each for each in ordered if day < each[0].starts]
    over = [each for each in ordered if each[0].ends <= day]
    with page.at_once():
        page.line(
            f"On {day}: {number_of(len(in_force), 'variance')} in force, {len(to_come)} to come, "
            f"{len(over)} over"
        )
        for heading, some in (("IN FORCE", in_force), ("TO COME", to_come), ("OVER", over)):
            if not some:
                continue
            page.heading(heading)
            for variance, load in some:
                _print(variance, load, day, soon, page)


def _print(variance: Variance, load: str, day: date, soon: int, page: Page) -> None:
    left = (variance.ends - day).days
    ends_soon = variance.starts <= day and 0 < left <= soon
    mark = f" - ENDS SOON, {number_of(left, 'day')} left" if ends_soon else ""
    style = "bold" if ends_soon else ""
    page.line(f"{variance.rule}, for {load or whose_loads(variance)}{mark}", lead="- ", style=style)
    page.line(f"From {variance.starts} {variance_words(variance)}", lead=_LEAD)
    page.line(str(variance.location), lead=_LEAD)
