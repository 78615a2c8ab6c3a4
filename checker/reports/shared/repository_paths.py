"""Files as a repository names them: the same path wherever the program is started from.

A CI server compares the results of two runs, and finds a file, by its path from the top of the
repository. How a person wrote the path must not matter.
"""

import os
from functools import lru_cache
from pathlib import Path

from checker.documents.settings import FILE


def repository_path(file: str) -> str:
    """The path from the top of the repository, with `/`; absolute for a file outside it."""
    return _from_top(file, Path.cwd())


@lru_cache(maxsize=4096)
def _from_top(file: str, here: Path) -> str:
    top = _top(here)
    path = Path(os.path.normpath(here / file))
    for each in (path, path.resolve()):
        if each.is_relative_to(top):
            return each.relative_to(top).as_posix()
    return path.as_posix()


@lru_cache(maxsize=16)
def _top(here: Path) -> Path:
    """The nearest folder with a `.git`, else with settings, else the working directory."""
    for name in (".git", FILE):
        for folder in (here, *here.parents):
            if os.path.lexists(folder / name):
                return folder
    return here
