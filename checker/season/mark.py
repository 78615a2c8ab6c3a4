"""Whether a log was written to while it was read."""

import os
from collections.abc import Iterator
from hashlib import blake2b
from pathlib import Path

from checker.documents.files import is_folder
from checker.documents.problems import Mark, Problem, ProblemsFoundError
from checker.season.logs.yaml_folder import names_in


def mark_of(log: Path) -> str:
    """Differs where a log, or a file of a folder, was written to, replaced, added or taken away.

    It costs next to nothing, and so does not tell whether what stands there is other than before:
    the times of a file and its place on the disk do not come back, whatever is written.
    """
    files = list(files_of(log))
    marks = repr([files, *map(_mark_of, files)])
    return blake2b(marks.encode(errors="surrogateescape"), digest_size=8).hexdigest()


def files_of(log: Path) -> Iterator[str]:
    """The file of a log, or those of a folder, looked for once they are asked for."""
    if not is_folder(log):
        yield str(log)
        return
    beneath = os.path.join(log, "")  # noqa: PTH118 - to make a Path of each costs as much again
    yield from (beneath + name for name in names_in(log))


def ensure_unchanged(log: Path, mark: str) -> None:
    """Raise ProblemsFoundError where a log no longer has the mark that it had."""
    if mark_of(log) != mark:
        found = "a log that was written to while it was read"
        wanted = "it to stay as it is until the audit is done"
        raise ProblemsFoundError([Problem(str(log), Mark(1, 1), found, wanted)])


def _mark_of(file: str) -> tuple[int, ...]:
    try:
        found = os.stat(file)  # noqa: PTH116 - as above
    except OSError:
        return ()
    return found.st_size, found.st_mtime_ns, found.st_ctime_ns, found.st_ino
