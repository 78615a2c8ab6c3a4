"""The officer's stories in rules/README.md run as written and print what they show."""

import os
import re
import shutil
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
STORY = re.compile(r"```(sh story|text shown)(?: status=(\d))?\n(.*?)```", re.DOTALL)


@pytest.mark.usefixtures("program")
def test_the_stories_run_as_written(tmp_path: Path) -> None:
    """All in one empty folder, one after the other, with a shell as an officer has it."""
    place = tmp_path / "crew"
    place.mkdir()
    shell = shutil.which("bash")
    assert shell is not None
    env = {**os.environ, "COLUMNS": "100"}
    pieces = STORY.findall((ROOT / "rules" / "README.md").read_text())
    assert sum(kind == "sh story" for kind, _, _ in pieces) >= 6
    printed = ""
    for kind, status, text in pieces:
        if kind == "sh story":
            done = subprocess.run(
                [shell, "-euc", text],
                cwd=place,
                env=env,
                capture_output=True,
                text=True,
                check=False,
            )
            printed = done.stdout
            assert done.returncode == int(status or 0), f"{text}\n{printed}{done.stderr}"
        else:
            for line in text.splitlines():
                assert line in printed, f"not printed: {line}\n{printed}"
