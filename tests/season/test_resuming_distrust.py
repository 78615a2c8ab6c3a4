"""An audit resumes only from unchanged files that a run of the same user wrote."""

from collections.abc import Callable
from pathlib import Path
from zlib import crc32

import pytest

from checker.documents.private_folder import DIGEST_BYTES, sign
from checker.season.checkpoint import Checkpoint, open_checkpoint
from checker.season.logs.model import LogMapping
from checker.season.logs.opening import open_log
from checker.season.reading import read_part
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
    monkeypatch.setattr("checker.season.checkpoint._SECONDS_BETWEEN", 0.0)
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


def test_a_part_that_no_run_of_ours_wrote_is_read_again(tmp_path: Path) -> None:
    log = log_of_mine(tmp_path, 20)
    expected = by_couplings(log)(Checkpoint(tmp_path, SECRET))
    written = tmp_path / "part-000000"
    before = written.read_bytes()
    # As somebody writes it who knows the form and not the key.
    Checkpoint(tmp_path, b"").put_part(
        0, (0, 1), read_part(next(open_log(log).parts), LogMapping())
    )
    assert by_couplings(log)(Checkpoint(tmp_path, SECRET)) == expected
    assert written.read_bytes() == before


@pytest.mark.parametrize("text", [b"", b"{", b"[]", b"{}", b'{"fields": [["row", "O"]]}'])
def test_what_is_of_another_form_is_done_again_though_its_digest_is_right(
    text: bytes, tmp_path: Path
) -> None:
    log = log_of_mine(tmp_path, 20)
    work = Checkpoint(tmp_path, SECRET)
    expected = by_couplings(log)(work)
    for name in ("part-000000", "progress.json"):
        (tmp_path / name).write_bytes(sign(text, name, SECRET))
    assert by_couplings(log)(Checkpoint(tmp_path, SECRET)) == expected
