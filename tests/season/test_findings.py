"""Every finding of every haul, read by other libraries and compared with single checks."""

import json
import math
from pathlib import Path
from typing import Any

import pyarrow.parquet
import pytest

from checker.evaluation.gate import is_near
from checker.evaluation.tolerances import check_profile
from checker.logs.opening import open_log
from checker.rulebooks.verdicts import Verdict
from checker.season.audit import audit
from checker.season.checkpoint import Checkpoint
from checker.season.digests import digest_of_log
from checker.season.findings import join_findings
from checker.season.worker import Plan
from tests.season.one_by_one import Haul, read_hauls
from tests.season.test_audit import NEAR, found, quick, season


def written(log: Path, suffix: str) -> list[dict[str, Any]]:
    """The findings of a log as rows, by the reader of the form."""
    folder = log.parent / "work"
    folder.mkdir()
    work = Checkpoint(folder)
    plan = Plan(quick, ("shipped",), found, None, NEAR, findings=suffix)
    audit(open_log(log), plan, digest_of_log(log), work=work)
    target = log.parent / f"findings{suffix}"
    join_findings(work.findings(), target)
    if suffix == ".jsonl":
        return [json.loads(line) for line in target.read_text("utf-8").splitlines()]
    rows: list[dict[str, Any]] = pyarrow.parquet.read_table(target).to_pylist()
    return [row | {"date": row["date"].isoformat()} for row in rows]


@pytest.mark.parametrize("suffix", [".jsonl", ".parquet"])
def test_findings_are_those_of_single_checks(tmp_path: Path, suffix: str) -> None:
    log = tmp_path / "hauls.csv"
    log.write_text(season(25, 3))
    rows = written(log, suffix)
    by_key = {(row["row"], row["rule"]): row for row in rows}
    assert len(by_key) == len(rows)
    expected = 0
    crews = [line.split(",")[2] for line in log.read_text().splitlines()]
    for haul in read_hauls(log, found):
        if not isinstance(haul, Haul):
            continue
        check = check_profile(haul.profile, quick(("shipped",)), haul.on)
        for finding in check.findings:
            if finding.verdict is Verdict.DOES_NOT_APPLY:
                assert (haul.row, finding.rule.id) not in by_key
                continue
            expected += 1
            row = by_key[haul.row, finding.rule.id]
            assert row["verdict"] == finding.verdict.value
            assert row["near"] == is_near(finding, NEAR)
            assert row["excused"] == (finding.variance is not None)
            assert row["date"] == haul.on.isoformat()
            assert row["crew"] == crews[haul.row - 1]
            assert [row["trailer"]] == haul.keys["trailer"]
            assert [row["tow_vehicle"]] == haul.keys["tow vehicle"]
            assert row["machine"] == "; ".join(haul.keys["machine"])
            assert row["trailer_title"] == check.load.trailer.title
            assert row["tow_vehicle_title"] == check.load.tow_vehicle.title
            titles = [each.title for each in check.load.articles]
            assert row["machine_title"] == "; ".join(
                map(haul.title_of, haul.keys["machine"], titles)
            )
            assert (row["rulebook"], row["level"]) == (finding.book.id, finding.rule.level)
            if finding.verdict is not Verdict.NOT_STATED:
                margin = math.nan if row["margin"] is None else row["margin"]
                alone = math.nan if finding.margin is None else finding.margin
                assert margin == pytest.approx(alone, rel=1e-9, abs=1e-12, nan_ok=True)
    assert expected == len(rows)


def test_a_season_without_a_finding_is_an_empty_file(tmp_path: Path) -> None:
    log = tmp_path / "hauls.csv"
    log.write_text("load,date\nno-such-load,2026-05-14\n")
    assert written(log, ".jsonl") == []
