"""Finds all YAML files in a folder and its subfolders."""

import os
import re
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Final

from checker.documents.escaping import escaped
from checker.documents.files import read_content
from checker.documents.problems import Mark, Problem

_ENDINGS: Final = (".yaml", ".yml")
# git's own data; none of it is a file of the project.
_OF_GIT: Final = ".git"
_MODULES: Final = ".gitmodules"
_MOST_BYTES: Final = 1_000_000


def is_yaml(name: str | Path) -> bool:
    """True if the file name ends in .yaml or .yml, in any letter case."""
    return str(name).lower().endswith(_ENDINGS)


class IgnorePatterns:
    """Patterns of files that every command skips, and the files each pattern has skipped."""

    def __init__(self, patterns: Sequence[str] = (), start: Path | None = None) -> None:
        """Patterns are relative to `start`, the folder of the settings file."""
        self._start = start.resolve() if start else None
        self._patterns = [(pattern, _compiled(pattern)) for pattern in patterns]
        self._met: dict[str, set[Path]] = {}

    def covers(self, file: Path) -> bool:
        """True if a pattern matches the file or a folder above it; counts it for that pattern."""
        pattern = self.pattern_of(file)
        if pattern is not None:
            self._met.setdefault(pattern, set()).add(file.parent.resolve() / file.name)
        return pattern is not None

    def pattern_of(self, path: Path) -> str | None:
        """The first pattern that matches a file or folder, or a folder above it."""
        if self._start is None or not self._patterns:
            return None
        itself = path.parent.resolve() / path.name
        if not itself.is_relative_to(self._start):
            return None
        inside = itself.relative_to(self._start)
        ways = [each.as_posix() for each in (*inside.parents, inside)]
        met = (name for name, fits in self._patterns if any(map(fits.fullmatch, ways)))
        return next(met, None)

    @property
    def counts(self) -> Mapping[str, int]:
        """How many files each pattern has skipped, for patterns that skipped any."""
        return {pattern: len(files) for pattern, files in sorted(self._met.items())}


def _compiled(pattern: str) -> re.Pattern[str]:
    """A pattern as a regular expression over a path: `**` crosses folders, `*` and `?` do not.

    A pattern without a slash is a name, in any folder.
    """
    inside = pattern.strip("/")
    if "/" not in inside:
        inside = f"**/{inside}"
    signs = {"**/": "(?:.*/)?", "**": ".*", "*": "[^/]*", "?": "[^/]"}
    parts = re.split(r"(\*\*/|\*\*|\*|\?)", inside)
    return re.compile("".join(signs.get(part, re.escape(part)) for part in parts), re.DOTALL)


def _is_submodule(folder: Path) -> bool:
    """True if the folder is a git submodule."""
    path = folder.resolve()
    for top in path.parents:
        try:
            listed = read_content(top / _MODULES, _MOST_BYTES).decode("utf-8", "replace")
        except OSError:
            continue
        inside = re.escape(path.relative_to(top).as_posix())
        return bool(re.search(rf'^\s*path\s*=\s*"?{inside}"?\s*$', listed, re.MULTILINE))
    return False


def yaml_files(
    folder: Path, ignored: IgnorePatterns | None = None
) -> tuple[list[Path], list[Problem]]:
    """The YAML files in a folder and its subfolders, sorted; and the folders that cannot be read.

    Links to folders are followed and each folder is entered once. A file may be a broken link or
    not an ordinary file: the reader reports that.
    """
    ignored = ignored or IgnorePatterns()
    found: list[Path] = []
    problems: list[Problem] = []
    entered: set[tuple[int, int]] = set()

    def refuse(path: str, found: str, wanted: str) -> None:
        if ignored.pattern_of(Path(path)) is None:
            problems.append(Problem(escaped(path), Mark(1, 1), found, wanted))

    def closed(error: OSError) -> None:
        reason = (error.strerror or "cannot be read").lower()
        found = f"a folder that cannot be read ({reason})"
        refuse(str(error.filename), found, "a folder to look into")

    for path, folders, files in os.walk(folder, onerror=closed, followlinks=True):
        itself = os.stat(path)  # noqa: PTH116 - a folder of thousands of folders is walked often
        if (itself.st_dev, itself.st_ino) in entered:
            folders.clear()
            continue
        entered.add((itself.st_dev, itself.st_ino))
        folders[:] = sorted(name for name in folders if name != _OF_GIT)
        if not (folders or files) and _is_submodule(Path(path)):
            wanted = "its files: `git submodule update --init`"
            refuse(path, "a submodule that is not checked out", wanted)
        found += [Path(path, name) for name in files if is_yaml(name)]
    # By whole paths, as a listing sorts them.
    return [file for file in sorted(found) if not ignored.covers(file)], problems
