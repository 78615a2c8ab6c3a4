"""The load profiles under files, folders and patterns, in a fixed order."""

import glob
import os
import re
from collections.abc import Iterator, Sequence
from pathlib import Path

_KIND = re.compile(rb"^kind:[ \t]*['\"]?(load|haul)['\"]?[ \t]*(?:#.*)?\r?$", re.MULTILINE)


class NothingThereError(Exception):
    """A path with no load profile; the message says what would be accepted."""


def load_files(paths: Sequence[str], *, kinds: Sequence[str] = ("load",)) -> list[Path]:
    """Every load profile: files as named, and in folders the YAML files of the kinds given.

    Raises NothingThereError for a path that gives none.
    """
    found: dict[Path, None] = {}
    for path in paths:
        here = list(_under(path, kinds))
        if not here:
            message = f"found no load profile under '{path}'; wanted files, folders or a pattern"
            raise NothingThereError(message)
        found |= dict.fromkeys(here)
    return list(found)


def kind_of(file: Path) -> str | None:
    """Whether a YAML file is a load or a haul, by its line alone; None for any other."""
    found = _KIND.search(file.read_bytes())
    return found[1].decode() if found else None


def _under(path: str, kinds: Sequence[str]) -> Iterator[Path]:
    # Unlike Path's own questions, these answer no where a name is too long.
    if os.path.isdir(path):  # noqa: PTH112
        yield from (file for file in sorted(Path(path).rglob("*.yaml")) if _is_of(file, kinds))
    elif os.path.isfile(path):  # noqa: PTH113
        yield Path(path)
    else:
        for name in sorted(glob.glob(path, recursive=True)):  # noqa: PTH207 - patterns may be whole
            yield from _under(name, kinds)


def _is_of(file: Path, kinds: Sequence[str]) -> bool:
    """Whether a file of a folder says it is of these kinds; one that cannot be read may be."""
    if not file.is_file():
        return False
    try:
        return kind_of(file) in kinds
    except OSError:
        return True
