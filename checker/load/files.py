"""The load profiles under files, folders and patterns, in a fixed order."""

import glob
import os
import re
from collections.abc import Iterator, Sequence
from pathlib import Path

_IS_LOAD = re.compile(rb"^kind:[ \t]*['\"]?load['\"]?[ \t]*(#.*)?\r?$", re.MULTILINE)


class NothingThereError(Exception):
    """A path with no load profile; the message says what would be accepted."""


def load_files(paths: Sequence[str]) -> list[Path]:
    """Every load profile: files as named, and in folders the YAML files of `kind: load`.

    Raises NothingThereError for a path that gives none.
    """
    found: dict[Path, None] = {}
    for path in paths:
        here = list(_under(path))
        if not here:
            message = f"found no load profile under '{path}'; wanted files, folders or a pattern"
            raise NothingThereError(message)
        found |= dict.fromkeys(here)
    return list(found)


def _under(path: str) -> Iterator[Path]:
    # Unlike Path's own questions, these answer no where a name is too long.
    if os.path.isdir(path):  # noqa: PTH112
        yield from (file for file in sorted(Path(path).rglob("*.yaml")) if _is_load(file))
    elif os.path.isfile(path):  # noqa: PTH113
        yield Path(path)
    else:
        for name in sorted(glob.glob(path, recursive=True)):  # noqa: PTH207 - patterns may be whole
            yield from _under(name)


def _is_load(file: Path) -> bool:
    """Whether a file of a folder says that it is a load; one that cannot be read may be one."""
    if not file.is_file():
        return False
    try:
        return _IS_LOAD.search(file.read_bytes()) is not None
    except OSError:
        return True
