"""Calls git for revisions, trees of files, and the content of files."""

import os
import subprocess
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Final, NamedTuple

FILE, LINK, SUBMODULE = "file", "link", "submodule"
_KINDS: Final = {"120000": LINK, "160000": SUBMODULE}

# Variables that a hook sets to name another repository must not replace that of the folder.
_OF_ONE_REPOSITORY: Final = frozenset(
    {
        "GIT_COMMON_DIR",
        "GIT_DIR",
        "GIT_INDEX_FILE",
        "GIT_NAMESPACE",
        "GIT_PREFIX",
        "GIT_WORK_TREE",
    }
)


class NoRevisionError(Exception):
    """A revision or its files cannot be read; the message gives the reason."""


class Entry(NamedTuple):
    """A name in a tree: a file, a link or a submodule, and the id of its content."""

    kind: str
    id: str


def git(folder: Path, *words: str, given: bytes = b"", own_index: bool = False) -> bytes:
    """The output of git in a folder; raises NoRevisionError with git's message if it fails.

    With `own_index` git reads the index of the commit that is being made, if there is one.
    """
    env = {
        name: value
        for name, value in os.environ.items()
        if name not in _OF_ONE_REPOSITORY or (own_index and name == "GIT_INDEX_FILE")
    }
    # Replacement objects, as `git replace` makes them, belong to no commit.
    env |= {"GIT_NO_REPLACE_OBJECTS": "1", "LC_ALL": "C"}
    try:
        done = subprocess.run(  # noqa: S603 - no shell, and a revision cannot be an option
            ["git", "-C", str(folder), *words],  # noqa: S607 - the user's own git
            input=given,
            capture_output=True,
            check=False,
            env=env,
        )
    except OSError as error:
        message = "found no git; wanted it installed to compare revisions"
        raise NoRevisionError(message) from error
    if done.returncode:
        output = done.stderr.decode("utf-8", "replace").strip().splitlines()
        message = f"git says: {output[0] if output else 'nothing'}"
        raise NoRevisionError(message)
    return done.stdout


def line_of(folder: Path, *words: str) -> str | None:
    """The one line that git prints; None if it fails."""
    try:
        return os.fsdecode(git(folder, *words)).rstrip("\n")
    except NoRevisionError:
        return None


def top_of(folder: Path) -> Path:
    """The top folder of the repository around a folder; raises NoRevisionError if there is none."""
    return Path(os.fsdecode(git(folder, "rev-parse", "--show-toplevel")).rstrip("\n")).resolve()


def commit_of(top: Path, revision: str) -> str | None:
    """The commit id of a revision; None if there is no such revision."""
    return line_of(
        top, "rev-parse", "--verify", "--quiet", "--end-of-options", f"{revision}^{{commit}}"
    )


def is_shallow(top: Path) -> bool:
    """True if earlier commits were left out when the repository was cloned."""
    return line_of(top, "rev-parse", "--is-shallow-repository") == "true"


def find_commit(top: Path, revision: str) -> str:
    """The commit id of a revision; raises NoRevisionError with advice if there is none."""
    commit = commit_of(top, revision)
    if commit is None:
        message = f"found no revision '{revision}' in {top}; wanted a commit, branch or tag"
        if commit_of(top, "HEAD") is None:
            message += " (there is no commit yet)"
        elif is_shallow(top):
            message += (
                ". The clone is shallow, so it may be one that was left out: `git fetch "
                "--unshallow` brings it, or a depth of 0 where a CI server clones"
            )
        raise NoRevisionError(message)
    return commit


def files_of_tree(top: Path, tree: str) -> dict[str, Entry]:
    """Every file, link and submodule of a commit or tree by its name from the top.

    The files of a submodule are included if it is checked out and has the commit.
    """
    found = {}
    for line in git(top, "ls-tree", "-r", "-z", "--full-tree", tree).split(b"\0")[:-1]:
        head, _, written = line.partition(b"\t")
        mode, _, content = head.decode().split(" ")
        name = os.fsdecode(written)
        found[name] = Entry(_KINDS.get(mode, FILE), content)
        if found[name].kind == SUBMODULE and os.path.lexists(top / name / ".git"):
            try:
                inside = files_of_tree(top / name, content)
            except NoRevisionError:
                continue  # without it, every file in the submodule counts as changed
            found |= {f"{name}/{each}": entry for each, entry in inside.items()}
    return found


def sparse_files(top: Path) -> list[str]:
    """Files of the next commit that a sparse checkout leaves out of the work tree."""
    listed = git(top, "ls-files", "-t", "-z").split(b"\0")
    names = (os.fsdecode(each[2:]) for each in listed if each.startswith(b"S "))
    return [name for name in names if not os.path.lexists(top / name)]


def read_contents(top: Path, ids: Iterable[str]) -> Iterator[bytes]:
    """The contents of files of a repository by their ids, in the same order."""
    asked = list(ids)
    given = "".join(f"{each}\n" for each in asked).encode()
    output = git(top, "cat-file", "--batch", given=given)
    at = 0
    for _ in asked:
        end = output.index(b"\n", at)
        size = int(output[at:end].rsplit(b" ", 1)[1])
        yield output[end + 1 : end + 1 + size]
        at = end + 1 + size + 1


def submodules_of(files: Mapping[str, Entry]) -> list[str]:
    """The names of the submodules among the files of a tree."""
    return [name for name, entry in files.items() if entry.kind == SUBMODULE]
