"""A wall chart on a terminal: the table, then each pair that does not simply fit, with why."""

from rich.console import Console
from rich.table import Table
from rich.text import Text

from checker.reports.shared.page import Page
from checker.reports.shared.wall_chart import (
    MEANINGS,
    Chart,
    Sheet,
    cell_words,
    headline,
    needs_words,
)
from checker.reports.shared.words import CAUTIONS

_LEAST_COLUMN, _MACHINES = 9, 28


def print_chart(chart: Chart, console: Console) -> None:
    """Print which machine fits which trailer."""
    page = Page(console)
    page.line(f"{chart.title}, for {chart.day}", style="bold")
    for each in chart.taken:
        page.line(each)
    for sheet in chart.sheets():
        if sheet.title:
            page.heading(f"Behind {sheet.title}")
        page.line(headline(sheet.cells), style="bold")
        page.line()
        _table(chart, sheet, console, page)
    used = {each.mark for each in chart.cells}
    for mark, meaning in MEANINGS:
        if mark in used:
            page.line(meaning, lead=f"{mark:8} ")
    for sheet in chart.sheets():
        for number in range(len(chart.machines)):
            _machine(chart, sheet, number, page)
    _unread(chart, page)
    page.line()
    page.line("`cinchbook arrange LOAD` gives the place, the hook-up and the margins of one pair.")
    page.line(" ".join(CAUTIONS), style="italic")


def _table(chart: Chart, sheet: Sheet, console: Console, page: Page) -> None:
    """The chart itself; trailers by number where their titles have no room."""
    room = page.width - _MACHINES
    is_wide = room // max(len(chart.trailers), 1) >= _LEAST_COLUMN + 3
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    table.add_column("Machine", max_width=_MACHINES)
    for number, trailer in enumerate(chart.trailers, 1):
        table.add_column(Text(trailer.title if is_wide else f"({number})"))
    for number, machine in enumerate(chart.machines):
        table.add_row(machine.title, *(Text(each.mark) for each in chart.row(sheet, number)))
    console.print(table)
    if not is_wide:
        for number, trailer in enumerate(chart.trailers, 1):
            page.line(trailer.title, lead=f"({number}) ")
    page.line()


def _machine(chart: Chart, sheet: Sheet, number: int, page: Page) -> None:
    """Why one machine does not fit, and with which gear it does."""
    machine = chart.machines[number]
    if machine.problems:
        return
    page.heading(f"{machine.title} behind {sheet.title}" if sheet.title else machine.title)
    for cell in chart.row(sheet, number):
        trailer = chart.trailers[cell.trailer]
        if trailer.problems:
            continue
        style = "" if needs_words(cell) else "bold"
        page.line(
            f"{trailer.title}: {' '.join(cell_words(cell))}", lead=f"{cell.mark:8} ", style=style
        )


def _unread(chart: Chart, page: Page) -> None:
    """The files with problems."""
    if chart.unread:
        page.heading("NOT READ")
    for part in chart.unread:
        for problem in part.problems:
            page.line(problem, lead="- ")
