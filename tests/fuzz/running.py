"""One call of the program in this process, with all that it prints and costs."""

import gc
import io
import os
import resource
import subprocess
import sys
import time
import traceback
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from checker.cli import app, options
from checker.documents.resources import shipped_folder
from checker.rulebooks import loading
from tests.fuzz.inputs import Input
from tests.fuzz.scenarios import NEW_LOAD

_GIT = {
    "GIT_CONFIG_GLOBAL": "/dev/null",
    "GIT_CONFIG_SYSTEM": "/dev/null",
    "GIT_AUTHOR_NAME": "Crew",
    "GIT_AUTHOR_EMAIL": "crew@example.org",
    "GIT_COMMITTER_NAME": "Crew",
    "GIT_COMMITTER_EMAIL": "crew@example.org",
}


_load_rulebooks = loading.load_rulebooks
_shipped: dict[Any, Any] = {}


def read_shipped_once() -> None:
    """Read the rules that come with the program once in this process: no input touches them.

    They would be two thirds of the time of most calls.
    """
    folder = shipped_folder("rules")

    def load_rulebooks(path: Path, **options: Any) -> Any:
        if path != folder or options.get("known") or options.get("edited"):
            return _load_rulebooks(path, **options)
        key = (options.get("with_proofs"), options.get("trips"))
        if key not in _shipped:
            _shipped[key] = _load_rulebooks(path, **options)
        return _shipped[key]

    loading.load_rulebooks = load_rulebooks


@dataclass(frozen=True)
class Result:
    """How a call ended: exit code (None where an exception came through), texts, costs.

    `fault` is the traceback of what the program calls an error in the program; seconds are of the
    processor, megabytes the most that were resident. `wrote_load` says that a new load is there.
    """

    code: int | None
    out: bytes
    err: bytes
    fault: str
    seconds: float
    megabytes: float
    wrote_load: bool = False


def prepare(given: Input, folder: Path) -> None:
    """Put the files of an input into a new folder, and make its repository where it has one."""
    folder.mkdir(parents=True)
    if given.committed is not None:
        given.committed.write(folder)
        words = [["init", "-q", "-b", "main"], ["add", "-A", "--", "profiles", "crew-rules"]]
        words += [["add", "cinchbook.yaml"], ["commit", "-q", "-m", "As it stood"]]
        _git(folder, words)
        for name in given.committed.entries.keys() - given.tree.entries.keys():
            (folder / name).unlink()
    given.tree.write(folder)
    _git(folder, given.git)


def _git(folder: Path, calls: Sequence[Sequence[str]]) -> None:
    for words in calls:
        subprocess.run(
            ["git", "-C", str(folder), *words],  # noqa: S607 - the user's own git
            env=os.environ | _GIT,
            capture_output=True,
            check=False,
        )


def run(given: Input, folder: Path) -> Result:
    """Call the program with the words of an input in a folder that is prepared."""
    out, err = io.BytesIO(), io.BytesIO()
    faults: list[str] = []
    before = _processor_seconds()
    _forget_peak()
    with _call_of(given, folder, out, err, faults):
        code = _exit_code(faults)
    result = Result(
        code=code,
        out=out.getvalue(),
        err=err.getvalue(),
        fault="\n".join(faults),
        seconds=_processor_seconds() - before,
        megabytes=_peak_megabytes(),
        wrote_load=NEW_LOAD not in given.tree.entries and (folder / NEW_LOAD).exists(),
    )
    # The program leaves all it has made to the end of its process, which here goes on.
    gc.unfreeze()
    return result


def _exit_code(faults: list[str]) -> int | None:
    try:
        app.main()
    except SystemExit as end:
        return end.code if isinstance(end.code, int) else 0 if end.code is None else 1
    except BaseException:  # whatever comes through is what is looked for
        faults.append(traceback.format_exc())
        return None
    return 0


@contextmanager
def _call_of(
    given: Input, folder: Path, out: io.BytesIO, err: io.BytesIO, faults: list[str]
) -> Iterator[None]:
    """The process as a shell would have begun it: words, folder, width, streams."""
    kept = sys.argv, sys.stdin, sys.stdout, sys.stderr, app.application
    real = app.application

    def application(*names: Any) -> Any:
        called = real(*names)

        def noted(*words: Any) -> None:
            try:
                called(*words)
            except Exception:
                faults.append(traceback.format_exc())
                raise

        return noted

    options._settings_above.cache_clear()
    os.chdir(folder)
    os.environ["COLUMNS"] = str(given.width)
    os.environ |= _GIT
    sys.argv = ["cinchbook", *given.words]
    sys.stdin = Path(os.devnull).open(encoding="utf-8")  # noqa: SIM115 - closed below
    # As a UTF-8 system opens them.
    sys.stdout = io.TextIOWrapper(out, encoding="utf-8", write_through=True)
    sys.stderr = io.TextIOWrapper(
        err, encoding="utf-8", errors="backslashreplace", write_through=True
    )
    app.application = application
    try:
        yield
    finally:
        for stream in (sys.stdout, sys.stderr):
            stream.flush()
            stream.detach()
        sys.stdin.close()
        sys.argv, sys.stdin, sys.stdout, sys.stderr, app.application = kept
        os.chdir("/")


def _processor_seconds() -> float:
    children = resource.getrusage(resource.RUSAGE_CHILDREN)
    return time.process_time() + children.ru_utime + children.ru_stime


def _forget_peak() -> None:
    """Let the system count the most resident memory anew, where it can."""
    try:
        Path("/proc/self/clear_refs").write_text("5")
    except OSError:
        return


def _peak_megabytes() -> float:
    try:
        status = Path("/proc/self/status").read_text()
    except OSError:
        return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    [line] = [line for line in status.split("\n") if line.startswith("VmHWM")]
    return int(line.split()[1]) / 1024
