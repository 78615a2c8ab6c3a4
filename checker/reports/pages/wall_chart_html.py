"""A wall chart as an HTML page to print and pin up; each fit is a word, and not only a colour."""

from collections.abc import Iterator

from checker import __version__
from checker.reports.shared.html.environment import template
from checker.reports.shared.wall_chart import (
    MEANINGS,
    Chart,
    Part,
    Sheet,
    cell_words,
    headline,
)
from checker.reports.shared.words import CAUTIONS

_STATES = {"FITS": "clear", "FITS*": "clear", "OPEN": "open", "NO": "hold", "NOT READ": "hold"}


def html(chart: Chart) -> str:
    """One HTML file that needs no other file and no network; equal input gives equal bytes."""
    sheets = [
        (sheet.title, headline(sheet.cells), list(_rows(chart, sheet))) for sheet in chart.sheets()
    ]
    used = {cell.mark for cell in chart.cells}
    return template("wall_chart.html.j2").render(
        chart=chart,
        version=__version__,
        sheets=sheets,
        meanings=[each for each in MEANINGS if each[0] in used],
        unread=chart.unread,
        cautions=CAUTIONS,
    )


def _rows(chart: Chart, sheet: Sheet) -> Iterator[tuple[Part, list[tuple[str, str, str]]]]:
    """Each machine with the mark, the state and the words of its cells."""
    for number, machine in enumerate(chart.machines):
        yield (
            machine,
            [
                (cell.mark, _STATES[cell.mark], " ".join(cell_words(cell)))
                for cell in chart.row(sheet, number)
            ],
        )
