"""What every form of an audit must say, and one season against its counts in all of them."""

import io
import json
import re
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from importlib import import_module
from pathlib import Path

import pytest
from lxml import html as lxml_html
from openpyxl import load_workbook
from rich.console import Console

from checker.cli.writing import forms_in
from checker.reports.audit_forms import csv as audit_csv
from checker.reports.audit_forms import json as audit_json
from checker.reports.audit_forms import xlsx as audit_xlsx
from checker.reports.audit_forms.html import report
from checker.reports.pages.audit.page import print_audit
from checker.reports.shared.audit_results import AuditRun, warning_counts
from checker.season.records.evidence import NO_HAUL
from checker.season.totals import Tally
from tests.reports.audits import ALL_RULES, HOSTILE_CREW, audited, rows_of, text, with_totals

FORMS = forms_in("checker.reports.audit_forms")
CREWS = {"north", "south", "@south", "bell", HOSTILE_CREW}


def test_the_season_has_something_of_every_kind(season: AuditRun) -> None:
    # Without these the tests below would show little.
    tally = season.audit.totals.all
    assert (tally.hauls, season.audit.refused) == (12, 2)
    assert min(tally.held, tally.open, tally.near) >= 1
    assert set(season.audit.totals.by["crew"]) == {*CREWS, ""}


def test_every_report_warns_of_places_without_a_rulebook_and_of_doubtful_figures(
    season: AuditRun,
) -> None:
    # None of the season's rulebooks is of a place. 60000 lb is no weight of a mower: 50000 lb is
    # the most that is usual.
    found = warning_counts(season.audit)
    assert ("no rulebook read for", "MX", 1) in found
    assert ("doubtful figure:", "weight of an article unusually high", 1) in found
    rows = {(row["kind"], row["name"]): row["hauls"] for row in rows_of(season)}
    document = json.loads(audit_json.report(season))
    page = report(season)
    for what, which, number in found:
        assert rows[what, which] == str(number)
        assert f"{what} {which}" in page
    assert document["unread_places"]["MX"] == 1
    assert document["doubtful_figures"]["articles-weight-high"] == 1
    text = io.StringIO()
    print_audit(season.audit, Console(file=text, width=200))
    head = text.getvalue().partition("REFUSED")[0]
    assert "! 1 haul: no rulebook read for MX" in head
    assert "! 1 haul: doubtful figure: weight of an article unusually high" in head


def test_a_log_of_which_nothing_was_judged_is_no_pass(season: AuditRun) -> None:
    nothing = with_totals(
        replace(season, held=NO_HAUL),
        all=Tally(),
        by={kind: {} for kind in season.audit.totals.by},
        rules={},
        missing_fields={},
        doubtful={},
        doubt_words={},
        doubted=Tally(),
        faults={},
        unread={},
        unread_hauls=0,
        unread_subjects={},
        worst_hauls=[],
    )
    page = lxml_html.fromstring(report(replace(nothing, workings={})))
    (headline,) = page.xpath("//p[contains(@class,'outcome')]")
    assert headline.get("class") == "outcome open"
    assert text(headline) == "No haul was checked: that is no verdict on any"
    assert audit_csv.report(nothing).count("\r\n") == 3
    assert load_workbook(io.BytesIO(audit_xlsx.report(nothing)))["Crews"].max_row == 1


SIDES = """\
load,date,walkaround.chains_crossed
loads/too-far-back,2026-03-01,yes
loads/too-far-back,2026-03-02,yes
loads/too-far-forward,2026-03-03,yes
"""
TOO_LIGHT = "Move the machine forward. Then weigh the tongue again."
TOO_HEAVY = "Move the machine rearward, or turn it so that its heavy end is nearer the axles."


def readable(form: str, run: AuditRun) -> str:
    """What a form says, as plain text with single spaces."""
    if form == "text":
        shown = io.StringIO()
        print_audit(run.audit, Console(file=shown, width=2000, highlight=False))
        return shown.getvalue()
    made = import_module(f"checker.reports.audit_forms.{form}").report(run)
    if form == "xlsx":
        sheets = load_workbook(io.BytesIO(made)).worksheets
        return " ".join(str(cell.value) for page in sheets for row in page for cell in row)
    return text(lxml_html.fromstring(made)) if form in ("html", "statement") else made


