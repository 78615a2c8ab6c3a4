"""Checks the files that are staged for a commit, which may differ from the work tree.

A pre-commit hook, and the framework that runs hooks, set environment variables that say what to
check.
"""

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final, NamedTuple

from checker.cli.options import end_with, settings_up_to

# Set in a run over the commits between two revisions, such as before a push.
_FROM: Final = "PRE_COMMIT_FROM_REF"
_TO: Final = "PRE_COMMIT_TO_REF"
# Git names the index of a commit that is being made.
_INDEX: Final = "GIT_INDEX_FILE"


class Content(NamedTuple):
    """The files of a commit, written into a temporary folder.

    `revision` is the one to compare with; None where every load is to be checked.
    """

    repository: Path
    folder: Path
    revision: str | None
    until: str

    def standing_in(self, path: str) -> str:
        """A path as named, or its copy in the temporary folder if it is inside the repository."""
        if not os.path.isabs(path):  # noqa: PTH117 - a pattern may be no path
            return path
        inside = os.path.relpath(path, self.repository)
        return path if inside.startswith(os.pardir) else str(self.folder / inside)


@contextmanager
def staged_content() -> Iterator[Content]:
    """The staged files in a temporary folder as working directory; ends the run if that fails."""
    from checker.documents.revision.checkout import may_be_read, write_tree
    from checker.documents.revision.git import NoRevisionError, files_of_tree, git, top_of
    from checker.documents.settings import FILE

    here = Path.cwd()
    revision = os.environ.get(_FROM) or ("HEAD" if _INDEX in os.environ else None)
    until = os.environ.get(_TO) or "HEAD"
    with tempfile.TemporaryDirectory(prefix="cinchbook-") as made:
        folder = Path(made).resolve()
        try:
            top = top_of(here)
            if _TO in os.environ:
                tree = f"{until}^{{tree}}"
            else:
                tree = git(top, "write-tree", own_index=True).decode().strip()
            files = files_of_tree(top, tree)
            wanted = {name: entry for name, entry in files.items() if may_be_read(name, entry)}
            write_tree(top, files, wanted, folder)
        except NoRevisionError as error:
            end_with(f"{error}; wanted a repository with files staged, and no conflicts among them")
        for each in top.parents:
            if os.path.lexists(each / FILE):
                end_with(
                    f"found settings outside the repository, '{each / FILE}'; wanted them inside, "
                    "because --staged checks the files of a commit"
                )
        copied_folder = folder / here.resolve().relative_to(top)
        copied_folder.mkdir(parents=True, exist_ok=True)
        os.chdir(copied_folder)
        try:
            with settings_up_to(folder):
                yield Content(top, folder, revision, until)
        finally:
            os.chdir(here)
