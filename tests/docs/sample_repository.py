"""A crew's repository of 54 load profiles, for trying README's workflows in."""

import os
import re
import subprocess
from pathlib import Path

from checker.documents.resources import shipped_folder
from tests.equipment import copy_equipment

LOADS = 54
# In order, or broken where it takes no search to say what would mend it.
_FROM = (
    "side-by-side-in-order",
    "mower-in-order",
    "too-far-forward",
    "mini-excavator-in-order",
    "accessory-hook",
)


AMENDMENT = """\
kind: amendment
id: crew
title: Crew policy
layer: company
jurisdiction: any
changes:
  - {rule: tongue-share-ball, threshold: heaviest, was: 15 %, value: 14.9 %, from: 2026-01-01,
     common_practice: yes}
"""


def make(folder: Path) -> None:
    """Write the repository: bundled trailers, trucks and machines, loads that differ a little."""
    copy_equipment(folder / "profiles")
    loads = folder / "profiles" / "loads"
    loads.mkdir()
    for number in range(LOADS):
        text = (
            shipped_folder("profiles") / "loads" / f"{_FROM[number % len(_FROM)]}.yaml"
        ).read_text()
        text = re.sub(r"(?m)^title: (.*)$", rf"title: \1, {number + 1}", text)
        # Every machine a little further back than the one before it.
        at = re.search(r"placed: \{x: (\d+) in", text)
        assert at is not None
        further = int(at[1]) + number // len(_FROM) / 4
        text = text.replace(at[0], f"placed: {{x: {further:g} in", 1)
        (loads / f"haul-{number + 1:02}.yaml").write_text(text)
    # The crew's own limit, which only its settings lead to.
    (folder / "cinchbook.yaml").write_text("kind: settings\namendments: [amendments]\n")
    (folder / "amendments").mkdir()
    (folder / "amendments" / "crew.yaml").write_text(AMENDMENT)
    git(folder, "init", "-q", "-b", "main")
    git(folder, "config", "user.email", "crew@example.org")
    git(folder, "config", "user.name", "Crew")
    commit(folder)


def git(folder: Path, *words: str) -> None:
    """Run git there."""
    subprocess.run(
        ["git", *words],  # noqa: S607 - the user's own git
        cwd=folder,
        check=True,
        # Nothing of what a person set up on this machine: no hooks, no signing.
        env={**os.environ, "GIT_CONFIG_GLOBAL": os.devnull, "GIT_CONFIG_SYSTEM": os.devnull},
    )


def commit(folder: Path) -> None:
    """Commit everything as it stands, whatever a hook may say."""
    git(folder, "add", "-A")
    git(folder, "commit", "-q", "--no-verify", "-m", "As it stands")
