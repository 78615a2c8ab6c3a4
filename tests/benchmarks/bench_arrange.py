"""How long an arrangement takes, against checks of the same load, and how good it is.

Run `python -m tests.benchmarks.bench_arrange`. Figures are processor time in multiples of what one
check of the same load takes in the same run, with the rules read. On fifty small loads made at
random every plan is looked at, to see that none is better.
"""

import tempfile
import textwrap
import time
from collections.abc import Callable
from pathlib import Path

from msgspec.structs import replace

from checker.advice.arrange.arrangement import arrange
from checker.advice.arrange.choices import CannotArrangeError, choices_of
from checker.advice.arrange.scores import OBJECTIVES
from checker.documents.resources import shipped_folder
from checker.evaluation.tolerances import check_profile
from checker.load.build import Profile, read_profile
from checker.load.model import Gear
from checker.rulebooks.loading import load_rulebooks
from checker.rulebooks.model import Rulebooks
from checker.units.arithmetic import NOT_STATED
from tests.conftest import SOURCES
from tests.exhaustive_plans import DAY, RULES, best_of_all, small_load
from tests.shipped import shipped_rules
from tests.small_rules import rules_text

LOADS = Path(str(shipped_folder("profiles") / "loads"))
RANDOM_LOADS = 50


def processor_time(work: Callable[[], object]) -> float:
    start = time.process_time()
    work()
    return time.process_time() - start


def six_kinds(gear: Gear) -> Gear:
    """The bundled box with three more straps, of other lengths and strengths."""
    strap = gear.tiedowns[0]
    more = tuple(
        replace(
            strap,
            name=f"straps of {rating} lb",
            count=4,
            length=NOT_STATED,
            stated={
                **strap.stated,
                "marked_working_load_limit": f"{rating} lb",
                "hooks_working_load_limit": f"{rating} lb",
                "tensioner_working_load_limit": f"{rating} lb",
            },
        )
        for rating in (1000, 1667, 2500)
    )
    return replace(gear, tiedowns=(*gear.tiedowns, *more))


def bundled(books: Rulebooks) -> None:
    """Every bundled load with the bundled box, and one with six kinds of gear."""
    print(f"{'load':40} {'checks':>7} {'s':>6}  proved  plans by statics")  # noqa: T201
    for file in sorted(LOADS.glob("*.yaml")):
        profile = read_profile(file)
        _row(file.stem, profile, books, profile.gear)
    profile = read_profile(LOADS / "under-rated-straps.yaml")
    assert profile.gear is not None
    _row("the same with six kinds of gear", profile, books, six_kinds(profile.gear))


def _row(name: str, profile: Profile, books: Rulebooks, gear: Gear | None) -> None:
    check_profile(profile, books, DAY)
    one = min(processor_time(lambda: check_profile(profile, books, DAY)) for _ in range(3))
    start = time.process_time()
    try:
        found = arrange(profile, books, DAY, gear)
    except CannotArrangeError as error:
        print(f"{name:40} {error}")  # noqa: T201
        return
    took = time.process_time() - start
    words = "no arrangement" if found is None else f"{found.proved!s:6}  {found.looked_at}"
    print(f"{name:40} {took / one:7.0f} {took:6.2f}  {words}")  # noqa: T201


def against_every_plan() -> None:
    """Random small loads: the plan found against the best of all."""
    with tempfile.TemporaryDirectory() as folder:
        rules = Path(folder) / "rules"
        rules.mkdir()
        (rules / "sources.yaml").write_text(SOURCES)
        top = "kind: rulebook\nid: book\ntitle: A book\njurisdiction: any\nproved_on: 2026-01-01\n"
        text = textwrap.indent(rules_text(RULES), "  ")
        (rules / "book.yaml").write_text(f"{top}rules:\n{text}")
        books = load_rulebooks(rules)
        same, search, every, plans = 0, 0.0, 0.0, 0
        for seed in range(RANDOM_LOADS):
            profile = small_load(seed, Path(folder))
            start = time.process_time()
            found = arrange(profile, books, DAY)
            search += time.process_time() - start
            start = time.process_time()
            best, count = best_of_all(choices_of(profile, None), books)
            every += time.process_time() - start
            plans += count
            mine = found.figures.key(OBJECTIVES) if found else None
            same += mine == (best.key(OBJECTIVES) if best else None)
    print(f"{same} of {RANDOM_LOADS} random loads as good as the best of all {plans:,} plans;")  # noqa: T201
    print(f"looking at every plan takes {every / search:.0f} times the search")  # noqa: T201


if __name__ == "__main__":
    bundled(shipped_rules())
    against_every_plan()
