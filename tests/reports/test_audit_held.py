"""Every haul on hold or open with its evidence, in page and workbook, against single checks."""

import io
import json
from collections import Counter
from collections.abc import Mapping
from datetime import date
from typing import Any

import pytest
from lxml import html as lxml_html
from openpyxl import load_workbook

from checker.evaluation.check import Check
from checker.evaluation.finding import Finding
from checker.reports.audit_forms import html as audit_html
from checker.reports.audit_forms import xlsx as audit_xlsx
from checker.reports.shared.audit_results import NO_RULE_MET, AuditRun
from checker.reports.shared.comparison_words import found_and_wanted
from checker.reports.shared.season_names import SeasonNames
from checker.rulebooks.verdicts import Verdict
from checker.units.formatting import US

OPEN = 12
"""Index of what tells open hauls from those on hold."""
COLUMNS = ("row", "name", "day", "load", "trailer", "crew", "reason", "found", "wanted")


def decisive(check: Check) -> Finding:
    """The must-rule that is missed by the largest share of its limit, else the first."""
    broken = [
        each
        for each in check.findings
        if each.verdict is Verdict.NOT_MET and each.rule.level == "must" and not each.variance
    ]
    shares = [each for each in broken if each.margin is not None]
    return min(shares, key=lambda each: each.margin or 0.0) if shares else broken[0]


def on_hold(season: AuditRun) -> dict[int, Finding]:
    """By row of the log, what decides the hauls on hold, each checked by itself."""
    checks = {row: each.check for row, each in season.workings.items() if each.check}
    return {row: decisive(check) for row, check in checks.items() if check.outcome == "hold"}


def left_open(season: AuditRun) -> dict[int, list[Finding]]:
    """By row of the log, the undecided must-rules of the open hauls, each checked by itself."""
    checks = {row: each.check for row, each in season.workings.items() if each.check}
    undecided = (Verdict.NOT_STATED, Verdict.TOO_CLOSE)
    return {
        row: [
            each
            for each in check.findings
            if each.rule.level == "must" and each.verdict in undecided and not each.variance
        ]
        for row, check in checks.items()
        if check.outcome == "open"
    }


def data_of(page: str) -> Any:
    """The data of the list in a page."""
    return json.loads(lxml_html.fromstring(page).get_element_by_id("held-data").text)


def in_words(head: Mapping[str, Any], row: list[Any]) -> dict[str, Any]:
    """A row of the data with the words that it refers to."""
    words = dict(zip(COLUMNS, row, strict=False))
    tables = {"day": "days", "load": "loads", "trailer": "trailers", "crew": "crews"}
    return words | {name: head[table][words[name]] for name, table in tables.items()}


def test_the_page_has_the_evidence_of_every_haul_on_hold(season: AuditRun) -> None:
    expected = on_hold(season)
    assert len(expected) == season.audit.totals.all.held >= 4
    data = data_of(audit_html.report(season))
    head, listed = data["head"], data["rows"]
    assert head["hauls"] == len(listed) == len(expected) + season.audit.totals.all.open
    rows = [row for row in listed if not row[OPEN]]
    # The open hauls come after those on hold.
    assert listed[: len(rows)] == rows
    held = [each for each in season.audit.totals.worst_hauls if each.outcome == "hold"]
    assert [row[0] for row in rows] == [each.row for each in held]
    for each, row in zip(held, rows, strict=True):
        told, finding = in_words(head, row), expected[each.row]
        reason = head["reasons"][told["reason"]]
        assert (told["day"], told["load"]) == (each.day, each.load)
        assert told["crew"] == (each.crew or "not named")
        assert reason["rule"] == finding.rule.id
        sides = found_and_wanted(finding, US)
        assert sides is not None
        # A check says what it compares with the value, and how a limit was worked out.
        assert sides.found.endswith(told["found"])
        assert sides.wanted.startswith(told["wanted"])
        margin = finding.margin
        assert row[9] == (None if margin is None else pytest.approx(margin, rel=1e-5))
        assert row[11] == len(each.broken) - 1
        operator = finding.governing and finding.governing.operator
        below = {">=": "below", ">": "below", "<=": "above", "<": "above"}
        assert reason["side"] == below.get(operator or "")
        assert reason["compares"]


