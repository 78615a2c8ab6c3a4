"""Workers that run seeds: what crashes, hangs or takes all memory is counted, and is not fatal."""

import json
import os
import select
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import Any

_INPUTS_OF_A_WORKER = 1_500
_LARGE = 380.0
"""Megabytes a worker has grown to, by itself, when it is begun anew."""


class Worker:
    """A process at work on one seed at a time."""

    def __init__(self, command: Sequence[str], scratch: Path, wait: float) -> None:
        self.command, self.scratch, self.wait = command, scratch, wait
        self.process: subprocess.Popen[bytes] | None = None
        self.seed: int | None = None
        self.since = 0.0
        self.done = 0

    def hand(self, seed: int) -> None:
        """Have a seed run; the process is begun where there is none."""
        if self.process is None:
            self.scratch.mkdir()
            self.process = subprocess.Popen(
                [*self.command, str(self.scratch)],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
                bufsize=0,
            )
            self.done = 0
        self.seed, self.since = seed, time.monotonic()
        assert self.process.stdin is not None
        self.process.stdin.write(b"%d\n" % seed)

    @property
    def answers(self) -> Any:
        """Where its answers come from."""
        assert self.process is not None
        return self.process.stdout

    def end(self) -> None:
        """Kill the process."""
        if self.process is not None:
            self.process.kill()
            with self.process:  # waits for it, and closes its pipes
                self.process = None
            shutil.rmtree(self.scratch)

    def answer(self) -> dict[str, Any] | None:
        """What came of its seed; None where it has not come yet. A lost process is an answer."""
        assert self.seed is not None
        if select.select([self.answers], [], [], 0)[0]:
            line = self.answers.readline()
            if not line:
                return self._lost("crash")
            answer: dict[str, Any] = json.loads(line)
            self.seed = None
            self.done += 1
            if self.done >= _INPUTS_OF_A_WORKER or answer["megabytes"] > _LARGE:
                self.end()
            return answer
        if time.monotonic() - self.since > self.wait:
            return self._lost("hang")
        return None

    def _lost(self, sort: str) -> dict[str, Any]:
        answer = {"seed": self.seed, "command": "?", "code": None, "seconds": 0.0, "megabytes": 0.0}
        self.end()
        self.seed = None
        return answer | {"faults": [sort]}


def answers(
    seeds: Iterable[int],
    into: Path,
    *,
    workers: int = 2,
    wait: float = 120.0,
    command: Sequence[str] = (sys.executable, "-m", "tests.fuzz.worker"),
) -> Iterator[dict[str, Any]]:
    """What came of every seed, from so many workers, as they come; faults are kept in a folder.

    A call that has not ended after `wait` seconds on the clock is taken for one that never does;
    they are many, because those of a busy machine are long.
    """
    todo = iter(seeds)
    # Where there is a disk in memory: making and removing folders is a third of the time elsewhere.
    memory = "/dev/shm" if os.access("/dev/shm", os.W_OK) else None  # noqa: S108 - no fixed name
    scratch = Path(tempfile.mkdtemp(prefix="fuzz-", dir=memory))
    crew = [Worker((*command, str(into)), scratch / str(n), wait) for n in range(workers)]
    try:
        for worker in crew:
            if (seed := next(todo, None)) is not None:
                worker.hand(seed)
        while busy := [worker for worker in crew if worker.seed is not None]:
            select.select([worker.answers for worker in busy], [], [], min(1.0, wait / 4))
            for worker in busy:
                answer = worker.answer()
                if answer is not None:
                    yield answer
                    if (seed := next(todo, None)) is not None:
                        worker.hand(seed)
    finally:
        for worker in crew:
            worker.end()
        scratch.rmdir()
