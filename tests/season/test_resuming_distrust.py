"""An audit resumes only from unchanged files that a run of the same user wrote."""

from collections.abc import Callable
from pathlib import Path
from zlib import crc32

import pytest

from checker.documents.private_folder import DIGEST_BYTES, sign
from checker.season.running.checkpoint import Checkpoint, open_checkpoint
from tests.season.test_resuming import SECRET, by_couplings, log_of_mine, side_by_side


def _no_digest(told: bytes) -> bytes:
    return told


def _sum(told: bytes) -> bytes:
    return str(crc32(told)).encode() + b"\n" + told


def _without_key(told: bytes) -> bytes:
    return sign(told, "progress.json", b"")


@pytest.mark.parametrize("forged", [_no_digest, _sum, _without_key])
def test_counts_that_no_run_of_ours_wrote_are_not_believed(
    forged: Callable[[bytes], bytes], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("checker.season.running.checkpoint._SECONDS_BETWEEN", 0.0)
    log = tmp_path / "hauls.csv"
    log.write_text("load,date\nmine,2026-05-14\n")
    (tmp_path / "mine.yaml").write_text(
        side_by_side().replace("chains_crossed: yes", "chains_crossed: no")
    )
    counted = by_couplings(log)
    with open_checkpoint(tmp_path, "a", SECRET) as work:
        assert counted(work).held == 1
        file = work.folder / "progress.json"
        told = file.read_bytes()[DIGEST_BYTES:]
        assert b'"held":1' in told
        file.write_bytes(forged(told.replace(b'"held":1', b'"held":0')))
        assert counted(work).held == 1


@pytest.mark.parametrize("text", [b"", b"{", b"[]", b"{}"])
def test_what_is_of_another_form_is_done_again_though_its_digest_is_right(
    text: bytes, tmp_path: Path
) -> None:
    log = log_of_mine(tmp_path, 20)
    work = Checkpoint(tmp_path, SECRET)
    expected = by_couplings(log)(work)
    (tmp_path / "progress.json").write_bytes(sign(text, "progress.json", SECRET))
    assert by_couplings(log)(Checkpoint(tmp_path, SECRET)) == expected
