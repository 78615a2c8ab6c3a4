"""Finds the load profiles under files, folders and patterns, in a fixed order, each once.

In a folder every YAML file is read: its kind is one that the program knows, or it is a problem.
"""

import glob
import os
from collections.abc import Collection, Iterator, Sequence
from pathlib import Path

from msgspec import Struct

from checker.documents.folders import IgnorePatterns, yaml_files
from checker.documents.problems import Mark, Problem
from checker.documents.validate import validate
from checker.load.build import shown_path
from checker.load.references import Library


class NothingThereError(Exception):
    """A path without a load profile; the message says what would be accepted."""


class Found(Struct, frozen=True):
    """The load profiles under some paths, and the files of folders that have no known kind.

    `unfit` has the problems of each such file or folder by its name; `settings` are the settings
    files in the folders, in use or not.
    """

    files: Sequence[Path]
    unfit: Sequence[tuple[str, Sequence[Problem]]]
    settings: Sequence[Path] = ()


def load_files(
    paths: Sequence[str],
    *,
    kinds: Collection[str] = ("load",),
    library: Library | None = None,
    ignored: IgnorePatterns | None = None,
) -> Found:
    """Every load profile: files as named, and in folders the YAML files of the given kinds.

    A folder without any is a problem. Valid files of other kinds are skipped. Documents read stay
    in the library. Raises NothingThereError for a path that does not exist.
    """
    library = library or Library()
    files: dict[object, Path] = {}
    unfit: dict[str, Sequence[Problem]] = {}
    settings: list[Path] = []
    for path in paths:
        for named in _named(path, kinds):
            if not named.is_dir():
                files.setdefault(identity(named), named)
                continue
            here = _in_folder(named, kinds, library, ignored)
            for file in here.files:
                files.setdefault(identity(file), file)
            unfit.update(here.unfit)
            settings += here.settings
    return Found(list(files.values()), list(unfit.items()), settings)


def identity(file: Path) -> object:
    """A key that is equal for every path to one file: by a link, in other letter case.

    Hard links with different names or folders are different files, because references start from
    the folder.
    """
    resolved = Path(os.path.realpath(file))
    try:
        itself, around = resolved.stat(), resolved.parent.stat()
    except OSError:
        return resolved
    name = resolved.name.casefold()
    return name, itself.st_dev, itself.st_ino, around.st_dev, around.st_ino


def _named(path: str, kinds: Collection[str]) -> Iterator[Path]:
    """The file or folder of that name, else the matches of the pattern."""
    # Unlike Path.exists, this is False where a name is too long.
    if os.path.lexists(path):
        yield Path(path)
        return
    matched = sorted(glob.glob(path, recursive=True))  # noqa: PTH207 - patterns may be whole
    if not matched:
        what = "load profile" if "load" in kinds else f"file of kind {' or '.join(kinds)}"
        message = f"found no {what} under '{path}'; wanted files, folders or a pattern"
        raise NothingThereError(message)
    yield from map(Path, matched)


def _in_folder(
    folder: Path, kinds: Collection[str], library: Library, ignored: IgnorePatterns | None
) -> Found:
    files, closed = yaml_files(folder, ignored)
    found = []
    settings = []
    unfit: dict[str, Sequence[Problem]] = {each.file: [each] for each in closed}
    for file in files:
        document = library.read_ahead(file, shown_path(file))
        # Problems of a file of these kinds are reported where it is read as one.
        kind = document.kind
        if kind == "settings":
            settings.append(file)
        if kind in kinds:
            found.append(file)
        elif problems := document.problems + validate(document):
            unfit[document.file] = problems
    if not found and not unfit:
        name = shown_path(folder)
        found_words = f"a folder without a file of `kind: {'` or `'.join(kinds)}`"
        wanted = "a folder with load profiles" if "load" in kinds else "a folder with one"
        unfit[name] = [Problem(name, Mark(1, 1), found_words, wanted)]
    return Found(found, list(unfit.items()), settings)
