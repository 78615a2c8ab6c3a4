"""What reports print for trailers, machines and tow vehicles of which two may have one title."""

import io
import json
from pathlib import PurePath
from typing import Any

import numpy as np
import pytest
from openpyxl import load_workbook
from rich.console import Console

from checker.evaluation.outcome import Outcome
from checker.reports.audit_forms import html as audit_html
from checker.reports.audit_forms import json as audit_json
from checker.reports.audit_forms import xlsx as audit_xlsx
from checker.reports.pages.audit.page import print_audit
from checker.reports.pages.comparison import comparison_json, sections
from checker.reports.shared.audit_results import AuditRun
from checker.reports.shared.impact_totals import totals
from checker.reports.shared.season_names import SeasonNames
from checker.season.changed_hauls import ChangedHauls, HaulLabels
from checker.season.comparing import compare
from checker.season.impact import ChangedOutcome, Impact
from checker.season.record import record_of
from checker.season.totals import Tally
from tests.reports.audits import rows_of, with_totals

TITLES = {
    "trailer": {"trailers/a": "Utility trailer", "T-9": "Utility TRAILER", "T-7": "Flatbed"},
}
TRAILERS = {"trailers/a": Tally(5, 2), "T-9": Tally(4, 1), "T-7": Tally(3), "": Tally(2)}
PRINTED = ("Utility trailer (trailers/a)", "Utility TRAILER (T-9)", "Flatbed", "not stated")


@pytest.mark.parametrize(
    ("kind", "key", "printed"),
    [
        *(("trailer", key, printed) for key, printed in zip(TRAILERS, PRINTED, strict=True)),
        # No title is known for these.
        ("tow vehicle", "tow-vehicles/half-ton", "tow-vehicles/half-ton"),
        ("trailer", "T-1", "T-1"),
        ("crew", "north", "north"),
        ("crew", "", "not named"),
    ],
)
def test_a_title_is_printed_with_its_key_where_another_has_it_too(
    kind: str, key: str, printed: str
) -> None:
    assert SeasonNames(TITLES).printed(kind, key) == printed


@pytest.fixture(scope="module")
def fleet(season: AuditRun) -> AuditRun:
    """The season with the trailers above."""
    by = {**season.audit.totals.by, "trailer": TRAILERS}
    return with_totals(season, by=by, titles={**season.audit.totals.titles, **TITLES})


def test_every_form_keeps_two_of_one_title_apart(fleet: AuditRun) -> None:
    text = io.StringIO()
    print_audit(fleet.audit, Console(file=text, width=200, highlight=False))
    page = " ".join(audit_html.report(fleet).split())
    for printed in PRINTED:
        assert f"- {printed}: " in text.getvalue()
        assert f'<th scope="row">{printed}' in page
    rows = {(row["name"], row["title"]) for row in rows_of(fleet) if row["kind"] == "trailer"}
    titled = {(key or "not stated", TITLES["trailer"].get(key, "")) for key in TRAILERS}
    assert rows == titled
    book = load_workbook(io.BytesIO(audit_xlsx.report(fleet)))
    _, *cells = book["Trailers"].iter_rows(values_only=True, max_col=2)
    assert {(key, title or "") for key, title in cells} == titled
    document = json.loads(audit_json.report(fleet))
    assert {key: each["title"] for key, each in document["by"]["trailer"].items()} == {
        key: TITLES["trailer"].get(key, "") for key in TRAILERS
    }


def without_titles(document: dict[str, Any]) -> dict[str, Any]:
    """An audit as a version before titles wrote it."""
    by = {
        kind: {
            name: {member: number for member, number in each.items() if member != "title"}
            for name, each in counts.items()
        }
        for kind, counts in document["by"].items()
    }
    return {**document, "by": by}


def test_audits_are_compared_by_key_and_printed_with_titles(fleet: AuditRun) -> None:
    now = json.loads(audit_json.report(fleet))
    then = json.loads(audit_json.report(fleet))
    then["by"]["trailer"]["T-9"]["held"] = 0
    found = compare(record_of(then), record_of(now))
    assert {heading: lines for heading, lines in sections(found) if "TRAILER" in heading} == {
        "ON HOLD BY TRAILER, NOW AND THEN": [
            "new: Utility TRAILER (T-9): 1 of 4 (25 %); then 0 of 4"
        ]
    }
    compared = comparison_json(found)["by"]["trailer"]
    assert ("T-9", "Utility TRAILER") in [(each["name"], each["title"]) for each in compared]


def test_an_earlier_audit_that_counted_by_title_is_not_compared_by_key(fleet: AuditRun) -> None:
    now = json.loads(audit_json.report(fleet))
    found = compare(record_of(without_titles(now)), record_of(now))
    assert found.not_compared == ("trailer", "machine", "tow vehicle")
    assert not found.nothing_changed
    (inputs, *_) = [lines for heading, lines in sections(found)]
    assert any(line.startswith("not compared: trailers, machines, tow") for line in inputs)
    document = comparison_json(found)
    assert document["not_compared"] == ["trailer", "machine", "tow vehicle"]
    assert document["by"]["trailer"] == []
    assert document["by"]["crew"]


def test_the_impact_of_a_change_keeps_two_of_one_title_apart() -> None:
    loads = [("trailers/a", "Flatbed"), ("T-9", "Flatbed"), ("T-9", "Flatbed"), ("", "")]
    hauls = ChangedHauls(
        rows=np.arange(4),
        days=np.full(4, 739_000),
        labels=[HaulLabels("Hay", key, title, "north") for key, title in loads],
        causes=[None] * 4,
    )
    outcome = ChangedOutcome(Outcome.NO_RULE_BROKEN, Outcome.HOLD, hauls)
    found = Impact((), (outcome,), (), checked=4, name=lambda row: PurePath(f"log.csv:{row}"))
    counted = [
        (each.name, each.title, each.printed, each.loads) for each in totals(found, "trailer")
    ]
    assert counted == [
        ("T-9", "Flatbed", "Flatbed (T-9)", 2),
        ("trailers/a", "Flatbed", "Flatbed (trailers/a)", 1),
    ]
    assert [(each.printed, each.title) for each in totals(found, "crew")] == [("north", "")]
