"""Detects that a log changed while it was read."""

import os
from collections.abc import Iterator
from hashlib import blake2b
from pathlib import Path

from checker.documents.files import is_folder
from checker.documents.problems import Mark, Problem, ProblemsFoundError
from checker.season.logs.yaml_folder import names_in


def change_mark(log: Path) -> str:
    """A digest that changes if a file of the log is written, replaced, added or removed.

    It covers sizes, times and inodes and reads no content, so it is cheap. It also changes if a
    file is written again with the same content.
    """
    files = list(files_of(log))
    marks = repr([files, *map(_change_mark, files)])
    return blake2b(marks.encode(errors="surrogateescape"), digest_size=8).hexdigest()


def files_of(log: Path) -> Iterator[str]:
    """The file of a log, or the files of a folder, listed lazily."""
    if not is_folder(log):
        yield str(log)
        return
    beneath = os.path.join(log, "")  # noqa: PTH118 - a Path for each file doubles the time
    yield from (beneath + name for name in names_in(log))


def ensure_unchanged(log: Path, mark: str) -> None:
    """Raise ProblemsFoundError if the mark of a log is no longer `mark`."""
    if change_mark(log) != mark:
        found = "a log that was written to while it was read"
        wanted = "it to stay as it is until the audit is done"
        raise ProblemsFoundError([Problem(str(log), Mark(1, 1), found, wanted)])


def _change_mark(file: str) -> tuple[int, ...]:
    try:
        found = os.stat(file)  # noqa: PTH116 - as above
    except OSError:
        return ()
    return found.st_size, found.st_mtime_ns, found.st_ctime_ns, found.st_ino
