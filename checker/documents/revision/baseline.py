"""Which files changed since a branch left a revision, judged by their content.

Git's own comparison is not used, because it skips files that are ignored or assumed
unchanged. The content of each file now is compared with its content then.
"""

import hashlib
import os
from collections.abc import Iterator, Mapping, Sequence
from enum import IntEnum
from pathlib import Path
from typing import Final

from checker.documents.document import read_bounded
from checker.documents.revision.git import (
    FILE,
    LINK,
    Entry,
    commit_of,
    files_of_tree,
    find_commit,
    is_shallow,
    line_of,
)

_MOST_LINKS: Final = 40


class FileState(IntEnum):
    """What happened to a file; of several the highest value counts."""

    SAME = 0
    CHANGED = 1
    UNKNOWN = 2


class Baseline:
    """The files of a repository as they were at one or more commits.

    `unknown` is the reason why the earlier files are not known; empty if they are.
    """

    def __init__(
        self,
        top: Path,
        trees: Sequence[Mapping[str, Entry]],
        unknown: str = "",
    ) -> None:
        """Files below `top` are compared with those of the trees."""
        self.top = top.resolve()
        self.unknown = unknown
        self._trees = trees
        self._known: dict[Path, FileState] = {}

    def state(self, path: Path) -> FileState:
        """Whether a file and every link on the way to it are unchanged; a folder always is."""
        if self.unknown:
            return FileState.UNKNOWN
        return max(map(self._state, links_and_file(path)))

    def names_below(self, folder: Path) -> set[str]:
        """The names, from the top, of the files that were in a folder or its subfolders."""
        resolved = Path(os.path.realpath(folder))
        if not resolved.is_relative_to(self.top):
            return set()
        inside = resolved.relative_to(self.top).as_posix()
        return {
            name
            for tree in self._trees
            for name, entry in tree.items()
            if entry.kind == FILE and (inside == "." or name.startswith(f"{inside}/"))
        }

    def had(self, path: Path) -> bool:
        """True if a file of that name existed at one of the commits."""
        resolved = Path(os.path.realpath(path.parent), path.name)
        if not resolved.is_relative_to(self.top):
            return False
        name = resolved.relative_to(self.top).as_posix()
        return any(name in tree for tree in self._trees)

    def _state(self, resolved: Path) -> FileState:
        if resolved not in self._known:
            self._known[resolved] = self._found(resolved)
        return self._known[resolved]

    def _found(self, resolved: Path) -> FileState:
        is_link = resolved.is_symlink()
        if resolved.is_dir() and not is_link:
            return FileState.SAME
        if not resolved.is_relative_to(self.top):
            return FileState.UNKNOWN
        name = resolved.relative_to(self.top).as_posix()
        try:
            content = os.fsencode(resolved.readlink()) if is_link else read_bounded(resolved)
        except OSError:
            return FileState.CHANGED
        wanted = LINK if is_link else FILE
        for tree in self._trees:
            entry = tree.get(name)
            if entry is None or entry.kind != wanted or not _is_content(content, entry.id):
                return FileState.CHANGED
        return FileState.SAME


def links_and_file(path: Path) -> Iterator[Path]:
    """Every link on the way to a file, and the file itself at the end."""
    waiting = list(reversed(path.absolute().parts))
    resolved = Path(waiting.pop())
    links = 0
    while waiting:
        part = waiting.pop()
        if part == "..":
            resolved = resolved.parent
            continue
        step = resolved / part
        if step.is_symlink() and links < _MOST_LINKS:
            links += 1
            yield step
            target = step.readlink()
            if target.is_absolute():
                resolved = Path(target.anchor)
            parts = target.parts[1:] if target.is_absolute() else target.parts
            waiting += reversed(parts)
        else:
            resolved = step
    yield resolved


def _is_content(content: bytes, wanted: str) -> bool:
    """True if git has a content under that id, whatever the line ends of the work tree."""
    method = hashlib.sha256 if len(wanted) == hashlib.sha256().digest_size * 2 else hashlib.sha1
    for each in (content, content.replace(b"\r\n", b"\n")):
        if method(b"blob %d\0%b" % (len(each), each)).hexdigest() == wanted:
            return True
    return False


def baseline(
    top: Path,
    revision: str,
    *,
    until: str = "HEAD",
    stands_at: Path | None = None,
) -> Baseline:
    """The files at a revision, or where the branch that leads to `until` left it.

    `stands_at` is the folder with the files to compare, if that is not the work tree. Raises
    NoRevisionError for an unknown revision.
    """
    here = stands_at or top
    if revision == "HEAD" and commit_of(top, "HEAD") is None:
        return Baseline(here, (), "there is no commit yet")
    commit = find_commit(top, revision)
    parted = line_of(top, "merge-base", "--all", commit, find_commit(top, until))
    shallow = is_shallow(top)
    if not parted:
        why = f"where this branch left {revision} is not known"
        why += " in a shallow clone (`git fetch --unshallow` helps)" if shallow else ""
        return Baseline(here, (), why)
    # In a shallow clone an earlier commit may be mistaken for the one where the branches parted.
    commits = {*parted.split("\n"), *([commit] if shallow else [])}
    return Baseline(here, [files_of_tree(top, each) for each in sorted(commits)])
