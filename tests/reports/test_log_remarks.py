"""Names that are alike and haul numbers used twice stand in every form of an audit."""

import io
import json
from dataclasses import replace

import pytest
from openpyxl import load_workbook
from rich.console import Console

from checker.reports.audit_forms import html as audit_html
from checker.reports.audit_forms import json as audit_json
from checker.reports.audit_forms import xlsx as audit_xlsx
from checker.reports.pages.audit.page import print_audit
from checker.reports.shared.audit_results import AuditRun
from checker.reports.shared.log_remarks import log_remarks
from checker.season.slips.alike_names import Seen
from checker.season.slips.haul_numbers import RepeatedNumber, RepeatedNumbers
from checker.season.totals import Tally
from tests.reports.audits import rows_of, with_totals

ONE_LOAD = (
    "one load under several names:",
    "'loads/hay' (3 hauls, first in row 2), 'loads/hay.yaml' (1 haul, first in row 9)",
    4,
)
CREWS = (
    "of names that differ only in capitals or spaces, counted apart:",
    "crew 'North' (12 hauls, first in row 4), 'north' (2 hauls, first in row 7)",
    14,
)
ONE_ID = (
    "of one id in several files, counted as one:",
    "trailer 'T-9' (from trailers/a and trailers/b)",
    6,
)
NUMBERS = (
    "haul number used more than once:",
    "'H-1' (rows 4, 9), 'H-2' (rows 5, 6 and 3 more) and 1 other number",
    9,
)


@pytest.fixture(scope="module")
def run(season: AuditRun) -> AuditRun:
    """The season with alike names and repeated numbers."""
    loads = {"loads/hay": Seen(3, 2), "loads/hay.yaml": Seen(1, 9), "loads/logs": Seen(8, 3)}
    crews = {"north": Seen(2, 7), "south": Seen(5, 2), "North": Seen(12, 4)}
    keys = {"loads/hay": "loads/hay", "loads/hay.yaml": "loads/hay", "loads/logs": "loads/logs"}
    listed = (RepeatedNumber("H-1", 2, (4, 9)), RepeatedNumber("H-2", 5, (5, 6)))
    run = with_totals(season, names={"load": loads, "crew": crews}, keys_of_loads=keys)
    files = {"trailer": {"T-9": ["trailers/a", "trailers/b"], "T-7": ["trailers/c"]}}
    by = {**season.audit.totals.by, "trailer": {"T-9": Tally(6), "T-7": Tally(6)}}
    run = with_totals(run, files_of_ids=files, by=by)
    return replace(run, audit=replace(run.audit, repeated=RepeatedNumbers(3, 9, listed)))


def test_what_is_remarked_on(run: AuditRun) -> None:
    assert list(log_remarks(run.audit)) == [ONE_LOAD, CREWS, ONE_ID, NUMBERS]


def test_many_remarks_are_shortened(run: AuditRun) -> None:
    crews = {
        name: Seen(1, row)
        for row in range(2, 46, 2)
        for name, row in ((f"crew {row}", row), (f"Crew {row}", row + 1))
    }
    audit = with_totals(run, names={"crew": crews}).audit
    *_, last, _, _ = log_remarks(audit)
    # 22 pairs of two hauls, of which 20 are listed.
    assert last == (CREWS[0], "and 2 more", 4)


def test_every_form_has_them(run: AuditRun) -> None:
    text = io.StringIO()
    print_audit(run.audit, Console(file=text, width=300, highlight=False))
    page = " ".join(audit_html.report(run).replace("&#39;", "'").split())
    rows = [(row["kind"], row["name"], row["hauls"]) for row in rows_of(run)]
    sheet = load_workbook(io.BytesIO(audit_xlsx.report(run)))["Totals"]
    cells = [row[:2] for row in sheet.iter_rows(values_only=True)]
    for what, which, hauls in (ONE_LOAD, CREWS, ONE_ID, NUMBERS):
        # A row may have been refused: then it is no haul that was checked.
        unit = "rows" if what == NUMBERS[0] else "hauls"
        assert f"! {hauls} {unit}: {what} {which}" in text.getvalue()
        assert f"{hauls} {unit}: {what} {which}" in page
        assert (f"{unit} with: {what}" if unit == "rows" else what, which, str(hauls)) in rows
        assert (f"{unit} with: {what} {which}", hauls) in cells
    assert "counted all the same" not in text.getvalue()
    document = json.loads(audit_json.report(run))
    assert document["alike_names"] == [
        {
            "kind": "load",
            "counted": "as one",
            "names": [
                {"name": "loads/hay", "hauls": 3, "first_row": 2},
                {"name": "loads/hay.yaml", "hauls": 1, "first_row": 9},
            ],
        },
        {
            "kind": "crew",
            "counted": "apart",
            "names": [
                {"name": "North", "hauls": 12, "first_row": 4},
                {"name": "north", "hauls": 2, "first_row": 7},
            ],
        },
    ]
    assert document["ids_of_several_files"] == [
        {"kind": "trailer", "id": "T-9", "hauls": 6, "files": ["trailers/a", "trailers/b"]}
    ]
    assert document["repeated_haul_numbers"] == {
        "numbers": 3,
        "hauls": 9,
        "listed": [
            {"haul": "H-1", "hauls": 2, "rows": [4, 9]},
            {"haul": "H-2", "hauls": 5, "rows": [5, 6]},
        ],
    }
