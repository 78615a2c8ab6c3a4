"""The long trial, by hand: `python -m tests.absent_fields --loads 2000 --pairs 3`."""

import argparse
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from functools import cache, partial
from random import Random

from rich.progress import track

from checker.documents.resources import shipped_folder
from checker.rulebooks.loading import load_rulebooks
from checker.rulebooks.model import Rulebooks
from tests.absent_fields.spoiling import spoilt
from tests.absent_fields.trial import Gain, Trial
from tests.stated_fields import merged_load, pattern_of

LOADS = sorted((shipped_folder("profiles") / "loads").glob("*.yaml"))


@cache
def _books() -> Rulebooks:
    return load_rulebooks(shipped_folder("rules"))


def tried(seed: int, pairs: int) -> set[Gain]:
    """What a load made worse at random gains by leaving fields out."""
    random = Random(seed)  # noqa: S311 - a test, not a secret
    merged = spoilt(merged_load(random.choice(LOADS)), random)
    trial = Trial(merged, _books())
    return trial.gains(trial.words, random, pairs)


def bundled(number: int, pairs: int) -> set[Gain]:
    """What a bundled load gains by leaving fields out."""
    random = Random(number)  # noqa: S311 - a test, not a secret
    trial = Trial(merged_load(LOADS[number]), _books())
    return trial.gains(trial.words, random, pairs)


def main() -> None:
    """Print every kind of gain with the first seed that shows it."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--loads", type=int, default=2000)
    options.add_argument("--first", type=int, default=0, help="the first seed")
    options.add_argument("--pairs", type=int, default=3, help="pairs for each word left out")
    asked = options.parse_args()
    seeds = range(asked.first, asked.first + asked.loads)
    kinds: Counter[tuple[str, tuple[str, ...]]] = Counter()
    seen: dict[tuple[str, tuple[str, ...]], str] = {}
    with ProcessPoolExecutor() as pool:
        runs = pool.map(partial(tried, pairs=asked.pairs), seeds)
        for seed, found in track(zip(seeds, runs, strict=True), "Trying", len(seeds)):
            for gain in found:
                kind = gain.rule, tuple(map(pattern_of, gain.without))
                kinds[kind] += 1
                seen.setdefault(kind, f"seed {seed}: {gain.before} became {gain.after}")
        for number, found in enumerate(pool.map(partial(bundled, pairs=20), range(len(LOADS)))):
            for gain in found:
                print(LOADS[number].stem, gain)  # noqa: T201 - the trial's own report
    for (rule, fields), count in kinds.most_common():
        print(f"{count:5}  {rule} without {', '.join(fields)}; {seen[rule, fields]}")  # noqa: T201
    print(f"{asked.loads} loads tried, {len(kinds)} kinds of gain")  # noqa: T201


if __name__ == "__main__":
    main()
