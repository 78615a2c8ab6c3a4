"""The lock of a file that is read, changed and written again."""

import subprocess
import sys
from pathlib import Path

import pytest

from checker.documents.file_lock import locked
from checker.documents.files import NotWrittenError

HOLDS = """
import sys
import time
from pathlib import Path
from checker.documents.file_lock import locked

with locked(Path(sys.argv[1])):
    print("held", flush=True)
    time.sleep(600)
"""


def test_a_process_that_was_killed_holds_nothing_up(tmp_path: Path) -> None:
    target = tmp_path / "company.yaml"
    holder = subprocess.Popen(
        [sys.executable, "-c", HOLDS, str(target)], stdout=subprocess.PIPE, text=True
    )
    assert holder.stdout is not None
    assert holder.stdout.readline() == "held\n"
    assert (tmp_path / ".company.yaml.lock").exists()
    holder.kill()
    holder.communicate()
    with locked(target):
        pass
    assert list(tmp_path.iterdir()) == []


def test_an_error_ends_it(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="inside"), locked(tmp_path / "a"):
        raise ValueError("inside")
    assert list(tmp_path.iterdir()) == []


def test_where_no_lock_can_be_made_nothing_is_written(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with (
        pytest.raises(NotWrittenError, match="which cannot be written"),
        locked(tmp_path / "file" / "company.yaml"),
    ):
        pytest.fail("locked")
