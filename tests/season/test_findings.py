"""Every finding of every haul, read by other libraries and compared with single checks."""

import json
import math
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import pyarrow.parquet
import pytest

from checker.evaluation.check import Check
from checker.evaluation.finding import Finding
from checker.evaluation.gate import is_near
from checker.evaluation.tolerances import check_profile
from checker.logs.opening import open_log
from checker.reports.audit_forms.json import audit_json
from checker.reports.shared.findings_about import about_findings
from checker.rulebooks.model import Rulebooks
from checker.rulebooks.verdicts import Verdict
from checker.season.audit import Audit, audit
from checker.season.hauls.digests import digest_of_log
from checker.season.records.evidence import ListedHauls, read_evidence
from checker.season.records.findings import join_findings
from checker.season.records.findings_columns import COLUMNS
from checker.season.running.checkpoint import Checkpoint
from checker.season.running.worker import Plan
from tests.season.counts_of_findings import document
from tests.season.one_by_one import Haul, read_hauls
from tests.season.test_audit import NEAR, found, quick, season
from tests.small_rules import rules_text

SECONDS_OF_A_DAY = 86_400
EPOCH = 719_163
"""1970-01-01 as Python counts days."""


SIDES = {">=": "below", ">": "below", "<=": "above", "<": "above"}
"""On which side of its limit a value is that has to be so and is not."""


class Written(NamedTuple):
    """An audit, its log, and its findings by the reader of their form."""

    log: Path
    audit: Audit
    rows: list[dict[str, Any]]
    about: dict[str, Any]
    file: Path
    held: ListedHauls


OF_SHIPPED_RULES = Plan(quick, ("shipped",), found, None, NEAR)


def written(log: Path, suffix: str, plan: Plan = OF_SHIPPED_RULES) -> Written:
    """The audit of a log with its findings."""
    folder = log.parent / "work"
    folder.mkdir()
    work = Checkpoint(folder)
    plan = replace(plan, findings=suffix, evidence=True)
    done = audit(open_log(log), plan, digest_of_log(log), work=work)
    held = read_evidence(work.evidence())
    target = log.parent / f"findings{suffix}"
    join_findings(work.findings(), target, about_findings(done, "0.0"))
    if suffix == ".jsonl":
        head, *rows = (json.loads(line) for line in target.read_text("utf-8").splitlines())
        assert head["kind"] == "about"
        return Written(log, done, rows, head["about"], target, held)
    table = pyarrow.parquet.read_table(target)
    about = json.loads(table.schema.metadata[b"cinchbook_findings"])
    rows = [row | {"date": row["date"] and row["date"].isoformat()} for row in table.to_pylist()]
    return Written(log, done, rows, about, target, held)


def named(rows: str) -> str:
    """The log with a name for every haul but each fifth."""
    header, *lines = rows.splitlines()
    named = [f"{line},{f'H{number}' if number % 5 else ''}" for number, line in enumerate(lines)]
    return "\n".join([f"{header},haul", *named]) + "\n"


@pytest.fixture(scope="module")
def of_form(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], Written]:
    """A small season with its findings in a form, each audited once; Parquet in many parts."""

    @cache
    def run(suffix: str) -> Written:
        log = tmp_path_factory.mktemp("findings") / "hauls.csv"
        log.write_text(named(season(25, 3)))
        with pytest.MonkeyPatch.context() as patch:
            if suffix == ".parquet":
                patch.setattr("checker.logs.csv_log.PART_BYTES", 500)
                patch.setattr("checker.season.running.tasks._HAULS_OF_A_TASK", 4)
                patch.setattr("checker.season.running.tasks._LOADS_OF_A_TASK", 3)
                patch.setattr("checker.season.records.findings_rows.ROWS_AT_ONCE", 50)
            return written(log, suffix)

    return run


@pytest.fixture(scope="module")
def alone(of_form: Callable[[str], Written]) -> dict[int, tuple[Haul, Check]]:
    """By row, every haul with its check by itself; the log is the same for every form."""
    hauls = [each for each in read_hauls(of_form(".jsonl").log, found) if isinstance(each, Haul)]
    rules = quick(("shipped",))
    return {each.row: (each, check_profile(each.profile, rules, each.on)) for each in hauls}


