"""What an audit prints, against its counts; and the bars and lists that all its forms share."""

import io
import re
from collections.abc import Iterator, Mapping
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.console import Console

from checker.evaluation.outcome import Outcome
from checker.reports.pages.audit.page import print_audit
from checker.reports.shared.audit_results import AuditRun, bar, listed_words, month_by_month
from checker.reports.shared.haul_command import HaulCommands
from checker.rulebooks.verdicts import Verdict
from checker.season.totals import MOST_REMEMBERED, Tally, Totals, WorstHaul
from tests.reports.audits import with_totals


def hauls(numbers: Mapping[Outcome, int]) -> Iterator[WorstHaul]:
    row = 1
    for outcome, number in numbers.items():
        for _ in range(number):
            row += 1
            near = ("a",) if outcome is Outcome.NO_RULE_BROKEN else ()
            yield WorstHaul(row, "x", "2026-05-14", "", outcome, None, (), (), (), near, ())


@pytest.mark.parametrize(
    ("kept", "said"),
    [
        ({Outcome.HOLD: 3}, "All 3 of them are listed."),
        (
            {Outcome.HOLD: 210, Outcome.OPEN: 60, Outcome.NO_RULE_BROKEN: 30},
            "The worst 300 are listed: 210 of 210 on hold, 60 of 60 open, 30 of 242 near a limit. "
            "All are counted.",
        ),
        (
            {Outcome.HOLD: 300},
            "The worst 300 are listed: 300 of 512 on hold, 0 of 60 open, 0 of 242 near a limit. "
            "All are counted.",
        ),
    ],
)
def test_it_is_told_how_many_hauls_are_not_listed(
    season: AuditRun, kept: Mapping[Outcome, int], said: str
) -> None:
    held = 512 if kept == {Outcome.HOLD: MOST_REMEMBERED} else kept[Outcome.HOLD]
    totals = Totals(all=Tally(1000, held, 60, 242), worst_hauls=list(hauls(kept)))
    audit = replace(season.audit, totals=totals)
    assert listed_words(audit) == said


def test_months_without_a_haul_are_months_too() -> None:
    tallies = {"2026-02": Tally(2), "2025-11": Tally(1)}
    assert month_by_month(tallies) == [
        ("2025-11", Tally(1)),
        ("2025-12", Tally()),
        ("2026-01", Tally()),
        ("2026-02", Tally(2)),
    ]


@given(st.lists(st.integers(0, 10**6), min_size=4, max_size=4), st.integers(4, 60))
def test_a_bar_is_full_and_shows_whatever_there_is(numbers: list[int], width: int) -> None:
    found = bar(numbers, width)
    assert sum(found) == (width if sum(numbers) else 0)
    for number, have in zip(numbers, found, strict=True):
        assert (have > 0) == (number > 0)


def test_a_bar_is_shared_out_by_numbers() -> None:
    # By hand: 20 cells for 100 hauls are 5 hauls a cell; 1 haul still has a cell of its own.
    assert bar([50, 25, 25, 0], 20) == [10, 5, 5, 0]
    assert bar([99, 1, 0, 0], 20) == [19, 1, 0, 0]


@pytest.mark.parametrize("width", [40, 60, 100])
def test_the_text_tells_the_trend_as_wide_as_the_terminal(season: AuditRun, width: int) -> None:
    printed = io.StringIO()
    print_audit(season.audit, Console(file=printed, width=width, highlight=False))
    lines = printed.getvalue().splitlines()
    assert max(map(len, lines)) <= width
    months = [line for line in lines if re.match(r"20\d\d-\d\d  ", line)]
    assert [line[:7] for line in months] == [
        *("2025-11", "2025-12", "2026-01", "2026-02", "2026-03"),
    ]
    assert "no haul" in months[1]
    november = season.audit.totals.by["month"]["2025-11"]
    reported = f"2 hauls: {november.held} # {november.open} o {november.near} ~"
    assert reported in months[0]
    signs = months[0].removeprefix("2025-11").removesuffix(reported).strip()
    assert (len(signs) >= 10) == (width >= 60)
    assert set(signs) <= set("#o~.")


@pytest.mark.parametrize(
    ("trailers", "held_last", "reported"),
    [
        (20, 0, None),
        (21, 0, "- and 1 more, none of them with hauls on hold; --write csv=FILE lists all"),
        (23, 23, "- and 3 more, 3 of them with hauls on hold; --write csv=FILE lists all"),
    ],
)
def test_the_text_lists_no_more_than_twenty_trailers(
    season: AuditRun, trailers: int, held_last: int, reported: str | None
) -> None:
    tallies = {
        f"trailer {number:02}": Tally(hauls=9, held=int(number < held_last))
        for number in range(trailers)
    }
    many = with_totals(season, by={**season.audit.totals.by, "trailer": tallies})
    printed = io.StringIO()
    print_audit(many.audit, Console(file=printed, width=100, highlight=False))
    lines = printed.getvalue().splitlines()
    first = lines.index("BY TRAILER") + 1
    assert [line[2:12] for line in lines[first : first + 20]] == list(tallies)[:20]
    assert lines[first + 20] == (reported or "")


def test_the_text_tells_near_misses(season: AuditRun) -> None:
    printed = io.StringIO()
    print_audit(season.audit, Console(file=printed, width=200, highlight=False))
    said = printed.getvalue()
    assert "NEAR MISSES - rules met by no more than 5 % of the limit" in said
    near = {name: each for name, each in season.audit.totals.rules.items() if each.near}
    shown = re.findall(
        r"^ *[0-9]+ .*\[([\w-]+)\], of [0-9]+ hauls that met it$", said, re.MULTILINE
    )
    # The page names the commonest, and no other rule than these.
    assert 1 <= len(shown) <= len(near)
    assert min(near[name].near for name in shown) >= max(
        (tally.near for name, tally in near.items() if name not in shown), default=0
    )
    for name in shown:
        tally = near[name]
        met = f"of {tally.of(Verdict.MET)} hauls that met it"
        assert re.search(rf"^ *{tally.near} .*\[{re.escape(name)}\], {met}$", said, re.MULTILINE)


@pytest.mark.parametrize("checked", [True, False])
def test_how_to_show_a_row_is_said_where_a_row_was_checked(season: AuditRun, checked: bool) -> None:
    run = season if checked else replace(season, audit=replace(season.audit, totals=Totals()))
    printed = io.StringIO()
    console = Console(file=printed, width=200, highlight=False)
    print_audit(run.audit, console, commands=HaulCommands("hauls.csv"))
    assert ("hauls.csv#ROW" in printed.getvalue()) is checked
