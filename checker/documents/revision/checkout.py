"""Writes the YAML files of a git tree into a folder."""

import os
from collections.abc import Mapping
from pathlib import Path, PurePosixPath

from checker.documents.folders import is_yaml
from checker.documents.revision.git import (
    FILE,
    LINK,
    SUBMODULE,
    Entry,
    NoRevisionError,
    files_of_tree,
    find_commit,
    read_contents,
    submodules_of,
    top_of,
)

_MODULES = ".gitmodules"


def write_tree(
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


def may_be_read(name: str, entry: Entry) -> bool:
    """True for what a check may read: YAML files, links on the way to them, submodules."""
    return is_yaml(name) or entry.kind in (LINK, SUBMODULE) or name == _MODULES


def check_out(path: Path, revision: str, into: Path) -> Path:
    """Write the YAML files of a folder, or one file, as of a revision below `into`.

    Returns the path there. Raises NoRevisionError outside a repository, for an unknown revision, or
    if the path did not exist then.
    """
    here = path.resolve()
    top = top_of(here if here.is_dir() else here.parent)
    inside = here.relative_to(top).as_posix()
    files = files_of_tree(top, find_commit(top, revision))
    wanted = {
        name: entry
        for name, entry in files.items()
        if may_be_read(name, entry)
        and (inside == "." or name == inside or name.startswith(f"{inside}/"))
    }
    if not any(entry.kind == FILE for entry in wanted.values()):
        message = f"found no rule files under '{path}' at {revision}"
        raise NoRevisionError(message)
    write_tree(top, files, wanted, into)
    return into / inside