@pytest.fixture(scope="module")
def by_side(tmp_path_factory: pytest.TempPathFactory) -> Callable[[int], AuditRun]:
    """The audit of hauls broken on one side of a limit or on two."""

    def run(sides: int) -> AuditRun:
        log = tmp_path_factory.mktemp("sides") / "hauls.csv"
        log.write_text("".join(f"{line}\n" for line in SIDES.splitlines()[: sides + 2]))
        # Lists of hauls say of each on which side it is.
        return replace(audited(log), held=None)

    return cache(run)


@pytest.mark.parametrize("form", ["text", *FORMS])
@pytest.mark.parametrize("sides", [2, 1])
def test_every_form_says_what_to_do_by_the_side_of_the_limit(
    by_side: Callable[[int], AuditRun], form: str, sides: int
) -> None:
    """Two hauls with too light a tongue; then one too heavy, in the same audit or not at all."""
    said = readable(form, by_side(sides))
    assert "Tongue too light: move" not in said
    assert (f"2 hauls below the limit: {TOO_LIGHT}" in said) == (sides == 2)
    assert (f"1 haul above the limit: {TOO_HEAVY}" in said) == (sides == 2)
    assert TOO_LIGHT in said
    assert (TOO_HEAVY in said) == (sides == 2)
    # The causes have a direction, in every form; what is said of the rule has it if all hauls do.
    assert "Tongue too light for the loaded trailer" in said
    assert ("Tongue too heavy for the loaded trailer" in said) == (sides == 2)
    rows = {(row["kind"], row["name"]): row["title"] for row in rows_of(by_side(sides))}
    title = rows["rule", "tongue-share-ball"]
    assert ("Tongue too light for the loaded trailer" in title) == (sides == 1)


@pytest.mark.parametrize("form", ["text", *FORMS])
def test_every_form_says_how_many_rows_were_refused(season: AuditRun, form: str) -> None:
    """Two rows of the season: a load that is not there, and a day that is none."""
    said = readable(form, season)
    assert re.search(r"\b2 refused|refused\W*\b2\b", said), f"{form} leaves out the refused rows"


@pytest.mark.parametrize("form", ["text", *FORMS])
def test_every_form_names_what_is_doubtful_and_unread(season: AuditRun, form: str) -> None:
    """One haul goes to Mexico, of which no rulebook was read; one mower weighs 60,000 lb."""
    said = readable(form, season)
    assert re.search(r"\bMX\b", said), f"{form} leaves out a place without a rulebook"
    doubt = r"weight of an article unusually high|articles-weight-high"
    assert re.search(doubt, said), f"{form} leaves out a doubtful figure"
    assert "60,000 lb`; usual: 30 lb to 50,000 lb" in said


@pytest.mark.parametrize("form", ["text", "csv", "html", "xlsx"])
def test_a_rule_that_hauls_broke_is_said_as_broken(season: AuditRun, form: str) -> None:
    said = readable(form, season)
    assert "Chains do not cross under the tongue" in said


# --- What nobody read -----------------------------------------------------------------------------


@pytest.fixture(scope="module")
def in_utah(tmp_path_factory: pytest.TempPathFactory) -> AuditRun:
    """The audit of two hauls in Utah by all shipped rules."""
    log = tmp_path_factory.mktemp("utah") / "hauls.csv"
    log.write_text(
        "load,date\nloads/too-far-back,2026-03-01\nloads/side-by-side-in-order,2026-03-02\n"
    )
    return audited(log, ALL_RULES)


@pytest.mark.parametrize("form", ["text", *FORMS])
def test_every_form_says_how_many_hauls_meet_law_that_nobody_read(
    in_utah: AuditRun, form: str
) -> None:
    """Of Utah's law the shipped rulebooks do not hold these three subjects."""
    said = readable(form, in_utah)
    if form == "json":
        counts = json.loads(said)["unread_subjects"]["US-UT"]
        assert {counts[name] for name in ("height and length", "weight", "towing speed")} == {2}
        return
    words = r"not looked at in,? ?\"?US-UT: height and length, weight, towing speed\"?"
    before, after = r"2 hauls: ", r"\D*\b2\b"
    assert re.search(f"{before}{words}|{words}{after}", said), said


def test_the_headline_of_an_audit_says_of_which_rules_none_was_broken(tmp_path: Path) -> None:
    log = tmp_path / "hauls.csv"
    log.write_text("load,date\nloads/side-by-side-in-order,2026-03-02\n")
    run = audited(log, ALL_RULES)
    assert readable("text", run).count("1 with no rule broken (of those looked at)") == 2
    assert "No must-rule broken in 1 haul, of those looked at" in readable("html", run)
