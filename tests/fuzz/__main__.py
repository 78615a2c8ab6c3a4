"""Many seeds by hand: `python -m tests.fuzz --inputs 100000 --seed 0`.

Ctrl-C stops; the summary names the seed to go on from. `--inputs 1` runs one seed again.
"""

import argparse
import json
import os
import signal
import sys
from collections import Counter
from contextlib import ExitStack, closing
from pathlib import Path

from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

from tests.fuzz.pool import answers


def main() -> None:
    """Run the seeds asked for, and tell what was found."""
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz", description=__doc__)
    parser.add_argument("--inputs", type=int, default=5_000, help="how many")
    parser.add_argument("--seed", type=int, default=0, help="the first; the others follow it")
    parser.add_argument("--workers", type=int, default=2, help="processes at work")
    parser.add_argument("--into", type=Path, default=Path("fuzzed"), help="where faults are kept")
    asked = parser.parse_args()
    # Where this is begun in the background of a script, Ctrl-C is ignored.
    for number in (signal.SIGINT, signal.SIGTERM):
        signal.signal(number, signal.default_int_handler)
    asked.into.mkdir(parents=True, exist_ok=True)
    into = asked.into.resolve()
    os.environ["PYTHONHASHSEED"] = "0"
    found: dict[str, list[int]] = {}
    codes: Counter[str] = Counter()
    slowest = largest = (0.0, asked.seed)
    console = Console(stderr=True)
    columns = [TextColumn("{task.fields[faults]} sorts of faults"), BarColumn()]
    done: set[int] = set()
    seeds = range(asked.seed, asked.seed + asked.inputs)
    columns += [MofNCompleteColumn(), TimeRemainingColumn()]
    with Progress(*columns, console=console) as bar, ExitStack() as stack:
        task = bar.add_task("", total=asked.inputs, faults=0)
        try:
            for answer in stack.enter_context(closing(answers(seeds, into, workers=asked.workers))):
                done.add(answer["seed"])
                codes[f"{answer['command']} {answer['code']}"] += 1
                slowest = max(slowest, (answer["seconds"], answer["seed"]))
                largest = max(largest, (answer["megabytes"], answer["seed"]))
                for sort in answer["faults"]:
                    found.setdefault(sort, []).append(answer["seed"])
                with (into / "answers.jsonl").open("a") as log:
                    log.write(json.dumps(answer) + "\n")
                bar.update(task, advance=1, faults=len(found))
        except KeyboardInterrupt:
            first = next(seed for seed in seeds if seed not in done)
            console.print(f"stopped; go on with --seed {first}")
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
