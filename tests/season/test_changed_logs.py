"""A log that changes while it is read stops the audit with an error; no results are stored."""

import json
import os
import time
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from checker.cli.app import application
from checker.documents.private_folder import DIGEST_BYTES
from checker.season import audit
from checker.season.hauls import digests
from checker.season.hauls.digests import change_mark, digest_of_log
from checker.season.running import checkpoint
from checker.season.running.part_store import PartStore

IN_ORDER = "load,date,walkaround.chains_crossed\n" + "loads/mower-in-order,2026-05-14,yes\n" * 3
ON_HOLD = IN_ORDER.replace(",yes", ",no ")


def run(*words: str) -> Result:
    given = ["audit", "hauls.csv", "--rules", "north-america-coupling", "--as", "json", *words]
    return CliRunner().invoke(application(), given)


@pytest.fixture
def log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    log = tmp_path / "hauls.csv"
    log.write_text(IN_ORDER)
    return log


def test_a_log_saved_while_it_is_read_is_told(log: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    judged = audit._evaluate_tasks

    def saved_meanwhile(*given: object) -> object:
        log.write_text(ON_HOLD)
        return judged(*given)  # type: ignore[arg-type]

    with monkeypatch.context() as patch:
        patch.setattr(audit, "_evaluate_tasks", saved_meanwhile)
        done = run("--write", "csv=out.csv")
    assert done.exit_code == 2
    assert "hauls.csv:1:1: found a log that was written to while it was read" in done.stderr
    assert not Path("out.csv").exists()
    assert json.loads(run().stdout)["totals"]["held"] == 3


def test_what_was_kept_of_a_log_saved_meanwhile_is_not_gone_on_from(
    log: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def saved_before_the_digest(file: Path) -> str:
        log.write_text(ON_HOLD)
        return digest_of_log(file)

    class StoppedError(Exception):
        pass

    def stopped(*_given: object) -> object:
        raise StoppedError

    with monkeypatch.context() as patch:
        patch.setattr(digests, "digest_of_log", saved_before_the_digest)
        patch.setattr(checkpoint, "_SECONDS_BETWEEN", 0.0)
        patch.setattr(PartStore, "names", stopped)
        assert isinstance(run().exception, StoppedError)
    (counts,) = (log.parent / "cache").rglob("progress.json")
    assert json.loads(counts.read_bytes()[DIGEST_BYTES:])["totals"]["all"]["held"] == 0
    assert json.loads(run().stdout)["totals"]["held"] == 3


def test_a_mark_stays_where_a_log_is_only_read(log: Path) -> None:
    mark = change_mark(log)
    log.read_text()
    assert change_mark(log) == mark


@pytest.mark.skipif(os.name != "posix", reason="times of a file are those of Unix")
def test_a_mark_differs_though_length_and_time_are_put_back(log: Path) -> None:
    mark, before = change_mark(log), log.stat()
    time.sleep(0.05)  # the clock of a file system ticks every few milliseconds
    log.write_text(ON_HOLD)
    os.utime(log, ns=(before.st_atime_ns, before.st_mtime_ns))
    assert log.stat().st_size == before.st_size
    assert change_mark(log) != mark


def test_a_mark_of_a_folder_is_of_all_its_files(tmp_path: Path) -> None:
    inner = tmp_path / "hauls" / "may"
    inner.mkdir(parents=True)
    (inner / "a.yaml").write_text("kind: haul\n")
    marks = [change_mark(tmp_path / "hauls")]
    (inner / "b.yaml").write_text("kind: haul\n")
    marks.append(change_mark(tmp_path / "hauls"))
    (inner / "a.yaml").write_text("kind: haul  # more\n")
    marks.append(change_mark(tmp_path / "hauls"))
    (inner / "b.yaml").unlink()
    marks.append(change_mark(tmp_path / "hauls"))
    assert len(set(marks)) == 4
