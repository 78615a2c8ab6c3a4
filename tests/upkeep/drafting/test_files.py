"""The files that a new file may refer to, among others that are none."""

import os
from pathlib import Path

import pytest

from checker.upkeep.drafting.files import Files


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="a pipe among the files is made on Unix")
def test_what_cannot_be_read_is_of_no_kind(tmp_path: Path) -> None:
    trailers = tmp_path / "trailers"
    trailers.mkdir()
    (trailers / "good.yaml").write_text("kind: trailer\n")
    (trailers / "folder.yaml").mkdir()
    (trailers / "bytes.yaml").write_bytes(b"\xff\xfe\x00")
    (trailers / "lost.yaml").symlink_to(tmp_path / "nowhere")
    os.mkfifo(trailers / "pipe.yaml")
    files = Files(tmp_path)
    assert files.of_kind("trailer") == ["trailers/good"]
    names = ("good", "folder", "bytes", "lost", "pipe", "none")
    assert [files.has(f"trailers/{name}", "trailer") for name in names] == [True, *[False] * 5]


def test_a_file_that_is_saved_anew_is_of_its_new_kind(tmp_path: Path) -> None:
    file, files = tmp_path / "ours.yaml", Files(tmp_path)
    for kind in ("trailer", "machine", "trailer"):
        file.write_text(f"kind: {kind}\n")
        assert files.of_kind(kind) == ["ours"]
        assert files.has("ours", kind)
