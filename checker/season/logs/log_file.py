"""The one way in which every form of log opens a file that a person names."""

from pathlib import Path
from typing import BinaryIO

from checker.documents.files import open_binary
from checker.documents.problems import Mark, Problem, ProblemsFoundError


def open_log_file(path: Path, wanted: str) -> BinaryIO:
    """The bytes of a log; raises ProblemsFoundError, also for a pipe, a device or a folder.

    `wanted` names the form in the problem.
    """
    try:
        return open_binary(path)
    except (OSError, ValueError) as error:  # the latter: a name with a zero byte
        reason = (getattr(error, "strerror", None) or str(error)).lower()
        found = f"a file that cannot be read ({reason})"
        raise ProblemsFoundError([Problem(str(path), Mark(1, 1), found, wanted)]) from error
