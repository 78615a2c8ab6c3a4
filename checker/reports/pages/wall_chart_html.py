"""A wall chart as an HTML page to print and pin up; each fit is a word, and not only a colour."""

from checker import __version__
from checker.reports.shared.html.environment import template
from checker.reports.shared.wall_chart import MEANINGS, Chart, cell_words, headline
from checker.reports.shared.words import CAUTIONS

_STATES = {"FITS": "clear", "FITS*": "clear", "OPEN": "open", "NO": "hold", "NOT READ": "hold"}


def html(chart: Chart) -> str:
    """One HTML file that needs no other file and no network; equal input gives equal bytes."""
    rows = [
        (
            machine,
            [
                (cell.mark, _STATES[cell.mark], " ".join(cell_words(cell)))
                for cell in chart.row(number)
            ],
        )
        for number, machine in enumerate(chart.machines)
    ]
    used = {cell.mark for cell in chart.cells}
    return template("wall_chart.html.j2").render(
        chart=chart,
        version=__version__,
        headline=headline(chart),
        rows=rows,
        meanings=[each for each in MEANINGS if each[0] in used],
        unread=[each for each in (*chart.machines, *chart.trailers) if each.problems],
        cautions=CAUTIONS,
    )
