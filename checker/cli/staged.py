"""Checks the files that are staged for a commit, which may differ from the work tree.

A pre-commit hook, and the framework that runs hooks, set environment variables that say what to
check.
"""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final, NamedTuple

from checker.cli.commit_content import standing_in, working_in
from checker.cli.options import end_with

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
        return standing_in(path, self.repository, self.folder)


@contextmanager
def staged_content() -> Iterator[Content]:
    """The staged files in a temporary folder as working directory; ends the run if that fails."""
    from checker.documents.revision.git import NoRevisionError, git, top_of

    revision = os.environ.get(_FROM) or ("HEAD" if _INDEX in os.environ else None)
    until = os.environ.get(_TO) or "HEAD"
    try:
        top = top_of(Path.cwd())
        if _TO in os.environ:
            tree = f"{until}^{{tree}}"
        else:
            tree = git(top, "write-tree", own_index=True).decode().strip()
        with working_in(top, tree) as folder:
            yield Content(top, folder, revision, until)
    except NoRevisionError as error:
        end_with(f"{error}; wanted a repository with files staged, and no conflicts among them")
