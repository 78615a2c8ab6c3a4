"""An audit in a process of its own, in small slices, that rests where it is told to.

Its processes are forked by one that has imported the program once, for all of them.
"""

import os
import sys
import time
from collections.abc import Callable, Mapping, Sequence
from io import FileIO
from multiprocessing import Pipe, get_context, set_forkserver_preload, set_start_method
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any, NamedTuple

import pyarrow.parquet  # noqa: F401 - so that it is there in each process

from checker.cli import audit as _command  # noqa: F401 - as above
from checker.cli.app import main
from checker.logs import csv_log
from checker.season.running import checkpoint, tasks
from checker.season.running.checkpoint import Checkpoint
from checker.season.running.part_store import PartStore


class SlowAudit(NamedTuple):
    """A running audit, and the ends of the pipes into which it prints."""

    process: Any
    output: Connection
    told: Connection

    def communicate(self) -> tuple[bytes, bytes]:
        """What it printed as its result, and beside that; once all its processes have ended."""
        output, told = (
            FileIO(each.fileno(), closefd=False).readall() for each in (self.output, self.told)
        )
        self.process.join()
        return output, told


def start(
    folder: Path, words: Sequence[str], env: Mapping[str, str], rest_after: str = ""
) -> SlowAudit:
    """Begin an audit in a folder; it rests after so many parts or findings, as in `part 2`."""
    set_forkserver_preload([__name__])
    ends, streams = zip(Pipe(duplex=False), Pipe(duplex=False), strict=True)
    process = get_context("forkserver").Process(
        target=_run, args=(folder, words, dict(env), rest_after, streams)
    )
    process.start()
    for each in streams:
        each.close()
    return SlowAudit(process, *ends)


def _run(
    folder: Path,
    words: Sequence[str],
    env: Mapping[str, str],
    rest_after: str,
    streams: Sequence[Connection],
) -> None:
    """The audit as the command does it; at the end it says of how many tasks it kept findings."""
    # Its own processes begin as in a run of the command, not as this one did.
    set_start_method(None, force=True)
    os.setsid()
    os.environ.update(env)
    os.chdir(folder)
    for number, each in enumerate(streams, 1):
        os.dup2(each.fileno(), number)
        each.close()
    sys.stdout, sys.stderr = (os.fdopen(number, "w", encoding="utf-8") for number in (1, 2))
    csv_log.PART_BYTES = 4_000
    tasks._HAULS_OF_A_TASK = 20
    tasks._LOADS_OF_A_TASK = 1
    checkpoint._SECONDS_BETWEEN = 0.0
    kept = {"part": 0, "findings": 0}

    def resting(thing: str, put: Callable[..., None]) -> Callable[..., None]:
        def rested(*given: Any) -> None:
            put(*given)
            kept[thing] += 1
            if rest_after == f"{thing} {kept[thing]}":
                time.sleep(120)

        return rested

    PartStore.put = resting("part", PartStore.put)
    Checkpoint.put_findings = resting("findings", Checkpoint.put_findings)
    sys.argv = ["cinchbook", "audit", *words]
    try:
        main()
    finally:
        sys.stderr.write(f"kept {kept['findings']}\n")
