"""What the audit that people run costs: `cinchbook audit` by all rules; `impact` over its log.

Run `python -m tests.benchmarks.bench_audit`, on a machine with nothing else to do; it takes ten
minutes, most of them for the code of before. That is `--before`, a commit, checked out for the time
of the run as a git worktree: the last one that worked out restraint haul by haul.
"""

import argparse
import os
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import NamedTuple

from checker.documents.resources import shipped_folder
from tests.benchmarks.bench_season import family, resident
from tests.benchmarks.many_profiles import write_hauls, write_profiles

BEFORE = "46cc595"
HERE = Path(__file__).parents[2]
HAULS, MANY = 10_000, 100_000


class Cost(NamedTuple):
    """Processor time of a command with its processes in s, its time in s, its most memory in MB."""

    processor: float
    time: float
    memory: float


def cost(tree: Path, folder: Path, *command: str) -> Cost:
    """Run a command of the program in a tree from within a folder, without what it kept before."""
    with tempfile.TemporaryDirectory() as cache:
        here = os.environ | {"PYTHONPATH": str(tree), "XDG_CACHE_HOME": cache}
        begun = time.perf_counter()
        running = subprocess.Popen(
            [sys.executable, "-m", "checker", *command],
            env=here,
            cwd=folder,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        most = [0.0]
        watcher = threading.Thread(target=_watch, args=(running, most))
        watcher.start()
        _, status, used = os.wait4(running.pid, 0)
        running.returncode = os.waitstatus_to_exitcode(status)
        watcher.join()
    assert running.returncode in (0, 1, 2, 3), running.returncode
    return Cost(used.ru_utime + used.ru_stime, time.perf_counter() - begun, most[0])


def _watch(running: "subprocess.Popen[bytes]", most: list[float]) -> None:
    while running.returncode is None:
        most[0] = max(most[0], sum(map(resident, family(running.pid))))
        time.sleep(0.05)


@contextmanager
def checked_out(commit: str) -> Iterator[Path]:
    """A worktree of the commit."""
    with tempfile.TemporaryDirectory() as name:
        tree = Path(name) / "tree"
        git = ["git", "-C", str(HERE), "worktree"]
        subprocess.run([*git, "add", "--quiet", "--detach", str(tree), commit], check=True)
        try:
            yield tree
        finally:
            subprocess.run([*git, "remove", "--force", str(tree)], check=True)


def main() -> None:
    """Measure and print the table of the page."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--before", default=BEFORE)
    parser.add_argument("--hauls", type=int, default=HAULS)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as name, checked_out(asked.before) as old:
        folder = Path(name)
        bundled = sorted((shipped_folder("profiles") / "loads").glob("*.yaml"))
        os.chdir(folder)
        many_loads = write_profiles(folder, 200, 1)
        for loads, words in ((bundled, "the bundled load profiles"), (many_loads, "200 profiles")):
            log = folder / f"hauls-over-{len(loads)}.csv"
            write_hauls(log, loads, asked.hauls, 1)
            audit = ("audit", str(log), "--as", "json")
            now, then = cost(HERE, folder, *audit), cost(old, folder, *audit)
            faster = then.processor / now.processor
            rate = asked.hauls / now.time
            _row(
                f"{asked.hauls:,} hauls over {words}, hauls for a second of processor time",
                f"x{faster:.1f}",
                "the code before",
                f"{then.processor:.0f} s then, {now.processor:.1f} s now; {rate:,.0f} a second",
            )
            if loads is bundled:
                fewer = now
        log = folder / "many.csv"
        write_hauls(log, bundled, MANY, 2)
        more = cost(HERE, folder, "audit", str(log), "--as", "json")
        each = (more.processor / MANY) / (fewer.processor / asked.hauls)
        _row(
            f"{MANY:,} hauls, memory",
            f"x{more.memory / fewer.memory:.2f}",
            f"that of {asked.hauls:,}",
            f"{fewer.memory:.0f} MB and {more.memory:.0f} MB",
        )
        _row(
            f"{MANY:,} hauls, processor time for each",
            f"x{each:.2f}",
            f"that of {asked.hauls:,}",
            f"{MANY / more.time:,.0f} hauls a second",
        )
        policy = shipped_folder("profiles") / "seasons" / "2026" / "policy"
        log = folder / f"hauls-over-{len(bundled)}.csv"
        over = cost(HERE, folder, "impact", str(policy), "--over", str(log), "--as", "json")
        _row(
            f"impact of a policy over {asked.hauls:,} hauls",
            f"x{over.processor / fewer.processor:.2f}",
            "their audit",
            f"{over.processor:.1f} s of processor time, {over.memory:.0f} MB",
        )


def _row(what: str, ratio: str, floor: str, note: str) -> None:
    print(f"| {what} | {ratio} | {floor} | {note} |", flush=True)  # noqa: T201


if __name__ == "__main__":
    main()
