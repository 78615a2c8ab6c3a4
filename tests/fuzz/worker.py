"""A process that runs the inputs of the seeds it is handed, one after the other."""

import gc
import json
import os
import resource
import shutil
import sys
from pathlib import Path

from tests.fuzz import project
from tests.fuzz.inputs import Input
from tests.fuzz.judging import Fault, faults
from tests.fuzz.running import Result, prepare, read_shipped_once, run
from tests.fuzz.scenarios import Scenario
from tests.fuzz.seeding import base_input, input_of

_ADDRESS_SPACE = 6 << 30
"""Bytes a worker may ask for: what wants more gets a MemoryError, and not the machine."""


class Runner:
    """Runs inputs in this process, each in a folder of its own below `scratch`."""

    def __init__(self, scratch: Path) -> None:
        self.scratch = scratch
        self.number = 0
        audit = Scenario(("audit", project.LOGS[".csv"], "--as", "json"), 1, ())
        self.earlier = self.outcome(base_input(audit, b"{}")).out

    def outcome(self, given: Input) -> Result:
        """How the call of an input ends."""
        self.number += 1
        folder = self.scratch / str(self.number)
        try:
            prepare(given, folder)
            return run(given, folder)
        finally:
            shutil.rmtree(folder, ignore_errors=True)
            if self.number % 100 == 0:
                gc.collect()

    def seeded(self, seed: int) -> tuple[Input, Result, list[Fault]]:
        """The input of a seed, how its call ends, and what is wrong with that."""
        given = input_of(seed, self.earlier)
        result = self.outcome(given)
        return given, result, list(faults(given, result))


def save(given: Input, result: Result, found: list[Fault], folder: Path) -> None:
    """Keep an input with what went wrong: the files as they stood, the call, what it printed."""
    if folder.exists():
        shutil.rmtree(folder)
    prepare(given, folder / "files")
    texts = {
        "call.json": json.dumps(
            {
                "seed": given.seed,
                "words": [
                    word.encode(errors="surrogateescape").decode("latin-1") for word in given.words
                ],
                "columns": given.width,
                "mutations": [[name, effect.name] for name, effect in given.mutations],
                "code": result.code,
                "seconds": round(result.seconds, 2),
                "megabytes": round(result.megabytes),
                "faults": [fault.sort for fault in found],
            },
            indent=1,
        ),
        "faults.txt": "\n\n".join(f"{fault.sort}\n{fault.what}" for fault in found),
    }
    for name, text in texts.items():
        (folder / name).write_text(text, "utf-8", "backslashreplace")
    (folder / "out.txt").write_bytes(result.out)
    (folder / "err.txt").write_bytes(result.err)


def main() -> None:
    """Read seeds from standard input, and answer each with a line of JSON."""
    answers = os.fdopen(os.dup(1), "w", encoding="utf-8")
    # What the program prints past its own streams must not end up among the answers.
    os.dup2(2, 1)
    resource.setrlimit(resource.RLIMIT_AS, (_ADDRESS_SPACE, resource.RLIM_INFINITY))
    into, scratch = map(Path, sys.argv[1:])
    read_shipped_once()
    os.environ["XDG_CACHE_HOME"] = str(scratch / "cache")
    runner = Runner(scratch)
    for line in sys.stdin:
        seed = int(line)
        given, result, found = runner.seeded(seed)
        if found:
            save(given, result, found, into / str(seed))
        answer = {
            "seed": seed,
            "command": given.command,
            "code": result.code,
            "seconds": result.seconds,
            "megabytes": result.megabytes,
            "faults": [fault.sort for fault in found],
        }
        answers.write(json.dumps(answer) + "\n")
        answers.flush()


if __name__ == "__main__":
    main()
