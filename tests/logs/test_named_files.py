"""A named log that is not an ordinary file is refused at once; the program never waits for it."""

import os
from pathlib import Path

import pytest

from checker.cli.named_loads import LoadFinder
from checker.documents.problems import ProblemsFoundError
from checker.logs.mapping import read_mapping
from checker.logs.opening import FORMS, open_log
from checker.season.hauls.digests import digest_of_log
from checker.season.record import read_earlier
from tests.season.one_by_one import settled

FILES = [suffix for suffix, form in FORMS.items() if form != "yaml_folder"]


def no_file(place: Path, kind: str) -> Path:
    if kind == "pipe":
        os.mkfifo(place)
    elif kind == "device":
        place.symlink_to("/dev/zero")
    elif kind == "folder":
        place.mkdir()
    else:
        place = place.with_name("n" * 300 + place.suffix)
    return place


@pytest.mark.parametrize("kind", ["pipe", "device", "long name"])
@pytest.mark.parametrize("suffix", FILES)
def test_a_log_that_is_no_ordinary_file_is_a_problem(
    suffix: str, kind: str, tmp_path: Path
) -> None:
    log = no_file(tmp_path / f"season{suffix}", kind)
    said = "file name too long" if kind == "long name" else "not an ordinary file"
    with pytest.raises(ProblemsFoundError, match=rf":1:1: found a file .*\({said}\); wanted "):
        list(settled(open_log(log)))
    assert digest_of_log(log)


@pytest.mark.parametrize("kind", ["pipe", "device", "folder"])
def test_a_haul_file_that_is_no_ordinary_file_is_a_refused_row(kind: str, tmp_path: Path) -> None:
    (tmp_path / "a.yaml").write_text("kind: haul\nload: sxs\ndate: 2026-07-02\n")
    no_file(tmp_path / "b.yaml", kind)
    (batch,) = settled(open_log(tmp_path))
    assert list(batch.numbers) == [1]
    (refused,) = batch.refused
    assert refused.row == 2
    assert "b.yaml:1:1: found a file that cannot be read (" in refused.reason
    assert digest_of_log(tmp_path)


def test_a_link_to_a_folder_is_a_refused_row(tmp_path: Path) -> None:
    (tmp_path / "elsewhere").mkdir()
    log = tmp_path / "log"
    log.mkdir()
    (log / "a.yaml").write_text("kind: haul\nload: sxs\ndate: 2026-07-02\n")
    (log / "may").symlink_to(tmp_path / "elsewhere")
    (batch,) = settled(open_log(log))
    (refused,) = batch.refused
    assert refused.row == 2
    assert "may:1:1: found a file that cannot be read (is a directory)" in refused.reason


def test_a_folder_that_cannot_be_listed_is_a_problem(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "a.yaml").write_text("kind: haul\nload: sxs\ndate: 2026-07-02\n")
    (tmp_path / "may").mkdir()
    scan = os.scandir

    def refusing(place: str) -> object:
        if Path(place).name == "may":
            raise PermissionError(13, "Permission denied", place)
        return scan(place)

    # Not by the mode of the folder: whoever may do everything would read it all the same.
    monkeypatch.setattr(os, "scandir", refusing)
    with pytest.raises(ProblemsFoundError, match=r"may:1:1: found a folder .*\(permission denied"):
        open_log(tmp_path)


@pytest.mark.parametrize("kind", ["pipe", "device", "folder", "long name"])
def test_an_earlier_audit_or_a_mapping_that_is_no_file_is_a_problem(
    kind: str, tmp_path: Path
) -> None:
    earlier = no_file(tmp_path / "earlier.json", kind)
    with pytest.raises(ProblemsFoundError, match="found a file that cannot be read"):
        read_earlier(earlier, "0.1.0")
    mapping = no_file(tmp_path / "mapping.yaml", kind)
    with pytest.raises(ProblemsFoundError, match="found a file that cannot be read"):
        read_mapping(mapping)


@pytest.mark.parametrize(
    "name", ["n" * 300, "loads/" * 2000, "a\0b", "", ".", "/dev/zero", "../.."]
)
def test_a_load_that_no_file_can_be_called_is_not_found(name: str) -> None:
    with pytest.raises(FileNotFoundError, match="found no load profile"):
        LoadFinder()(name)


def test_a_pipe_is_no_load(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.yaml")
    with pytest.raises(FileNotFoundError, match="found no load profile"):
        LoadFinder()(str(tmp_path / "pipe.yaml"))
