"""Writes the YAML files of a git tree into a folder."""

import os
from collections.abc import Mapping
from pathlib import Path, PurePosixPath

from checker.documents.folders import is_yaml
from checker.documents.revision.git import (
    LINK,
    SUBMODULE,
    Entry,
    NoRevisionError,
    files_of_tree,
    read_contents,
    submodules_of,
)

_MODULES = ".gitmodules"


def _write_tree(
    top: Path, files: Mapping[str, Entry], wanted: Mapping[str, Entry], into: Path
) -> None:
    """Write the wanted files of a tree; links stay links, submodules become folders.

    The content of a submodule comes from the submodule, if it is there. Raises NoRevisionError.
    """
    modules = sorted(submodules_of(files), key=len, reverse=True)
    of_each: dict[str, list[str]] = {}
    for name, entry in wanted.items():
        if {"..", ".git", ""} & set(PurePosixPath(name).parts) or name.startswith("/"):
            message = f"found a file called '{name}' in the commit; wanted one inside the folder"
            raise NoRevisionError(message)
        if entry.kind == SUBMODULE:
            (into / name).mkdir(parents=True, exist_ok=True)
            continue
        module = next((each for each in modules if name.startswith(f"{each}/")), "")
        of_each.setdefault(module, []).append(name)
    links = []
    for module, names in of_each.items():
        read = read_contents(top / module, (wanted[name].id for name in names))
        for name, content in zip(names, read, strict=True):
            (into / name).parent.mkdir(parents=True, exist_ok=True)
            if wanted[name].kind == LINK:
                links.append((into / name, content))
            else:
                (into / name).write_bytes(content)
    # After all files: none is written through a link.
    for link, target in links:
        link.symlink_to(os.fsdecode(target))


def _may_be_read(name: str, entry: Entry) -> bool:
    """True for what a check may read: YAML files, links on the way to them, submodules."""
    return is_yaml(name) or entry.kind in (LINK, SUBMODULE) or name == _MODULES


def check_out(top: Path, tree: str, into: Path) -> None:
    """Write the YAML files of a commit or tree of a repository into a folder.

    Raises NoRevisionError.
    """
    files = files_of_tree(top, tree)
    wanted = {name: entry for name, entry in files.items() if _may_be_read(name, entry)}
    _write_tree(top, files, wanted, into)
