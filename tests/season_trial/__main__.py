"""The long trial, by hand: `python -m tests.season_trial --seasons 200 --hauls 100000`.

It takes some minutes for the counts and about a minute for each season audited from its log.
"""

import argparse
import os
import tempfile
from collections import Counter
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from pathlib import Path

from rich.console import Console

from tests.season_trial.drawn import EFFECTS, NOTHING, Planted, draw_season
from tests.season_trial.trial import (
    Named,
    audited,
    changed_between,
    named_by,
    named_in,
    write_fleet,
)

IN_SERIES = Planted(persists=0.5)
SAY = Console(width=120, highlight=False).print


def one(seed: int, hauls: int, planted: Planted) -> Named:
    """What an audit of a drawn season names."""
    return named_in(draw_season(seed, hauls, planted))


def two(seed: int, hauls: int, planted: Planted) -> Named:
    """What a comparison with a season before it calls a change."""
    fleet = seed + 1
    then, now = (draw_season(2 * seed + n, hauls, planted, fleet) for n in (0, 1))
    return changed_between(then, now)


def report(
    words: str, call: Callable[[int], Named], wanted: Named, seasons: int, jobs: int
) -> None:
    """Print how often something else than what was planted is named, and how often that is."""
    with ProcessPoolExecutor(jobs) as executor:
        found = list(executor.map(call, range(seasons)))
    falsely = sum(bool(each - wanted) for each in found)
    all_named = sum(wanted <= each for each in found)
    SAY(f"{words}: something named falsely in {falsely} of {seasons} ({falsely / seasons:.1%})")
    if wanted:
        SAY(f"  all that was planted named in {all_named} of {seasons}")
    kinds = Counter(kind for each in found for kind, _ in each - wanted)
    if kinds:
        SAY(f"  falsely, by kind: {dict(kinds)}")


def main() -> None:
    """Draw, count and audit seasons with planted effects and without any."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--seasons", type=int, default=200)
    asked.add_argument("--hauls", type=int, default=100_000)
    asked.add_argument("--logs", type=int, default=2, help="seasons audited from their logs")
    asked.add_argument("--jobs", type=int, default=os.cpu_count())
    given = asked.parse_args()
    for words, call, planted in (
        ("no effect", one, NOTHING),
        ("planted effects", one, EFFECTS),
        ("compared, no effect", two, NOTHING),
        ("no effect, half of all faults go on to the next haul", one, IN_SERIES),
        ("compared, the same", two, IN_SERIES),
    ):
        task = partial(call, hauls=given.hauls, planted=planted)
        report(words, task, planted.names, given.seasons, given.jobs)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        write_fleet(folder)
        for seed in range(given.logs):
            for words, planted in (("no effect", NOTHING), ("planted effects", EFFECTS)):
                season = draw_season(seed, given.hauls, planted)
                named = named_by(audited(folder, season))
                same = named == named_in(season)
                right = "as planted" if named == planted.names else "NOT as planted"
                agrees = "the same as" if same else "NOT the same as"
                SAY(f"audited from its log, {words}: named {sorted(named)}")
                SAY(f"  {right}, {agrees} by counts")


if __name__ == "__main__":
    main()
