"""What an audit of a season costs, as ratios to floors measured in the same run.

Run `python -m tests.benchmarks.bench_season`, on a machine with nothing else to do; it invents a
fleet of 200 load profiles and logs over them in a temporary folder and takes some minutes. With
`--quick` the logs are a tenth as long.
"""

import argparse
import csv
import os
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path

from msgspec.structs import replace

from checker.documents.reader import _events
from checker.documents.resources import shipped_folder
from checker.logs.opening import open_log
from checker.rulebooks.model import Rulebooks
from checker.season.audit import audit
from checker.season.hauls.digests import change_mark, digest_of_log, ensure_unchanged
from checker.season.running.executors import processes
from checker.season.running.worker import Plan, worker
from tests.benchmarks.many_profiles import write_hauls, write_profiles
from tests.season.quick import quick_rules

FEW, MANY, FILES = 100_000, 1_000_000, 10_000
RUNS = 4


def rules(_names: tuple[str, ...]) -> Rulebooks:
    """All rules of the United States and of common practice but those that ask for a programme."""
    read = quick_rules()
    here = tuple(book for book in read.books if book.jurisdiction.split("-")[0] in ("any", "US"))
    return replace(read, books=here)


def audited(log: Path) -> None:
    """Audit a log in processes of this machine, as the command does."""
    plan = Plan(rules, (), Path, None, 0.05)
    worker.cache_clear()
    mark = change_mark(log)
    done = audit(open_log(log), plan, digest_of_log(log), executor=processes)
    ensure_unchanged(log, mark)
    # Some hauls state a pressure that contradicts an answer of their load.
    assert done.refused < done.read / 20


def columns_read(log: Path) -> None:
    """Merely read the columns of a CSV."""
    with log.open(newline="") as file:
        for row in csv.reader(file):
            del row


def events_drained(folder: Path) -> None:
    """Merely drain the parser's events over the files of a folder."""
    for file in folder.rglob("*.yaml"):
        for event in _events(file.read_text()):
            del event


def seconds(*works: Callable[[], object]) -> list[float]:
    """The least time of each in a few rounds: whatever else the machine does can only add to it.

    They take turns, because a virtual machine may be slower for half a minute.
    """
    least = [float("inf")] * len(works)
    for _ in range(RUNS):
        for place, work in enumerate(works):
            start = time.perf_counter()
            work()
            least[place] = min(least[place], time.perf_counter() - start)
    return least


def peak(log: Path) -> float:
    """The most memory, in MB, that an audit in a fresh process and its workers hold together."""
    program = (
        "import sys; from pathlib import Path; "
        "from tests.benchmarks.bench_season import audited; audited(Path(sys.argv[1]))"
    )
    here = os.environ | {"PYTHONPATH": str(Path(__file__).parents[2])}
    running = subprocess.Popen([sys.executable, "-c", program, str(log)], env=here)
    most = 0.0

    def watch() -> None:
        nonlocal most
        while running.poll() is None:
            most = max(most, sum(map(resident, family(running.pid))))
            time.sleep(0.02)

    watcher = threading.Thread(target=watch)
    watcher.start()
    running.wait()
    watcher.join()
    return most


def family(pid: int) -> Iterator[int]:
    """A process and its children, where Linux tells them."""
    yield pid
    try:
        children = Path(f"/proc/{pid}/task/{pid}/children").read_text().split()
    except OSError:
        return
    yield from map(int, children)


def resident(pid: int) -> float:
    """The memory in MB that is a process's own: what it shares with its parent is the parent's."""
    try:
        lines = Path(f"/proc/{pid}/smaps_rollup").read_text().splitlines()
    except OSError:
        return 0.0
    return next(int(line.split()[1]) for line in lines if line.startswith("Pss:")) / 1024


def row(what: str, ratio: float, floor: str, wanted: str, note: str) -> None:
    """Print one line of the page's table."""
    print(f"| {what} | x{ratio:.2f} | {floor} | {wanted} | {note} |", flush=True)  # noqa: T201


def main() -> None:
    """Measure and print the table of the page."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--quick", action="store_true")
    part = 10 if parser.parse_args().quick else 1
    few, many, files = FEW // part, MANY // part, FILES // part
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        os.chdir(folder)
        loads = write_profiles(folder, 200, 1)
        logs = {hauls: folder / f"hauls-{hauls}.csv" for hauls in (few, many)}
        for hauls, log in logs.items():
            write_hauls(log, loads, hauls, 1)
        read, took_few, took = seconds(
            lambda: columns_read(logs[many]),
            lambda: audited(logs[few]),
            lambda: audited(logs[many]),
        )
        row(
            f"{many:,} hauls over 200 load profiles, CSV",
            took / read,
            "reading its columns with the csv module",
            "5",
            f"{many / took:,.0f} hauls a second",
        )
        row(
            f"time of {many:,} hauls",
            took / took_few,
            f"that of {few:,}",
            "10",
            f"{took_few:.1f} s and {took:.1f} s",
        )
        memory = {hauls: peak(log) for hauls, log in logs.items()}
        row(
            f"memory of {many:,} hauls",
            memory[many] / memory[few],
            f"that of {few:,}",
            "0.9 to 1.1",
            f"{memory[few]:.0f} MB and {memory[many]:.0f} MB",
        )
        bundled = sorted((shipped_folder("profiles") / "loads").glob("*.yaml"))
        for name, profiles in (("the bundled", bundled), ("200", loads)):
            hauls = folder / f"hauls-over-{len(profiles)}"
            write_hauls(hauls, profiles, files, 2)
            drained, yaml = seconds(
                lambda: events_drained(hauls),  # noqa: B023 - called here
                lambda: audited(hauls),  # noqa: B023
            )
            row(
                f"a folder of {files:,} hauls in YAML over {name} load profiles",
                yaml / drained,
                "draining the parser's events over it",
                "2.5",
                f"{files / yaml:,.0f} hauls a second",
            )


if __name__ == "__main__":
    main()
