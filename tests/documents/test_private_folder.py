"""What a run keeps is believed by runs of the same user alone, and only as it was written."""

import os
import stat
from collections.abc import Callable
from pathlib import Path

import pytest

from checker.documents.document_cache import DocumentCache
from checker.documents.private_folder import digest, key_of, sign, verified_content


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path / "cache" / "documents"


def mode(file: Path) -> int:
    return stat.S_IMODE(file.stat().st_mode)


def test_folder_and_key_are_the_users_alone(folder: Path) -> None:
    key = key_of(folder)
    assert key is not None
    assert len(key) == 32
    assert (mode(folder), mode(folder / "key")) == (0o700, 0o600)
    assert key_of(folder) == key
    assert key_of(folder.with_name("audits")) != key
    assert [each.name for each in folder.iterdir()] == ["key"]


def test_a_folder_that_was_there_is_closed_to_others(folder: Path) -> None:
    folder.mkdir(parents=True, mode=0o755)
    assert key_of(folder)
    assert mode(folder) == 0o700


def _open_folder(folder: Path) -> None:
    folder.chmod(0o777)


def _folder_of_a_group(folder: Path) -> None:
    folder.chmod(0o770)


def _open_key(folder: Path) -> None:
    (folder / "key").chmod(0o644)


def _short_key(folder: Path) -> None:
    (folder / "key").write_bytes(b"short")


def _long_key(folder: Path) -> None:
    (folder / "key").write_bytes(b"l" * 33)


def _pipe(folder: Path) -> None:
    (folder / "key").unlink()
    os.mkfifo(folder / "key", 0o600)


def _dangling(folder: Path) -> None:
    (folder / "key").unlink()
    (folder / "key").symlink_to("nowhere")


@pytest.mark.parametrize("spoil", [_open_key, _short_key, _long_key, _pipe, _dangling])
def test_a_key_that_others_may_know_or_that_is_none_gives_way_to_a_new_one(
    spoil: Callable[[Path], None], folder: Path
) -> None:
    before = key_of(folder)
    spoil(folder)
    after = key_of(folder)
    assert after not in (None, before)
    assert key_of(folder) == after
    assert mode(folder / "key") == 0o600


@pytest.mark.parametrize("spoil", [_open_folder, _folder_of_a_group])
def test_a_folder_that_others_may_write_into_is_not_used(
    spoil: Callable[[Path], None], folder: Path, tmp_path: Path
) -> None:
    file = tmp_path / "a.yaml"
    file.write_text("kind: rulebook\nid: a\n")
    assert key_of(folder)
    spoil(folder)
    assert key_of(folder) is None
    before = sorted(folder.iterdir())
    assert DocumentCache(folder).read_file(file, "s").data == {"kind": "rulebook", "id": "a"}
    assert sorted(folder.iterdir()) == before


def test_another_users_folder_is_not_used(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert key_of(folder)
    monkeypatch.setattr(os, "geteuid", lambda: folder.stat().st_uid + 1)
    assert key_of(folder) is None


def test_content_is_that_of_its_name_and_key_alone() -> None:
    key, other = b"k" * 32, b"o" * 32
    written = sign(b"text", "name", key)
    assert verified_content(written, "name", key) == b"text"
    assert verified_content(written, "other name", key) is None
    assert verified_content(written, "name", other) is None
    assert verified_content(written[:-1], "name", key) is None
    # A name and a content do not run into each other.
    assert digest(b"e", "nam", key) != digest(b"", "name", key)
