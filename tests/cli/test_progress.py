"""How far a long run has come: true rates, and lines where there is no terminal."""

import io
import threading
import time

import pytest
from rich.console import Console

from checker.cli import progress
from checker.cli.progress import Progress


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> list[float]:
    """The time that the progress sees, in s."""
    now = [100.0]
    monkeypatch.setattr(progress.time, "monotonic", lambda: now[0])
    return now


def words(shown: Progress) -> str:
    return shown._words


def test_the_rate_is_since_the_stage_began(clock: list[float]) -> None:
    shown = Progress()
    shown.reading(400, 1_000)
    clock[0] += 50.0
    shown.checking(0, 10_000)
    assert words(shown) == "0 of 10,000 hauls"
    clock[0] += 4.0
    shown.checking(2_000, 10_000)
    # By hand: 2,000 in 4 s are 500 a second, and 8,000 more take 16 s.
    assert words(shown) == "2,000 of 10,000 hauls, 500 a second, 0:00:16 left"
    clock[0] += 16.0
    shown.checking(10_000, 10_000)
    assert words(shown) == "10,000 of 10,000 hauls, 500 a second"


def test_what_an_earlier_run_has_done_is_not_counted_into_the_rate(clock: list[float]) -> None:
    shown = Progress()
    shown.checking(9_000, 10_000)
    clock[0] += 10.0
    shown.checking(9_100, 10_000)
    assert words(shown) == "9,100 of 10,000 hauls, 10 a second, 0:01:30 left"


def test_a_stage_of_unknown_length_has_no_time_left(clock: list[float]) -> None:
    shown = Progress()
    shown.checking(0, None)
    clock[0] += 2.0
    shown.checking(300, None)
    assert words(shown) == "300 hauls, 150 a second"
    shown.reading(5, None)
    assert words(shown) == ""


def test_a_log_is_read_in_shares_of_its_size(clock: list[float]) -> None:
    shown = Progress()
    clock[0] += 3.0
    shown.reading(250, 1_000)
    assert words(shown) == "25 %, 0:00:09 left"


def test_lines_are_written_where_there_is_no_terminal(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(progress, "_SECONDS_BETWEEN_LINES", 0.05)
    with Progress() as shown:
        shown.checking(0, 500)
        shown.checking(100, 500)
        time.sleep(0.3)
    written = capsys.readouterr()
    assert written.out == ""
    lines = written.err.splitlines()
    assert 2 <= len(lines) <= 7
    assert all(line.startswith("Checking: 100 of 500 hauls, ") for line in lines)


def test_a_quick_run_writes_nothing(capsys: pytest.CaptureFixture[str]) -> None:
    with Progress() as shown:
        shown.checking(500, 500)
    written = capsys.readouterr()
    assert written.out + written.err == ""


class _Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def shown_while_waiting(
    monkeypatch: pytest.MonkeyPatch, stream: io.StringIO, seconds: float
) -> str:
    monkeypatch.setattr(progress, "_QUIET_SECONDS", 0.1)
    monkeypatch.setattr(progress, "console", lambda **_: Console(file=stream, _environ={}))
    with progress.waiting("Searching for an arrangement"):
        time.sleep(seconds)
    return stream.getvalue()


def test_a_search_that_takes_long_says_so_on_a_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    assert "Searching" in shown_while_waiting(monkeypatch, _Terminal(), 0.4)


def test_a_quick_search_and_one_in_a_pipe_print_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    assert shown_while_waiting(monkeypatch, _Terminal(), 0.0) == ""
    assert shown_while_waiting(monkeypatch, io.StringIO(), 0.3) == ""


def test_the_line_ends_with_the_search_where_that_fails(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(progress, "console", lambda **_: Console(file=_Terminal(), _environ={}))
    before = threading.active_count()
    with pytest.raises(ValueError, match="stopped"), progress.waiting("Searching"):
        raise ValueError("stopped")
    assert threading.active_count() == before
