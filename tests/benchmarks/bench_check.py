"""What a check costs, as ratios to floors measured in the same run.

Run `python -m tests.benchmarks.bench_check`. Medians of several runs. Fresh processes take turns
with the floors they are held against, so that a busy spell of the machine falls on both; they may
keep bytecode and what they read, and the first turn, which finds neither, is not counted.
"""

import os
import resource
import statistics
import subprocess
import sys
import time
from collections.abc import Callable, Set
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
from ruamel.yaml import YAML

from checker.cli.check_reports import FORMS
from checker.documents.reader import _events, read_bytes
from checker.documents.resources import shipped_folder
from checker.documents.validate import validate
from checker.evaluation.check import check
from checker.evaluation.evaluator import evaluate
from checker.facts.unmarked import UnmarkedRatings
from checker.facts.view import Facts
from checker.load.build import read_load, read_profile
from checker.load.model import Load
from checker.rulebooks.loading import load_rulebooks
from checker.units.parsing import parse
from tests.docs.sample_repository import make
from tests.season.quick import needs_no_programme

HEAVY = "import typer, rich.console, rich.table, numpy"
_NO_BYTECODE = "PYTHONDONTWRITEBYTECODE"
PROFILE = shipped_folder("profiles") / "loads" / "side-by-side-in-order.yaml"


def seconds(work: Callable[[], object], runs: int) -> float:
    """Median time of one call."""
    work()
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def processes(
    runs: int, cache: str, nothing_kept: Set[str], **words: tuple[str, ...]
) -> dict[str, float]:
    """Median time of fresh interpreters with these arguments, one turn of each after the other.

    Those named in `nothing_kept` find nowhere to keep what they read; the others have a folder.
    """
    kept = {name: value for name, value in os.environ.items() if name != _NO_BYTECODE}
    caches = {name: os.devnull if name in nothing_kept else cache for name in words}
    took: dict[str, list[float]] = {name: [] for name in words}
    for _ in range(runs + 1):
        for name, arguments in words.items():
            env = kept | {"XDG_CACHE_HOME": caches[name]}
            start = time.perf_counter()
            subprocess.run([sys.executable, *arguments], env=env, capture_output=True, check=False)
            took[name].append(time.perf_counter() - start)
    return {name: statistics.median(times[1:]) for name, times in took.items()}


def processor_seconds(runs: int, folder: Path, *words: str) -> float:
    """Median processor time of a fresh interpreter and the processes that it starts."""
    took = []
    for _ in range(runs):
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        subprocess.run([sys.executable, *words], cwd=folder, capture_output=True, check=False)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        took.append(after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)
    return statistics.median(took)


def many_loads() -> None:
    """Print what the sample repository of 54 loads costs, in the shortest form and in all."""
    every_form = ",".join(f"{form}=out/{form}" for form in FORMS)
    with TemporaryDirectory() as name:
        folder = Path(name)
        make(folder)
        check = ("-m", "checker", "check", "profiles/loads")
        floor = processor_seconds(5, folder, "-c", HEAVY)
        processor_seconds(1, folder, *check, "--short")
        short = processor_seconds(3, folder, *check, "--short")
        full = processor_seconds(3, folder, *check, "--write", every_form)
    row("54 loads, no fixes printed, processor time", short, "import typer, rich, numpy", floor)
    row("54 loads in every form, processor time", full, "import typer, rich, numpy", floor)


def row(what: str, took: float, floor: str, least: float) -> None:
    """Print one line of the table."""
    print(f"{what:<46} {took * 1e3:9.3f} ms  x{took / least:8.4g} of {floor}")  # noqa: T201


def main() -> None:
    """Measure and print."""
    raw = PROFILE.read_bytes()
    text = raw.decode()
    drained = seconds(lambda: list(_events(text)), 100)
    row(
        "read a profile with positions",
        seconds(lambda: read_bytes(raw, "p"), 100),
        "draining the parser's events",
        drained,
    )
    row(
        "read it with the round-trip loader",
        seconds(lambda: YAML().load(text), 10),
        "draining the parser's events",
        drained,
    )
    document = read_bytes(raw, "p")
    row(
        "validate it",
        seconds(lambda: validate(document), 20),
        "reading it",
        seconds(lambda: read_bytes(raw, "p"), 100),
    )

    number = seconds(lambda: float("2150"), 1000)
    texts = [f"{whole} 1/2 in" for whole in range(10_000)]
    fresh = iter(texts)
    row(
        "parse a new quantity",
        seconds(lambda: parse(next(fresh), "length"), 1000),
        "float()",
        number,
    )
    row(
        "parse a known quantity", seconds(lambda: parse("2150 lb", "load"), 1000), "float()", number
    )

    load = read_load(PROFILE)
    rulebooks = load_rulebooks(shipped_folder("rules"))
    day = rulebooks.tables[0].starts
    facts = Facts(load, UnmarkedRatings())
    row(
        "judge a load by all shipped rules",
        seconds(lambda: check(load, rulebooks, day), 10),
        "one look-up of a known fact x 1000",
        1000 * seconds(lambda: facts.value("trailer.gvwr", None), 1000),
    )

    rows = 1000
    profile = read_profile(PROFILE)
    weights = np.linspace(4000.0, 8000.0, rows)
    many = profile.load({("articles", 0, "weight"): weights})

    def judged(varied: Load) -> list[object]:
        return list(evaluate(varied, rulebooks, day, wanted=needs_no_programme))

    row(
        f"{rows} rows of the load, all rules but restraint",
        seconds(lambda: judged(many), 5),
        "one row x 1000",
        rows * seconds(lambda: judged(load), 5),
    )
    with TemporaryDirectory() as cache:
        cold = processes(
            15,
            cache,
            {"first"},
            typer=("-c", "import typer"),
            help=("-m", "checker", "--help"),
            heavy=("-c", HEAVY),
            check=("-m", "checker", "check", str(PROFILE)),
            first=("-m", "checker", "check", str(PROFILE)),
        )
    row("cinchbook --help", cold["help"], "import typer", cold["typer"])
    row("cinchbook check, cold", cold["check"], "import typer, rich, numpy", cold["heavy"])
    row("the same, nothing kept", cold["first"], "import typer, rich, numpy", cold["heavy"])
    many_loads()


if __name__ == "__main__":
    main()