def test_an_open_haul_has_the_fields_that_most_of_its_rules_lack(season: AuditRun) -> None:
    expected = left_open(season)
    data = data_of(audit_html.report(season))
    head, rows = data["head"], [row for row in data["rows"] if row[OPEN]]
    opened = [each for each in season.audit.totals.worst_hauls if each.outcome == "open"]
    assert [row[0] for row in rows] == [each.row for each in opened]
    assert {row[0] for row in rows} == set(expected)
    assert any(not each.missing for each in opened)
    for each, row in zip(opened, rows, strict=True):
        findings, told = expected[each.row], in_words(head, row)
        reason = head["reasons"][told["reason"]]
        if not findings:
            assert (reason["title"], reason["rule"], row[11]) == (NO_RULE_MET, "", 0)
            continue
        assert row[11] == len(findings) - 1
        rule = next(one for one in findings if one.rule.id == reason["rule"])
        counts = Counter(field for one in findings for field in one.missing)
        if counts:
            assert reason["title"] == f"not stated: {', '.join(each.missing)}"
            numbers = sorted(counts.values(), reverse=True)
            assert [counts[field] for field in each.missing] == numbers[: len(each.missing)]
            assert each.missing[0] in rule.missing
            assert told["found"] == f"{len(counts)} field{'s' * (len(counts) > 1)} not stated"
            assert told["wanted"] == ""
        elif not any(one.verdict is Verdict.TOO_CLOSE for one in findings):
            assert (reason["rule"], told["found"]) == (findings[0].rule.id, "")
            assert reason["title"].startswith("undecided: ")
        else:
            assert rule.verdict is Verdict.TOO_CLOSE
            assert reason["title"].startswith("too close to call: ")
            sides = found_and_wanted(rule, US)
            assert sides is not None
            assert sides.wanted.startswith(told["wanted"])


def test_a_large_list_is_in_files_beside_the_page(
    season: AuditRun, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = data_of(audit_html.report(season))
    monkeypatch.setattr(audit_html, "MOST_IN_PAGE", 1000)
    monkeypatch.setattr("checker.reports.shared.html.haul_list_pages._ROWS_OF_A_FILE", 2)
    page, files = audit_html.pages(season, "season-hauls")
    assert "season-hauls" in page
    data = data_of(page)
    assert data["rows"] == []
    rows = []
    for number, (name, text) in enumerate(sorted(files.items()), 1):
        assert name == f"000{number}.js"
        assert text.isascii()
        start = f'cinchbookHauls("{data["head"]["key"]}", {number}, '
        assert text.startswith(start)
        rows += json.loads(text.removeprefix(start).removesuffix(");\n"))
    assert rows == whole["rows"]
    assert data["head"]["files"] == len(files)
    # With room enough the same list is in the page.
    monkeypatch.undo()
    assert audit_html.pages(season, "season-hauls") == (audit_html.report(season), {})


def test_the_workbook_has_a_row_for_every_haul_on_hold(
    season: AuditRun, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(audit_xlsx, "MOST_ROWS", 3)
    book = load_workbook(io.BytesIO(audit_xlsx.report(season)))
    sheets = [name for name in book.sheetnames if name.startswith("On hold")]
    expected = on_hold(season)
    tally = season.audit.totals.all
    assert len(sheets) == -(-(tally.held + tally.open) // 3)
    rows: dict[int, dict[str, Any]] = {}
    for name in sheets:
        headings, *found = book[name].iter_rows(values_only=True)
        rows |= {row[0]: dict(zip(headings, row, strict=True)) for row in found}  # type: ignore[misc, arg-type]
    opened = {number: rows.pop(number) for number in left_open(season)}
    for number, row in opened.items():
        findings = left_open(season)[number]
        assert (row["outcome"], row["more must-rules not met"]) == ("open", None)
        assert row["more must-rules undecided"] == max(len(findings) - 1, 0)
        words = ("not stated: ", "too close to call: ", "undecided: ") if findings else NO_RULE_MET
        assert row["what is wrong"].startswith(words)
    assert {row["outcome"] for row in rows.values()} == {"on hold"}
    assert set(rows) == set(expected)
    names = SeasonNames(season.audit.totals.titles)
    for number, row in rows.items():
        finding = expected[number]
        assert row["rule that decides"] == finding.rule.id
        assert isinstance(row["day"], date)
        labels = season.workings[number].labels
        assert row["trailer"] == names.printed("trailer", labels.trailer)
        assert row["tow vehicle"] == names.printed("tow vehicle", labels.tow_vehicle)
        assert row["machines"] == "; ".join(
            names.printed("machine", key) for key in labels.machines
        )
        governing = finding.governing
        assert governing is not None
        if row["unit"] == "lb":
            found = (row["found"] * 4.4482216152605, row["wanted"] * 4.4482216152605)
            sides = (governing.left_value, governing.right_value)
            assert found == pytest.approx(sides, rel=1e-8)
        elif governing.operator is None:
            assert (row["found"], row["wanted"]) in {("no", "yes"), ("yes", "no")}
    assert {row["unit"] for row in rows.values()} >= {"lb", None}
