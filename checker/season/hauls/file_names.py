"""Names of files that mean the same file in every process of an audit.

A file below the working folder is named from there, another one by its whole path. The bundled
profiles may lie elsewhere on another machine: they are named as the caller names them.
"""

import os
import re
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from checker.documents.resources import shipped_folder
from checker.load.build import shown_path


def bundled_folders() -> tuple[str, ...]:
    """The folder of the bundled profiles as this process shows it: as it is found, and resolved."""
    return _bundled_folders(Path.cwd())


@cache
def _bundled_folders(_here: Path) -> tuple[str, ...]:
    folder = shipped_folder("profiles")
    return shown_path(folder), shown_path(folder.resolve())


@dataclass(frozen=True, slots=True)
class FileNames:
    """The names that the caller uses; `bundled` are its own `bundled_folders`."""

    bundled: tuple[str, ...] = ()

    def name(self, path: Path) -> str:
        """The caller's name of a file."""
        found = shown_path(path)
        for here, there in self._moved():
            if found.startswith(here + os.sep):
                return there + found.removeprefix(here)
        return found

    def path(self, name: str) -> Path:
        """The file of a caller's name."""
        for here, there in self._moved():
            if name.startswith(there + os.sep):
                return Path(here + name.removeprefix(there))
        return Path(name)

    def text(self, words: str) -> str:
        """A message with the caller's names of files."""
        for here, there in self._moved():
            words = re.sub(rf"(?<![\w./-]){re.escape(here + os.sep)}", f"{there}{os.sep}", words)
        return words

    def _moved(self) -> list[tuple[str, str]]:
        """The folders that are named otherwise here than by the caller, with both names."""
        pairs = zip(bundled_folders(), self.bundled, strict=False)
        return [(here, there) for here, there in pairs if here != there]
