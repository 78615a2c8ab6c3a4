"""Opens the file of a log; used by the readers of all forms."""

from pathlib import Path
from typing import BinaryIO

from checker.documents.files import open_binary
from checker.documents.problems import Mark, Problem, ProblemsFoundError


def open_log_file(path: Path, wanted: str) -> BinaryIO:
    """The log opened for reading bytes.

    Raises ProblemsFoundError if it cannot be read, or is a pipe, a device or a folder; `wanted`
    names the expected form in the problem.
    """
    try:
        return open_binary(path)
    except (OSError, ValueError) as error:  # the latter: a name with a zero byte
        reason = (getattr(error, "strerror", None) or str(error)).lower()
        found = f"a file that cannot be read ({reason})"
        raise ProblemsFoundError([Problem(str(path), Mark(1, 1), found, wanted)]) from error
