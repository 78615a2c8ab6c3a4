"""Checkpoint folders that a clock makes look old, that are deleted or that cannot be written."""

import errno
import os
import shutil
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from checker.documents import files
from checker.season.running import checkpoint, part_store
from checker.season.running.checkpoint import (
    BusyError,
    Checkpoint,
    NotSavedError,
    open_checkpoint,
    temporary_folder,
)
from checker.season.totals import Totals
from tests.calling import call
from tests.season.test_resuming import SECRET, by_couplings, log_of_mine

YEAR = 366 * 86_400


def test_a_clock_set_forward_deletes_only_what_no_run_uses(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "key").write_bytes(bytes(32))
    (tmp_path / ".key.123").write_text("half written")
    with open_checkpoint(tmp_path, "running", SECRET) as work:
        work.put_findings(0, b"{}")
        (tmp_path / "stopped").mkdir()
        (tmp_path / "stopped.lock").touch()
        later = time.time() + YEAR
        monkeypatch.setattr("checker.season.running.checkpoint.time.time", lambda: later)
        with open_checkpoint(tmp_path, "another", SECRET):
            assert {each.name for each in tmp_path.iterdir()} == {
                "another",
                "another.lock",
                "key",
                "running",
                "running.lock",
            }
        with (
            pytest.raises(BusyError, match="another run"),
            open_checkpoint(tmp_path, "running", SECRET),
        ):
            pass
        assert work.findings() == [work.folder / "findings-000000"]


def after_task(number: int, does: Callable[[Path], object]) -> Callable[[pytest.MonkeyPatch], None]:
    """What happens to the folder after so many tasks are saved."""

    def prepare(patch: pytest.MonkeyPatch) -> None:
        put = Checkpoint.put_progress

        def put_and(self: Checkpoint, key: str, tasks: int, totals: Totals) -> None:
            put(self, key, tasks, totals)
            if tasks == number:
                does(self.folder)

        patch.setattr(Checkpoint, "put_progress", put_and)
        patch.setattr(checkpoint, "_SECONDS_BETWEEN", 0.0)
        patch.setattr("checker.season.running.tasks._HAULS_OF_A_TASK", 10)

    return prepare


def full_from(name: str) -> Callable[[Path], object]:
    """A disk without room for files of some name from now on."""

    def fill(_folder: Path) -> None:
        keep = files.os.fsync

        def full(handle: int) -> None:
            if name in str(Path(f"/proc/self/fd/{handle}").readlink()):
                raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
            keep(handle)

        files.os.fsync = full

    return fill


def delete(folder: Path) -> None:
    shutil.rmtree(folder.parent)


def test_deleted_with_all_its_counts_a_run_ends_as_ever(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    log = log_of_mine(tmp_path, 35)
    (tmp_path / "cache").mkdir()
    after_task(2, delete)(monkeypatch)
    with open_checkpoint(tmp_path / "cache", "a", SECRET) as work:
        assert by_couplings(log)(work).hauls == 35
    assert not (tmp_path / "cache" / "a").exists()


@pytest.mark.parametrize("number", [2, 4])
def test_deleted_with_its_findings_a_run_says_how_to_go_on(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, number: int
) -> None:
    log = log_of_mine(tmp_path, 35)  # four tasks
    (tmp_path / "cache").mkdir()
    after_task(number, delete)(monkeypatch)
    said = r"found '.*findings-00000[01]' deleted; wanted .*; the same command begins again"

    def audited() -> None:
        with open_checkpoint(tmp_path / "cache", "a", SECRET) as work:
            by_couplings(log, ".jsonl")(work)
            with work.saving():
                work.findings()

    with pytest.raises(NotSavedError, match=said):
        audited()


@pytest.mark.parametrize("name", ["progress.json", "findings-"])
@pytest.mark.skipif(not Path("/proc/self/fd").is_dir(), reason="asks which file a handle is of")
def test_a_disk_that_is_full_is_told_and_the_next_run_goes_on(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    log = log_of_mine(tmp_path, 35)
    monkeypatch.setattr(files.os, "fsync", os.fsync)  # put back at the end
    after_task(2, full_from(name))(monkeypatch)
    said = rf"{name}.*cannot be written \(no space left.*goes on from what was saved last"
    with (
        pytest.raises(NotSavedError, match=said),
        open_checkpoint(tmp_path, "a", SECRET) as work,
    ):
        by_couplings(log, ".jsonl")(work)
    monkeypatch.undo()
    with open_checkpoint(tmp_path, "a", SECRET) as work:
        tasks = []
        monkeypatch.setattr(Checkpoint, "put_findings", lambda _, task, __: tasks.append(task))
        monkeypatch.setattr("checker.season.running.tasks._HAULS_OF_A_TASK", 10)
        assert by_couplings(log, ".jsonl")(work).hauls == 35
    assert tasks == [2, 3]


class _Full:
    """A temporary file on a full disk, which fails when it is closed, too."""

    def seek(self, *_: int) -> int:
        return 0

    def write(self, _: bytes) -> int:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    close = flush = seek


def test_a_disk_that_is_full_while_the_log_is_read_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    log = log_of_mine(tmp_path, 5)
    monkeypatch.setattr(part_store, "TemporaryFile", lambda **_: _Full())
    said = r"cannot be written \(no space left on device\); the same command begins again"
    with pytest.raises(NotSavedError, match=said), temporary_folder() as work:
        by_couplings(log)(work)


def test_a_cache_that_cannot_be_written_is_not_used(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def read_only(*_given: Any, **_named: Any) -> None:
        raise OSError(errno.EROFS, os.strerror(errno.EROFS))

    monkeypatch.setattr("checker.season.running.checkpoint.FileLock.acquire", read_only)
    with open_checkpoint(tmp_path, "a", SECRET) as work:
        work.put_findings(0, b"{}")
        assert len(work.findings()) == 1
        assert list(tmp_path.iterdir()) == []
    assert not work.folder.exists()


def test_the_command_says_so_and_ends_with_2(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "hauls.csv").write_text("load,date\nloads/mower-in-order,2026-05-14\n")
    after_task(1, delete)(monkeypatch)
    words = ("audit", "hauls.csv", "--rules", "north-america-coupling", "--findings", "all.jsonl")
    done = call(tmp_path, *words, XDG_CACHE_HOME=str(tmp_path / "cache"))
    assert done.returncode == 2
    assert "findings-000000' deleted" in done.stderr
    assert "the same command begins again" in done.stderr
    assert not (tmp_path / "all.jsonl").exists()
    assert done.stdout == ""
