"""What an audit writes as CSV and as a workbook, read back with code that is not ours."""

import io
import os
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, datetime
from typing import Any
from unittest import mock
from zipfile import ZipFile

import pytest
from openpyxl import Workbook, load_workbook

from checker.reports.audit_forms import xlsx as audit_xlsx
from checker.reports.shared.audit_results import AuditRun
from checker.rulebooks.verdicts import WORST_FIRST, Verdict
from tests.reports.audits import HOSTILE_CREW, rows_of


def test_csv_holds_every_count(season: AuditRun) -> None:
    audit = season.audit
    rows = {(row["kind"], row["name"]): row for row in rows_of(season)}
    assert rows["refused", ""]["hauls"] == "2"
    tallies = [("all", "", audit.totals.all)]
    for kind in ("load", "trailer", "machine", "tow vehicle", "month"):
        tallies += [(kind, name, tally) for name, tally in audit.totals.by[kind].items()]
    for kind, name, tally in tallies:
        row = rows[kind, name]
        reported = [int(row[column]) for column in ("hauls", "on hold", "open", "near", "excused")]
        assert reported == [tally.hauls, tally.held, tally.open, tally.near, tally.excused]
        assert int(row["no rule broken"]) == tally.hauls - tally.held - tally.open
    for name, counted in audit.totals.rules.items():
        row = rows["rule", name]
        verdicts = dict(zip(WORST_FIRST, counted.verdicts, strict=True))
        assert int(row["met"]) == verdicts[Verdict.MET]
        assert int(row["not met"]) + int(row["excused"]) == verdicts[Verdict.NOT_MET]
        assert int(row["undecided"]) == verdicts[Verdict.NOT_STATED] + verdicts[Verdict.TOO_CLOSE]
        parts = sum(int(row[part]) for part in ("met", "not met", "excused", "undecided"))
        assert int(row["hauls"]) == parts
    for field, number in audit.totals.missing_fields.items():
        assert rows["not stated", field]["hauls"] == str(number)


def test_csv_runs_nothing_in_a_spreadsheet(season: AuditRun) -> None:
    crews = {row["name"] for row in rows_of(season) if row["kind"] == "crew"}
    assert crews == {"north", "south", "'@south", "bell", f"'{HOSTILE_CREW}", "not named"}


@pytest.fixture(scope="module")
def book(season: AuditRun) -> Workbook:
    return load_workbook(io.BytesIO(audit_xlsx.report(season)))


def table(book: Workbook, name: str) -> list[dict[str, Any]]:
    headings, *rows = book[name].iter_rows(values_only=True)
    return [dict(zip(map(str, headings), row, strict=True)) for row in rows]


def test_the_workbook_has_the_same_bytes_whenever_it_is_written(season: AuditRun) -> None:
    with clock_at("2026-03-01 10:00:00"):
        first = audit_xlsx.report(season)
    with clock_at("2031-07-09 23:59:30"):
        assert audit_xlsx.report(season) == first
    with ZipFile(io.BytesIO(first)) as parts:
        assert {each.date_time[0] for each in parts.infolist()} == {1980}


@contextmanager
def clock_at(time: str) -> Iterator[None]:
    """What the library asks for the time: the clock, and when its own parts were written."""
    then = datetime.fromisoformat(time)
    write = ZipFile.write

    def now(**_: object) -> datetime:
        return then

    def write_then(archive: ZipFile, file: str, *names: str) -> None:
        os.utime(file, (then.timestamp(), then.timestamp()))
        write(archive, file, *names)

    with (
        mock.patch("time.time", then.timestamp),
        mock.patch("openpyxl.writer.excel.datetime", mock.Mock(datetime=mock.Mock(now=now))),
        mock.patch.object(ZipFile, "write", write_then),
    ):
        yield


def test_the_workbook_has_a_sheet_for_each_question(book: Workbook) -> None:
    assert book.sheetnames == [
        *("Totals", "Causes", "Rules"),
        *("Trailers", "Machines", "Tow vehicles", "Crews", "Months"),
        *("Worst", "On hold or open", "Not decided", "Doubtful", "Refused"),
    ]


def test_the_workbook_holds_every_count(book: Workbook, season: AuditRun) -> None:
    audit = season.audit
    totals = {row["what"]: row["value"] for row in table(book, "Totals")}
    assert (totals["rows read"], totals["rows refused"]) == (14, 2)
    assert totals["on hold"] == audit.totals.all.held
    assert totals["share on hold"] == pytest.approx(audit.totals.all.held / 12)
    digests = {str(row["digest"]) for row in table(book, "Totals")}
    judged_by = (*audit.rulebooks.books, *audit.rulebooks.tables)
    assert {f"{each.id} {each.digest}" for each in judged_by} | {audit.digest} < digests
    for sheet, kind in (("Trailers", "trailer"), ("Machines", "machine"), ("Months", "month")):
        reported = {row[kind]: row for row in table(book, sheet)}
        for name, tally in audit.totals.by[kind].items():
            assert reported[name]["hauls"] == tally.hauls
            assert reported[name]["on hold"] == tally.held
            assert reported[name]["near a limit"] == tally.near
    rules = {row["rule"]: row for row in table(book, "Rules")}
    assert {name: row["not met"] for name, row in rules.items()} == {
        name: tally.broken for name, tally in audit.totals.rules.items()
    }
    worst = table(book, "Worst")
    assert [row["row"] for row in worst] == [each.row for each in audit.totals.worst_hauls]
    assert [row["day"].date() for row in worst] == [
        date.fromisoformat(each.day) for each in audit.totals.worst_hauls
    ]
    assert [row["row"] for row in table(book, "Refused")] == [13, 14]


def test_no_cell_of_the_workbook_is_a_formula(book: Workbook) -> None:
    kinds = {cell.data_type for sheet in book for row in sheet.iter_rows() for cell in row}
    assert "f" not in kinds
    crews = {row[0].value: row[0] for row in book["Crews"].iter_rows(min_row=2)}
    assert set(crews) == {"north", "south", "@south", "bell", HOSTILE_CREW, "not named"}
    assert crews[HOSTILE_CREW].quotePrefix
    assert crews["@south"].quotePrefix
    assert not crews["north"].quotePrefix
