"""A file is put in its place whole or not at all, and an older one is not lost on the way."""

import os
from pathlib import Path

import pytest

from checker.documents.files import NotWrittenError
from checker.documents.problems import ProblemsFoundError
from checker.upkeep.drafting.writing import ensure_writable, write_checked

TEXT = "kind: carrier\ntitle: Ours — über\n"


@pytest.fixture
def target(tmp_path: Path) -> Path:
    return tmp_path / "new.yaml"


def test_a_new_file_is_written_as_it_is(target: Path) -> None:
    write_checked(TEXT, "carrier", target, replacing=False)
    assert target.read_bytes() == TEXT.encode()
    assert [path.name for path in target.parent.iterdir()] == ["new.yaml"]


def test_an_existing_file_is_refused_and_stays(target: Path) -> None:
    target.write_text("mine")
    with pytest.raises(NotWrittenError, match="there already; wanted a new file name, or --force"):
        write_checked(TEXT, "carrier", target, replacing=False)
    assert target.read_text() == "mine"


def test_with_force_it_is_replaced_and_keeps_its_permissions(target: Path) -> None:
    target.write_text("mine")
    target.chmod(0o640)
    write_checked(TEXT, "carrier", target, replacing=True)
    assert target.read_text() == TEXT
    assert target.stat().st_mode & 0o777 == 0o640


@pytest.mark.parametrize("fault", [KeyboardInterrupt, OSError(28, "No space left on device")])
@pytest.mark.parametrize("step", ["fsync", "replace"])
def test_an_interrupted_write_leaves_the_old_file_and_nothing_else(
    target: Path, step: str, fault: BaseException, monkeypatch: pytest.MonkeyPatch
) -> None:
    target.write_text("mine")

    def stops(*_args: object) -> None:
        raise fault

    monkeypatch.setattr(*((os, "fsync") if step == "fsync" else (Path, "replace")), stops)
    with pytest.raises((KeyboardInterrupt, NotWrittenError), match=r"^$|\(no space left on dev"):
        write_checked(TEXT, "carrier", target, replacing=True)
    assert target.read_text() == "mine"
    assert [path.name for path in target.parent.iterdir()] == ["new.yaml"]


def test_what_does_not_validate_is_not_put_in_place(target: Path) -> None:
    target.write_text("mine")
    with pytest.raises(ProblemsFoundError, match=r"new\.yaml:2:1: found the key 'titel'"):
        write_checked("kind: carrier\ntitel: x\n", "carrier", target, replacing=True)
    assert target.read_text() == "mine"
    assert [path.name for path in target.parent.iterdir()] == ["new.yaml"]


def test_a_link_stays_a_link(target: Path) -> None:
    real = target.with_name("real.yaml")
    real.write_text("mine")
    target.symlink_to(real)
    write_checked(TEXT, "carrier", target, replacing=True)
    assert target.is_symlink()
    assert real.read_text() == TEXT


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("new", r"did you mean '.*/new\.yaml'\?"),
        ("new.yml", r"did you mean '.*/new\.yaml'\?"),
        (".", "a folder; wanted a file"),
        ("nowhere/new.yaml", "found no folder '.*/nowhere'"),
        ("x" * 300 + ".yaml", r"cannot be written \(file name too long\)"),
    ],
)
def test_a_place_that_cannot_be_is_refused_before_anything_is_asked(
    name: str, said: str, tmp_path: Path
) -> None:
    with pytest.raises(NotWrittenError, match=said):
        ensure_writable(tmp_path / name, "carrier", replacing=True)
