"""The program called inside the test's process: as by a shell, without its start of half a second.

What only a process of its own can show (signals, imports, a terminal's pipe) is called as one.
"""

import gc
import io
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from subprocess import CompletedProcess
from unittest import mock

from checker.cli import app, chosen_rules, options
from checker.cli.caching import Caching
from checker.cli.output import guarded_output


def call(folder: Path, *words: str, **env: str) -> CompletedProcess[str]:
    """Exit code and what is printed, of a call with these words and variables in a folder.

    Lines are as wide as `COLUMNS` says, and 80 where it is not given.
    """
    out, err = io.BytesIO(), io.BytesIO()
    with _process(folder, words, {"COLUMNS": "80", **env}, out, err), guarded_output():
        try:
            app.call(words)
        except SystemExit as end:
            code = end.code if isinstance(end.code, int) else int(end.code is not None)
    return CompletedProcess(words, code, out.getvalue().decode(), err.getvalue().decode())


@contextmanager
def _process(
    folder: Path, words: tuple[str, ...], env: dict[str, str], out: io.BytesIO, err: io.BytesIO
) -> Iterator[None]:
    """Folder, variables, words and streams of a process that has just begun."""
    before = Path.cwd()
    streams = [io.TextIOWrapper(each, encoding="utf-8", write_through=True) for each in (out, err)]
    # Settings are read, and an empty folder is named, once a run.
    options._settings_above.cache_clear()
    chosen_rules._note_empty.cache_clear()
    os.chdir(folder)
    try:
        with (
            Path(os.devnull).open(encoding="utf-8") as nothing,
            mock.patch.dict(os.environ, env),
            mock.patch.object(sys, "argv", ["cinchbook", *words]),
            mock.patch.object(sys, "stdin", nothing),
            mock.patch.object(sys, "stdout", streams[0]),
            mock.patch.object(sys, "stderr", streams[1]),
            mock.patch.object(Caching, "used", new=True),
        ):
            yield
    finally:
        for stream in streams:
            stream.flush()
            stream.detach()
        os.chdir(before)
        options._settings_above.cache_clear()
        # A call leaves all it has made to the end of its process, which here goes on.
        gc.unfreeze()
