"""The load profiles under files, folders and patterns, in a fixed order."""

import glob
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
    top = Path(path)
    if top.is_dir():
        for file in sorted(top.rglob("*.yaml")):
            if _IS_LOAD.search(file.read_bytes()):
                yield file
    elif top.is_file():
        yield top
    else:
        for name in sorted(glob.glob(path, recursive=True)):  # noqa: PTH207 - patterns may be whole
            yield from _under(name)
