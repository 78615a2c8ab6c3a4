"""Paths as documents for programs print them: the same on every machine."""

import os
from functools import cache
from pathlib import Path, PurePath
from typing import Protocol

from checker.documents.problems import Mark
from checker.documents.resources import shipped_folder


class _Located(Protocol):
    @property
    def file(self) -> str: ...
    @property
    def mark(self) -> Mark: ...


def portable(path: str | PurePath) -> str:
    """A path from the working directory, with / between folders; `shipped:...` for a bundled file.

    A path that was relative stays as it was given.
    """
    return _portable(str(path), Path.cwd())


def located(at: _Located) -> str:
    """The words of a location, its path portable."""
    return f"{portable(at.file)}{str(at).removeprefix(at.file)}"


@cache
def _portable(path: str, here: Path) -> str:
    if not Path(path).is_absolute():
        return PurePath(path).as_posix()
    for name in ("rules", "profiles"):
        folder = shipped_folder(name)
        if Path(path).is_relative_to(folder):
            return f"shipped:{name}/{Path(path).relative_to(folder).as_posix()}"
    try:
        return Path(os.path.relpath(path, here)).as_posix()
    except ValueError:  # another drive
        return PurePath(path).as_posix()
