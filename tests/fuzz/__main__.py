"""Many seeds by hand: `python -m tests.fuzz --inputs 100000 --seed 0`.

A crash, a call that does not come back and one that takes all memory are counted, and the worker
is begun anew. Ctrl-C stops; the summary names the seed to go on from.
"""

import argparse
import json
import os
import select
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

MOST_WAIT = 30.0
"""Seconds on the clock after which a call is taken for one that does not come back."""
_INPUTS_OF_A_WORKER = 1_500
_LARGE = 380.0
"""Megabytes a worker has grown to, by itself, when it is begun anew."""


class Worker:
    """A process at work on one seed at a time."""

    def __init__(self, into: Path) -> None:
        self.into = into
        self.process: subprocess.Popen[bytes] | None = None
        self.seed: int | None = None
        self.since = 0.0
        self.done = 0

    def hand(self, seed: int) -> None:
        """Have a seed run; the process is begun where there is none."""
        if self.process is None:
            self.process = subprocess.Popen(
                [sys.executable, "-m", "tests.fuzz.worker", str(self.into)],
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
            self.process.wait()
            self.process = None

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
        if time.monotonic() - self.since > MOST_WAIT:
            return self._lost("hang")
        return None

    def _lost(self, sort: str) -> dict[str, Any]:
        answer = {"seed": self.seed, "command": "?", "code": None, "seconds": 0.0, "megabytes": 0.0}
        self.end()
        self.seed = None
        return answer | {"faults": [sort]}


def answers(seeds: Iterator[int], number: int, into: Path) -> Iterator[dict[str, Any]]:
    """What came of every seed, from so many workers, as they come."""
    workers = [Worker(into) for _ in range(number)]
    try:
        for worker in workers:
            if (seed := next(seeds, None)) is not None:
                worker.hand(seed)
        while busy := [worker for worker in workers if worker.seed is not None]:
            select.select([worker.answers for worker in busy], [], [], 1.0)
            for worker in busy:
                answer = worker.answer()
                if answer is not None:
                    yield answer
                    if (seed := next(seeds, None)) is not None:
                        worker.hand(seed)
    finally:
        for worker in workers:
            worker.end()


def main() -> None:
    """Run the seeds asked for, and tell what was found."""
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz", description=__doc__)
    parser.add_argument("--inputs", type=int, default=5_000, help="how many")
    parser.add_argument("--seed", type=int, default=0, help="the first; the others follow it")
    parser.add_argument("--workers", type=int, default=2, help="processes at work")
    parser.add_argument("--into", type=Path, default=Path("fuzzed"), help="where faults are kept")
    asked = parser.parse_args()
    asked.into.mkdir(parents=True, exist_ok=True)
    into = asked.into.resolve()
    os.environ["PYTHONHASHSEED"] = "0"
    found: dict[str, list[int]] = {}
    codes: Counter[str] = Counter()
    slowest = largest = (0.0, asked.seed)
    console = Console(stderr=True)
    columns = [TextColumn("{task.fields[faults]} sorts of faults"), BarColumn()]
    last = asked.seed - 1
    seeds = iter(range(asked.seed, asked.seed + asked.inputs))
    with Progress(*columns, MofNCompleteColumn(), TimeRemainingColumn(), console=console) as bar:
        task = bar.add_task("", total=asked.inputs, faults=0)
        try:
            for answer in answers(seeds, asked.workers, into):
                last = max(last, answer["seed"])
                codes[f"{answer['command']} {answer['code']}"] += 1
                slowest = max(slowest, (answer["seconds"], answer["seed"]))
                largest = max(largest, (answer["megabytes"], answer["seed"]))
                for sort in answer["faults"]:
                    found.setdefault(sort, []).append(answer["seed"])
                with (into / "answers.jsonl").open("a") as log:
                    log.write(json.dumps(answer) + "\n")
                bar.update(task, advance=1, faults=len(found))
        except KeyboardInterrupt:
            console.print(f"stopped; go on with --seed {last + 1}")
    Console(highlight=False, markup=False, soft_wrap=True).print(
        _summary(found, codes, slowest, largest)
    )
    sys.exit(1 if found else 0)


def _summary(
    found: dict[str, list[int]],
    codes: Counter[str],
    slowest: tuple[float, int],
    largest: tuple[float, int],
) -> str:
    lines = [f"{codes.total()} inputs"]
    lines += [f"  {name}: {number}" for name, number in sorted(codes.items())]
    lines += [f"slowest {slowest[0]:.1f} s (seed {slowest[1]})"]
    lines += [f"largest {largest[0]:.0f} MB (seed {largest[1]})"]
    lines += [f"{sum(map(len, found.values()))} faults of {len(found)} sorts"]
    for sort, seeds in sorted(found.items(), key=lambda each: -len(each[1])):
        lines.append(f"  {len(seeds)} x {sort}; seeds {', '.join(map(str, seeds[:5]))}")
    return "\n".join(lines)


if __name__ == "__main__":
    main()
