"""How far a long run has come, on standard error: a bar on a terminal, else a line now and then."""

import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta

from checker.cli.options import say
from checker.cli.output import console

_SECONDS_BETWEEN_LINES = 30.0
_QUIET_SECONDS = 1.0


class Progress:
    """The stage a run is at, with its rate since the stage began and the time left at that rate.

    What an earlier run has done is not counted into the rate.
    """

    def __init__(self) -> None:
        from rich.progress import BarColumn, TextColumn
        from rich.progress import Progress as Bar

        shown_on = console(stderr=True)
        self._bar = Bar(
            TextColumn("{task.description}"),
            BarColumn(),
            TextColumn("{task.fields[words]}"),
            console=shown_on,
            transient=True,
            disable=not shown_on.is_terminal,
        )
        self._stage = "Reading the log"
        self._began, self._before = time.monotonic(), 0
        self._words = ""
        self._task = self._bar.add_task(self._stage, total=None, words="")
        self._ended = threading.Event()
        self._lines = threading.Thread(target=self._write_lines, daemon=True)
        self._writes_lines = not shown_on.is_terminal

    def __enter__(self) -> "Progress":
        self._bar.start()
        if self._writes_lines:
            self._lines.start()
        return self

    def __exit__(self, *_error: object) -> None:
        self._ended.set()
        self._bar.stop()

    def reading(self, done: int, size: int | None) -> None:
        """So much of the log is read; its size may not be known."""
        self._at("Reading the log", done, size)

    def sorting(self, done: int, loads: int) -> None:
        """So many of the load profiles are read."""
        self._at("Reading load profiles", done, loads, "load profiles")

    def checking(self, done: int, hauls: int | None) -> None:
        """So many of the hauls are checked; how many there are may not be known."""
        self._at("Checking", done, hauls, "hauls")

    def _at(self, stage: str, done: int, total: int | None, unit: str = "") -> None:
        if stage != self._stage:
            self._stage, self._began, self._before = stage, time.monotonic(), done
            self._bar.reset(self._task, description=stage, total=total)
        self._words = self._in_words(done, total, unit)
        self._bar.update(self._task, completed=done, total=total, words=self._words)

    def _in_words(self, done: int, total: int | None, unit: str) -> str:
        """What is done, the rate and the time left, as far as they are known."""
        parts = []
        if unit:
            parts.append(f"{done:,} of {total:,} {unit}" if total else f"{done:,} {unit}")
        elif total:
            parts.append(f"{100.0 * done / total:.0f} %")
        seconds = time.monotonic() - self._began
        if done > self._before and seconds > 0.0:
            rate = (done - self._before) / seconds
            if unit:
                parts.append(f"{rate:,.0f} a second")
            if total and total > done:
                left = timedelta(seconds=round((total - done) / rate))
                parts.append(f"{left} left")
        return ", ".join(parts)

    def _write_lines(self) -> None:
        while not self._ended.wait(_SECONDS_BETWEEN_LINES):
            say(f"{self._stage}: {self._words}" if self._words else self._stage)


@contextmanager
def waiting(words: str) -> Iterator[None]:
    """A line on a terminal that a search goes on, once it has taken a second; elsewhere none."""
    shown_on = console(stderr=True)
    if not shown_on.is_terminal:
        yield
        return
    ended = threading.Event()

    def show() -> None:
        if ended.wait(_QUIET_SECONDS):
            return
        from rich.progress import Progress as Bar
        from rich.progress import SpinnerColumn, TextColumn, TimeElapsedColumn

        columns = SpinnerColumn(), TextColumn("{task.description}"), TimeElapsedColumn()
        with Bar(*columns, console=shown_on, transient=True) as bar:
            bar.add_task(words, total=None)
            ended.wait()

    thread = threading.Thread(target=show, daemon=True)
    thread.start()
    try:
        yield
    finally:
        ended.set()
        thread.join()