def sides(finding: Finding) -> tuple[float | None, float | None]:
    """Both sides of the deciding comparison of a check, days as days since 1970."""
    deciding = finding.governing
    if deciding is None:
        return None, None
    values = (deciding.left_value, deciding.right_value)
    if any(used.fact.kind == "day" for used in finding.facts if used.fact.name in deciding.names):
        values = tuple(each / SECONDS_OF_A_DAY - EPOCH for each in values)  # type: ignore[assignment]
    return tuple(each if math.isfinite(each) else None for each in values)  # type: ignore[return-value]


@pytest.mark.parametrize("suffix", [".jsonl", ".parquet"])
def test_findings_are_those_of_single_checks(
    suffix: str, of_form: Callable[[str], Written], alone: dict[int, tuple[Haul, Check]]
) -> None:
    log, _, rows, *_ = of_form(suffix)
    findings = [row for row in rows if row["kind"] == "finding"]
    hauls = {row["row"]: row for row in rows if row["kind"] == "haul"}
    by_key = {(row["row"], row["rule"]): row for row in findings}
    assert len(by_key) == len(findings)
    expected = 0
    cells = [line.split(",") for line in log.read_text().splitlines()]
    for haul, check in alone.values():
        stated = hauls.pop(haul.row)
        assert stated["outcome"] == check.outcome
        keys = haul.keys
        titles = [each.title for each in check.load.articles]
        machine_titles = list(map(haul.title_of, keys["machine"], titles))
        idle = [each.rule.id for each in check.findings if each.verdict is Verdict.DOES_NOT_APPLY]
        assert stated["does_not_apply"] == idle
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
            assert row["crew"] == cells[haul.row - 1][2]
            assert row["haul"] == (cells[haul.row - 1][-1] or None)
            assert [row["trailer"]] == keys["trailer"]
            assert [row["tow_vehicle"]] == keys["tow vehicle"]
            assert row["machine"] == keys["machine"]
            assert row["trailer_title"] == check.load.trailer.title
            assert row["tow_vehicle_title"] == check.load.tow_vehicle.title
            assert row["machine_title"] == machine_titles
            assert (row["rulebook"], row["level"]) == (finding.book.id, finding.rule.level)
            assert row["outcome"] == check.outcome
            assert row["missing"] == list(finding.missing)
            operator = finding.governing and (finding.governing.operator or "==")
            unmet = finding.verdict is Verdict.NOT_MET
            assert row["operator"] == operator
            assert row["side"] == (SIDES.get(operator or "") if unmet else None)
            assert (row["variance"] is None) == (finding.variance is None)
            if finding.verdict is not Verdict.NOT_STATED:
                margin = math.nan if row["margin"] is None else row["margin"]
                alone = math.nan if finding.margin is None else finding.margin
                assert margin == pytest.approx(alone, rel=1e-9, abs=1e-12, nan_ok=True)
                assert (row["found"], row["wanted"]) == pytest.approx(
                    sides(finding), rel=1e-9, abs=1e-12
                ), row
    assert expected == len(findings)
    assert hauls == {}


def test_days_are_counted_from_1970_and_where_nothing_is_compared_nothing_is_found(
    tmp_path: Path, rulebook: Callable[[str], Rulebooks]
) -> None:
    """A rule about each tiedown of a load that does not say whether there are any."""
    formulas = {
        "plate": "trailer.built >= limit; 1993-12-01",
        "each": "tiedown.length > limit; 3 ft",
    }
    books, load = rulebook(rules_text(formulas)), tmp_path / "bare.yaml"
    load.write_text("kind: load\ntrailer: {built: 1988-06-30}\n")
    log = tmp_path / "hauls.csv"
    log.write_text("load,date\nbare,2026-05-14\n")
    rows = written(log, ".jsonl", Plan(lambda _: books, (), lambda _: load, None, NEAR)).rows
    by_rule = {row["rule"]: row for row in rows if row["kind"] == "finding"}
    wanted = ("verdict", "found", "wanted", "unit", "operator", "subject")
    days = [(day - date(1970, 1, 1)).days for day in (date(1988, 6, 30), date(1993, 12, 1))]
    assert [by_rule["plate"][key] for key in wanted] == ["not met", *days, "day", ">=", None]
    assert [by_rule["each"][key] for key in wanted] == ["not stated", *[None] * 5]


