"""States of the repository around the files, for calls about revisions."""

from random import Random

from tests.fuzz.inputs import Effect, Input

# The files are as they were; a call that cannot tell what changed refuses, or judges them all.
_STATES = [
    [["checkout", "-q", "--detach"]],
    [["branch", "-q", "-m", "a\u00e9"]],
    [["add", "-A"]],
    [["config", "core.quotePath", "true"]],
    [["config", "diff.noprefix", "true"]],
    [["config", "diff.renames", "copies"]],
    [["config", "status.showUntrackedFiles", "no"]],
    [["config", "core.ignoreCase", "true"]],
    [["update-index", "--assume-unchanged", "profiles/loads/held.yaml"]],
    [["update-index", "--skip-worktree", "profiles/loads/held.yaml"]],
    [["config", "core.excludesFile", "ignored"]],
    [["rm", "-q", "--cached", "profiles/loads/held.yaml"]],
    [["config", "diff.external", "true"]],
    [["config", "core.fsmonitor", "true"]],
    [["update-ref", "-d", "HEAD"]],
    [["symbolic-ref", "HEAD", "refs/heads/nowhere"]],
    [["config", "core.bare", "true"]],
    [["config", "core.repositoryFormatVersion", "99"]],
]


def repository(random: Random, given: Input) -> Effect | None:
    """Settings of git, heads that lead elsewhere, files that git is told to overlook."""
    if given.committed is None:
        return None
    given.git += random.choice(_STATES)
    given.tree.entries.setdefault("ignored", b"*.yaml\n")
    return Effect.KEEPS


MUTATORS = [repository]
