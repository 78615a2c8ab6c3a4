"""Only ordinary files are read: anything else can be without an end, or keep a reader waiting."""

import os
from pathlib import Path

import pytest

from checker.documents.files import content, open_regular


def test_an_ordinary_file_is_read(tmp_path: Path) -> None:
    file = tmp_path / "load.yaml"
    file.write_bytes(b"kind: load\n")
    assert content(file, 100) == b"kind: load\n"


def test_a_pipe_that_nobody_writes_to_is_refused_at_once(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    with pytest.raises(OSError, match="Not an ordinary file"):
        open_regular(tmp_path / "pipe")


@pytest.mark.parametrize("device", ["/dev/zero", "/dev/null"])
def test_a_device_is_refused(device: str) -> None:
    with pytest.raises(OSError, match="Not an ordinary file"):
        content(device, 100)


def test_a_folder_is_refused_as_one(tmp_path: Path) -> None:
    with pytest.raises(IsADirectoryError):
        open_regular(tmp_path)
