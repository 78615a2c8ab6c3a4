"""States of the repository around the files, for calls about revisions."""

from random import Random

from tests.fuzz.inputs import Effect, Input

# Each ends with files that differ from what the calls compare with, as they stood before.
_KEEPS = [
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
]
_BREAKS = [
    [["update-ref", "-d", "HEAD"]],
    [["symbolic-ref", "HEAD", "refs/heads/nowhere"]],
    [["config", "core.bare", "true"]],
    [["config", "core.repositoryFormatVersion", "99"]],
]


def repository(random: Random, given: Input) -> Effect | None:
    """Settings of git, heads that lead elsewhere, files that git is told to overlook."""
    if given.committed is None:
        return None
    breaks = random.random() < 0.25
    given.git += random.choice(_BREAKS if breaks else _KEEPS)
    given.tree.entries.setdefault("ignored", b"*.yaml\n")
    return Effect.BREAKS if breaks else Effect.KEEPS


MUTATORS = [repository]
