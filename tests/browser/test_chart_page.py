"""The wall chart in a browser, and printed: all of it can be read, on one or two sheets."""

import re
from pathlib import Path

from playwright.sync_api import Browser

from checker.advice.arrange.fleet import Fit
from checker.reports.pages.wall_chart_html import html
from checker.reports.shared.wall_chart import Cell, Chart, Part, Stop
from tests.browser.opened import DESK, PHONE, Opened

STOP = Stop(
    "trailer-within-gvwr",
    "Loaded trailer heavier than its gross rating",
    "gross weight of the loaded trailer 9,950 lb; wanted at most 7,000 lb (42.1 % outside)",
)
FITS: tuple[Fit | None, ...] = (*Fit, None)


def chart(machines: int, trailers: int) -> Chart:
    """A chart with every kind of cell, as wordy as they become."""

    def cell(machine: int, trailer: int) -> Cell:
        fit = FITS[(machine * trailers + trailer) % len(FITS)]
        return Cell(
            machine=machine,
            trailer=trailer,
            fit=fit,
            stopped_by=(STOP, STOP) if fit is Fit.DOES_NOT_FIT else (),
            undecided=(),
            missing=("walkaround.breakaway_connected",) * 4 if fit is Fit.UNDECIDED else (),
            short=(STOP,) if fit is Fit.SHORT else (),
            gear="4 chains" if fit in (Fit.FITS, Fit.SHORT) else "",
            reason="",
        )

    return Chart(
        title="Which machine fits which trailer",
        day="2026-06-11",
        taken=("Gear: 6 straps.",),
        machines=tuple(Part(f"Compact tractor {each}", "m.yaml", ()) for each in range(machines)),
        trailers=tuple(
            Part(f"Flatbed, tandem axle {each}", "t.yaml", ()) for each in range(trailers)
        ),
        cells=tuple(cell(m, t) for m in range(machines) for t in range(trailers)),
    )


def test_a_chart_is_whole_and_accessible(browser: Browser, tmp_path: Path) -> None:
    (tmp_path / "chart.html").write_text(html(chart(9, 4)))
    Opened(browser, tmp_path / "chart.html", PHONE, "light").is_whole_and_accessible()


def test_twelve_machines_and_six_trailers_print_on_two_sheets(
    browser: Browser, tmp_path: Path
) -> None:
    (tmp_path / "chart.html").write_text(html(chart(12, 6)))
    page = Opened(browser, tmp_path / "chart.html", DESK, "light").page
    printed = page.pdf(format="Letter", landscape=True, prefer_css_page_size=True)
    assert len(re.findall(rb"/Type\s*/Page\b", printed)) <= 2