@pytest.mark.parametrize("suffix", [".jsonl", ".parquet"])
def test_the_counts_of_the_audit_come_out_of_the_file_alone(
    suffix: str, of_form: Callable[[str], Written]
) -> None:
    _, done, rows, about, *_ = of_form(suffix)
    counted, printed = document(rows), json.loads(audit_json(done))
    # Titles, what to do and the worst hauls are no counts.
    of_rules = {each["rule"]: each for each in printed["rules"]}
    for name, each in counted.pop("rules").items():
        expected = of_rules.pop(name)
        assert each == {key: expected[key] for key in each}, name
    assert of_rules == {}
    # Which fields would decide a rule is tried, not counted.
    assert counted.pop("never_decided").keys() == printed["never_decided"].keys()
    assert counted == {key: printed[key] for key in counted}
    assert min(printed["refused"], printed["totals"]["held"], len(printed["not_stated"])) > 0
    assert printed["unread_subjects"]
    for key in ("log", "digest", "near", "rulebooks", "tables", "amendments"):
        assert about[key] == printed[key]


def test_a_file_says_what_its_columns_mean(of_form: Callable[[str], Written]) -> None:
    meanings = {each.name: each.meaning for each in COLUMNS}
    for suffix in (".jsonl", ".parquet"):
        columns = of_form(suffix).about["columns"]
        assert {each["name"]: each["meaning"] for each in columns} == meanings
        rows_with = {each["name"]: each["rows"] for each in columns}
        for row in of_form(suffix).rows:
            stated = {name for name, value in row.items() if value is not None}
            assert all(row["kind"] in rows_with[name] for name in stated)
    schema = pyarrow.parquet.read_schema(of_form(".parquet").file)
    assert {each.name: each.metadata[b"meaning"].decode() for each in schema} == meanings


@pytest.mark.parametrize("suffix", [".jsonl", ".parquet"])
def test_a_season_without_a_haul_has_its_refused_rows(tmp_path: Path, suffix: str) -> None:
    log = tmp_path / "hauls.csv"
    log.write_text("load,date,haul\nno-such-load,2026-05-14,H1\nmower-in-order,soon,H2\n")
    rows = written(log, suffix).rows
    assert [(row["kind"], row["row"], row["haul"]) for row in rows] == [
        ("refused", 2, "H1"),
        ("refused", 3, "H2"),
    ]
    assert "wanted a day such as 2026-05-14" in rows[1]["reason"]


@pytest.mark.parametrize("suffix", [".jsonl", ".parquet"])
def test_a_log_without_a_row_has_a_file_that_can_be_read(tmp_path: Path, suffix: str) -> None:
    log = tmp_path / "hauls.csv"
    log.write_text("load,date\n")
    assert written(log, suffix).rows == []


def test_the_evidence_of_a_haul_on_hold_is_the_finding_that_decides(
    of_form: Callable[[str], Written],
) -> None:
    """The must-rule missed by the largest share of its limit, else the first that is not met."""
    rows, held = of_form(".parquet").rows, of_form(".parquet").held.worst_first()
    broken: dict[int, list[dict[str, Any]]] = {}
    for row in (each for each in rows if each["kind"] == "finding"):
        is_broken = (row["verdict"], row["level"]) == ("not met", "must") and not row["excused"]
        if is_broken:
            broken.setdefault(row["row"], []).append(row)
    by_outcome = {
        outcome: {row["row"] for row in rows if row["kind"] == "haul" and row["outcome"] == outcome}
        for outcome in ("hold", "open")
    }
    opened = held.records["open"]
    assert set(held.records["row"][opened].tolist()) == by_outcome["open"]
    on_hold = held.records[~opened]
    assert set(on_hold["row"].tolist()) == by_outcome["hold"] == set(broken)
    for each in on_hold:
        unmet = broken[int(each["row"])]
        shares = [row for row in unmet if row["margin"] is not None]
        decides = min(shares, key=lambda row: row["margin"]) if shares else unmet[0]
        assert held.rule[each["rule"]] == decides["rule"]
        assert each["broken"] == len(unmet)
        assert (held.name[each["name"]] or None) == decides["haul"]
        assert held.crew[each["crew"]] == decides["crew"]
        rig = held.load[each["load"]]
        assert (rig.load, rig.trailer) == (decides["load"], decides["trailer"])
        if decides["unit"] != "day":
            found = (float(each["found"]), float(each["wanted"]), float(each["margin"]))
            expected = (decides["found"], decides["wanted"], decides["margin"] or math.nan)
            assert found == pytest.approx(expected, rel=1e-12, nan_ok=True)
    order = [(-int(each["broken"]), float(np.nan_to_num(each["margin"]))) for each in on_hold]
    assert order == sorted(order)
