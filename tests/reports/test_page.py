"""Lines as wide as the console, by the cells their characters take, in its own encoding."""

import io
from contextlib import nullcontext

import pytest
from rich.cells import cell_len
from rich.console import Console

from checker.reports.shared.page import Page

SENTENCE = "The first stop is at 30 mi and the trailer weighs 2,340 lb, which is 11.7 % of it."


def printed(width: int, text: str, *, encoding: str = "utf-8", lead: str = "") -> list[str]:
    raw = io.BytesIO()
    console = Console(file=io.TextIOWrapper(raw, encoding=encoding), width=width, highlight=False)
    Page(console).line(text, lead=lead)
    console.file.flush()
    return raw.getvalue().decode(encoding).splitlines()


@pytest.mark.parametrize("width", range(24, 90, 3))
def test_a_figure_stays_with_its_unit(width: int) -> None:
    lines = printed(width, SENTENCE)
    assert " ".join(lines) == SENTENCE
    assert max(map(len, lines)) <= width
    for figure in ("30 mi", "2,340 lb", "11.7 %"):
        assert any(figure in line for line in lines)


def test_letters_that_take_two_cells_are_counted_as_two() -> None:
    title = "拖车 与 小型 挖掘机 和 它的 铲斗 " * 3 + "挖掘机" * 12
    lines = printed(40, title)
    assert max(map(cell_len, lines)) <= 40
    assert max(map(cell_len, lines)) > 36
    assert "".join(lines).replace(" ", "") == title.replace(" ", "")


def test_a_word_wider_than_the_page_is_cut() -> None:
    assert printed(30, "a" * 40, lead="- ") == ["- " + "a" * 28, "  " + "a" * 12]


def test_signs_are_spelt_where_the_encoding_has_none() -> None:
    assert printed(
        60, "15 % \N{MULTIPLICATION SIGN} 2,340 lb ± 20 lb, Señor", encoding="ascii"
    ) == ["15 % x 2,340 lb +/- 20 lb, Se?or"]


def test_items_are_not_broken() -> None:
    console = Console(file=io.StringIO(), width=24, highlight=False)
    Page(console).items(["X centre of gravity", "o anchor", "@ ball", "= a rail"])
    assert isinstance(console.file, io.StringIO)
    assert console.file.getvalue().splitlines() == [
        "X centre of gravity",
        "o anchor   @ ball",
        "= a rail",
    ]


def test_a_dumb_terminal_is_as_wide_as_it_says(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TERM", "dumb")
    monkeypatch.setenv("COLUMNS", "44")
    reported = io.StringIO()
    Page(Console(file=reported, force_terminal=True, highlight=False)).line(SENTENCE, style="bold")
    # 42 characters, and 49 with the next word; no colour, although bold is asked for.
    assert reported.getvalue().splitlines() == [
        "The first stop is at 30 mi and the trailer",
        "weighs 2,340 lb, which is 11.7 % of it.",
    ]


def test_what_is_printed_at_once_is_what_is_printed_line_by_line() -> None:
    def written(*, at_once: bool) -> str:
        console = Console(file=io.StringIO(), width=40, highlight=False, force_terminal=True)
        page = Page(console)
        with page.at_once() if at_once else nullcontext():
            page.heading("HEADING")
            page.line(SENTENCE, style="italic", lead="NOT MET ", lead_style="bold red")
            page.line()
            page.items(["one item", "another item", "a third"])
            page.drawn("  ═══ [red]  ", style="green")
        page.line("after")
        reported: str = console.file.getvalue()  # type: ignore[attr-defined]
        return reported

    assert written(at_once=True) == written(at_once=False)
    assert "\x1b[1;31mNOT MET" in written(at_once=True)


def test_nothing_written_at_once_is_nothing_printed() -> None:
    console = Console(file=io.StringIO())
    with Page(console).at_once():
        pass
    assert console.file.getvalue() == ""  # type: ignore[attr-defined]
