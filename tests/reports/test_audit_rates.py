"""Every form of an audit gives rates with their ranges and names what chance does not explain."""

import io
import json
from dataclasses import replace
from datetime import date

import pytest
from openpyxl import load_workbook
from rich.console import Console

from checker.reports.audit_forms import csv, html, xlsx
from checker.reports.audit_forms.json import audit_json
from checker.reports.pages.audit.page import print_audit
from checker.reports.shared.audit_results import AuditRun, most_often_held_first
from checker.reports.shared.rate_words import (
    counted_words,
    per_distance_words,
    rate_words,
    share_words,
)
from checker.season.rates.exposure import Carried, Exposure, Exposures
from checker.season.totals import Tally
from checker.units.formatting import Units
from tests.reports.audits import rows_of, with_totals

MILE = 1609.344
NAMED = (
    "more often on hold than other crews with the same loads and the same months: 12 of 40; "
    "at their share it would be 2.1; p under 0.001"
)
LOAD = "loads/side-by-side-in-order"


@pytest.fixture(scope="module")
def crews(season: AuditRun) -> AuditRun:
    """North has 12 of 40 hauls on hold, south 31 of 610, east 1 of 1; each haul is 50 mi long."""
    counts = {"north": (40, 12), "south": (610, 31), "east": (1, 1)}
    exposures = Exposures({LOAD: Carried("trailer", ("machine",), "truck")}, {LOAD: {}})
    for crew, (decided, held) in counts.items():
        driven = Exposure(decided, held, decided, held, round(decided * 50 * MILE))
        exposures.hauled[LOAD][crew] = {"2026-05": driven}
    tallies = {crew: Tally(decided, held) for crew, (decided, held) in counts.items()}
    by = {**season.audit.totals.by, "crew": tallies, "month": {"2026-05": Tally(651, 44)}}
    return with_totals(season, exposures=exposures, by=by)


def printed(run: AuditRun, units: Units = Units.PROFILE) -> str:
    text = io.StringIO()
    print_audit(run.audit, Console(file=text, width=400, highlight=False), units=units)
    return text.getvalue()


def test_the_text_names_the_crew_with_its_rate(crews: AuditRun) -> None:
    lines = printed(crews).splitlines()
    assert f"- crew north: {NAMED}" in lines
    first = lines.index("BY CREW") + 1
    # By hand, Wilson of 12 of 40: (0.3 + 0.048 -+ 0.1535) / 1.096 = 0.181 and 0.454; of 2,000 mi.
    assert lines[first].startswith("- north: 40 hauls: 12 on hold")
    assert f"; 30 % (18 to 45 %) on hold, 6 (3.4 to 10) per 1,000 mi; {NAMED}" in lines[first]
    assert "; 5.1 % (3.6 to 7.1 %) on hold, 1 (0.72 to 1.4) per 1,000 mi" in lines[first + 1]
    assert lines[first + 2].endswith("; too few to rank")
    assert any(line.endswith(", 6.8 % (5.1 to 9 %)") for line in lines if "651 hauls" in line)
    assert "per 1,000 km" in printed(crews, Units.SI)


def test_every_form_names_the_crew(crews: AuditRun) -> None:
    rows = {row["name"]: row for row in rows_of(crews) if row["kind"] == "crew"}
    assert (rows["north"]["share on hold of decided"], rows["north"]["compared with others"]) == (
        "0.3",
        NAMED,
    )
    assert float(rows["north"]["on hold per 1000 km"]) == pytest.approx(12 / (2 * 1.609344))
    # Even if all 44 were its own, by hand about (610 / 651)^44 = 0.057: it could not be named.
    assert rows["south"]["compared with others"] == "too few to say"
    assert rows["east"]["low"] == ""
    book = load_workbook(io.BytesIO(xlsx.report(crews)))
    north = next(row for row in book["Crews"].iter_rows(values_only=True) if row[0] == "north")
    assert north[-1] == NAMED
    assert north[8] == 0.3
    page = html.report(crews)
    assert f"crew north: {NAMED}" in page
    assert "18 to 45 %" in page
    document = json.loads(audit_json(crews.audit))["statistics"]
    found = {each["name"]: each["result"] for each in document["comparisons"] if each["p"]}
    assert found == {"north": "more often", "south": "too few to say"}
    assert document["rates"]["crew"]["north"]["held"] == 12


def test_every_form_tells_before_and_after_a_change(crews: AuditRun) -> None:
    changed = replace(crews, audit=replace(crews.audit, changed_on=date(2026, 5, 14)))
    words = "since 2026-05-14: no crew hauled a load both before and after, so nothing can be said"
    assert words in printed(changed)
    assert words in html.report(changed)
    assert words in csv.report(changed)
    book = load_workbook(io.BytesIO(xlsx.report(changed)))
    assert any(words in str(row[1]) for row in book["Totals"].iter_rows(values_only=True))
    found = json.loads(audit_json(changed.audit))["statistics"]
    assert (found["changed_on"], found["since"]["result"]) == ("2026-05-14", "no load in both")


def test_groups_of_few_hauls_are_not_ranked() -> None:
    tallies = {"b": Tally(9, 9), "a": Tally(9), "often": Tally(20, 10), "seldom": Tally(400, 40)}
    # Of many hauls less is left to chance: 40 of 400 is at least 7 %, 2 of 10 at least 6 %.
    tallies["perhaps"] = Tally(10, 2)
    ranked = [name for name, _ in most_often_held_first(tallies)]
    assert ranked == ["often", "seldom", "perhaps", "a", "b"]


def test_shares_and_rates_in_words() -> None:
    assert [share_words(each) for each in (0, 0.0001, 0.051, 0.0996, 0.3, 0.996)] == [
        *("0 %", "under 0.1 %", "5.1 %", "10 %", "30 %", "99.6 %"),
    ]
    assert [share_words(each) for each in (0.9999, 1)] == ["over 99.9 %", "100 %"]
    assert rate_words(9, 9) == ""
    # Half of the hauls state no distance: nothing is said of miles.
    assert per_distance_words(Exposure(40, 12, 20, 6, 10**6), Units.US) == ""


def test_the_number_of_comparisons_is_said_only_where_it_is_several() -> None:
    assert counted_words(1) == ""
    assert counted_words(2) == ", with all 2 comparisons counted"
