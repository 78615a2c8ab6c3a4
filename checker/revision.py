"""Files of a git repository: as they stood at a revision, and which have changed since."""

import subprocess
from pathlib import Path


class NoRevisionError(Exception):
    """Files that cannot be had at a revision; the message says why."""


def checked_out(path: Path, revision: str, into: Path) -> Path:
    """Write the YAML files of a folder, or one file, as of a revision below `into`.

    Returns where it stands there. Raises NoRevisionError outside a repository, for a revision
    that is none, or where nothing stood there.
    """
    here = path.resolve()
    folder = here if here.is_dir() else here.parent
    top = Path(_git(folder, "rev-parse", "--show-toplevel").strip())
    inside = here.relative_to(top.resolve()).as_posix()
    commit = _git(
        top, "rev-parse", "--verify", "--end-of-options", f"{revision}^{{commit}}"
    ).strip()
    names = _git(top, "ls-tree", "-r", "-z", "--name-only", commit, "--", inside).split("\0")
    wanted = [name for name in names if name.endswith(".yaml")]
    if not wanted:
        message = f"found no rule files under '{path}' at {revision}"
        raise NoRevisionError(message)
    for name in wanted:
        target = into / name
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_text(_git(top, "show", f"{commit}:{name}"), newline="")
    return into / inside


def changed_since(revision: str, folder: Path) -> frozenset[Path]:
    """Every file of the repository around `folder` that is not as it was at a revision.

    New files that git does not know yet are among them, and both names of one that was moved.
    Raises NoRevisionError outside a repository or for a revision that is none.
    """
    top = Path(_git(folder, "rev-parse", "--show-toplevel").strip())
    commit = _git(
        top, "rev-parse", "--verify", "--end-of-options", f"{revision}^{{commit}}"
    ).strip()
    changed = _git(top, "diff", "--name-only", "--no-renames", "-z", commit)
    new = _git(top, "ls-files", "--others", "--exclude-standard", "-z")
    names = [name for name in (changed + new).split("\0") if name]
    return frozenset((top / name).resolve() for name in names)


def _git(folder: Path, *words: str) -> str:
    try:
        done = subprocess.run(  # noqa: S603 - no shell, and a revision cannot be an option
            ["git", "-C", str(folder), *words],  # noqa: S607 - the user's own git
            capture_output=True,
            check=False,
        )
    except OSError as error:
        message = "found no git to ask; wanted it installed to compare revisions"
        raise NoRevisionError(message) from error
    if done.returncode:
        said = done.stderr.decode("utf-8", "replace").strip().splitlines()
        message = f"git says: {said[-1] if said else 'nothing'}"
        raise NoRevisionError(message)
    return done.stdout.decode("utf-8", "replace")
