"""Only ordinary files are read: anything else can be without an end, or keep a reader waiting."""

import os
import stat
import subprocess
import sys
from pathlib import Path

import pytest

from checker.documents.files import (
    NotWrittenError,
    new_file,
    open_regular,
    read_content,
    remove_leftovers,
    write_file,
)


def test_an_ordinary_file_is_read(tmp_path: Path) -> None:
    file = tmp_path / "load.yaml"
    file.write_bytes(b"kind: load\n")
    assert read_content(file, 100) == b"kind: load\n"


def test_a_pipe_that_nobody_writes_to_is_refused_at_once(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    with pytest.raises(OSError, match="Not an ordinary file"):
        open_regular(tmp_path / "pipe")


@pytest.mark.parametrize("device", ["/dev/zero", "/dev/null"])
def test_a_device_is_refused(device: str) -> None:
    with pytest.raises(OSError, match="Not an ordinary file"):
        read_content(device, 100)


def test_a_folder_is_refused_as_one(tmp_path: Path) -> None:
    with pytest.raises(IsADirectoryError):
        open_regular(tmp_path)


def mode(file: str | Path) -> int:
    return stat.S_IMODE(Path(file).stat().st_mode)


@pytest.mark.parametrize("older", [0o600, 0o640, 0o664])
def test_a_file_has_the_mode_of_the_older_one_while_it_is_written(
    tmp_path: Path, older: int
) -> None:
    target = tmp_path / "season.json"
    target.write_text("")
    target.chmod(older)
    with new_file(target) as file:
        # Before a byte of it is there: what only a few may read is never there for others.
        assert mode(file.name) == older
        file.write(b"{}")
    assert (mode(target), target.read_bytes()) == (older, b"{}")


def test_a_read_only_file_is_not_replaced(tmp_path: Path) -> None:
    """Also for an account that may write everything."""
    target = tmp_path / "company.yaml"
    target.write_text("mine")
    target.chmod(0o444)
    with pytest.raises(NotWrittenError, match="which is read-only; wanted a file to write"):
        write_file(b"{}", target)
    assert (mode(target), target.read_text()) == (0o444, "mine")


@pytest.mark.skipif(os.geteuid() != 0, reason="only root may give a file away")
def test_a_file_keeps_its_owner_and_group(tmp_path: Path) -> None:
    target = tmp_path / "company.yaml"
    target.write_text("theirs")
    target.chmod(0o640)
    os.chown(target, 12345, 23456)
    write_file(b"{}", target)
    found = target.stat()
    assert (found.st_uid, found.st_gid, mode(target)) == (12345, 23456, 0o640)


@pytest.mark.parametrize(("mask", "given"), [(0o022, 0o644), (0o077, 0o600), (0o002, 0o664)])
def test_a_new_file_has_the_mode_that_the_user_wants(tmp_path: Path, mask: int, given: int) -> None:
    before = os.umask(mask)
    try:
        with new_file(tmp_path / "new") as file:
            assert mode(file.name) == given
    finally:
        os.umask(before)
    assert mode(tmp_path / "new") == given


def gone() -> int:
    """The number of a process that has ended."""
    done = subprocess.Popen([sys.executable, "-c", ""])
    done.wait()
    return done.pid


def test_what_a_killed_run_left_is_removed_by_the_next(tmp_path: Path) -> None:
    for process in (gone(), os.getpid()):  # in a container, numbers come again at once
        (tmp_path / f".season.json.{process}").write_text("half of i")
    others = {f".season.json.{os.getppid()}", f".other.json.{gone()}", ".season.json", "season.1"}
    for name in others:
        (tmp_path / name).write_text("")
    write_file(b"{}", tmp_path / "season.json")
    assert {each.name for each in tmp_path.iterdir()} == others | {"season.json"}


def test_half_a_folder_of_a_killed_run_is_removed(tmp_path: Path) -> None:
    left = tmp_path / f".hauls.{gone()}"
    left.mkdir()
    (left / "1.yaml").write_text("")
    remove_leftovers(tmp_path)
    assert not left.exists()
