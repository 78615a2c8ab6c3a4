"""Doubtful figures and places without a rulebook stand first in every form, and change no outcome.

A third of 10000 lb is 3333 lb; the federal table of unmarked devices gives webbing of 2 in 2000 lb
(49 CFR 393.108, synthetic webbing). CH is Switzerland, of which no rulebook is shipped.
"""

import csv
import io
import json
import re
from datetime import date
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest
from lxml import etree
from rich.console import Console

from checker.cli.writing import forms_in
from checker.documents.resources import shipped_folder
from checker.evaluation.outcome import Outcome
from checker.evaluation.tolerances import check_profile
from checker.load.build import read_profile
from checker.reports.check_forms import annotations, codequality, junit, markdown, sarif
from checker.reports.check_forms import csv as csv_report
from checker.reports.check_forms import json as json_report
from checker.reports.check_forms.html import index, load_page
from checker.reports.pages.check.page import print_check
from checker.reports.pages.overview import print_overview
from checker.reports.shared.check_results import CheckedLoad, warnings
from checker.reports.shared.outcome_words import headline
from checker.rulebooks.model import Rulebooks
from checker.units.formatting import US
from tests.reports.conftest import Runs

DAY = date(2026, 5, 18)
MARKED = ("tiedowns", 0, "marked_working_load_limit")
PLACES = ("trip", "places")
FOUND = "a working load limit of 4100 lb on a part that breaks at 10000 lb"
UNREAD = "No rulebook read for CH: nothing of its law was checked."


@pytest.fixture(scope="module")
def warned(rulebooks: Rulebooks) -> CheckedLoad:
    profile = read_profile(
        Path(str(shipped_folder("profiles") / "loads/side-by-side-in-order.yaml"))
    )
    changed = profile.replaced({MARKED: "4100 lb", PLACES: ["US-UT", "CH"]})
    return CheckedLoad(check_profile(changed, rulebooks, DAY), {}, US)


def test_what_is_warned_of_and_where(warned: CheckedLoad) -> None:
    place, subjects, third, table = warnings(warned.check)
    assert subjects.summary.startswith("Not looked at in US-UT: ")
    assert place.summary == UNREAD
    assert third.summary.startswith(f"Doubtful figure: {FOUND} (")
    assert "usual: a third of the breaking strength at most" in third.summary
    assert "no more than 2 times 2,000 lb" in table.summary
    assert "profiles/tiedowns/ratchet-strap-2in.yaml:" in third.summary
    assert all(each.location.mark.line > 0 for each in (place, third, table))


def test_a_doubtful_figure_changes_no_outcome_and_an_unread_place_does(
    warned: CheckedLoad, rulebooks: Rulebooks
) -> None:
    profile = read_profile(
        Path(str(shipped_folder("profiles") / "loads/side-by-side-in-order.yaml"))
    )
    plain = check_profile(profile, rulebooks, DAY)
    assert (plain.unread, plain.doubts) == ((), ())
    doubtful = check_profile(profile.replaced({MARKED: "4100 lb"}), rulebooks, DAY)
    assert doubtful.outcome is plain.outcome is Outcome.NO_RULE_BROKEN
    assert headline(doubtful) == f"{headline(plain)}; 2 doubtful figures"
    assert warned.check.outcome is Outcome.OPEN
    assert headline(warned.check).endswith("; no rulebook read for CH; 2 doubtful figures")


def test_they_stand_in_the_first_block_of_the_text(warned: CheckedLoad, runs: Runs) -> None:
    text = io.StringIO()
    print_check(warned.check, Console(file=text, width=500), US, {}, 0.05)
    head = text.getvalue().partition("THE LOAD FROM ABOVE")[0].partition("DO FIRST")[0]
    assert f"! {UNREAD}" in head
    assert f"! Doubtful figure: {FOUND}" in head
    text = io.StringIO()
    print_overview(runs(loads=[warned]), Console(file=text, width=500))
    assert "no rulebook read for CH; 2 doubtful figures" in text.getvalue()


@pytest.mark.parametrize("form", forms_in("checker.reports.check_forms"))
def test_every_form_names_what_is_doubtful_and_unread(
    form: str, warned: CheckedLoad, runs: Runs
) -> None:
    said = import_module(f"checker.reports.check_forms.{form}").report(runs(loads=[warned]))
    said = re.sub(r"\\n|\\|\s+", " ", said)
    assert re.search(r"\bCH\b", said), f"{form} leaves out a place without a rulebook"
    # JSON has the figure in members of its own.
    doubt = "limit-above-a-third" if form == "json" else "working load limit of 4100 lb"
    assert re.search(doubt, said), f"{form} leaves out a doubtful figure"


def test_each_form_has_them_in_its_own_way(warned: CheckedLoad, runs: Runs) -> None:
    run = runs(loads=[warned])
    head = load_page(warned, run).partition("<main>")[0]
    assert UNREAD in head
    assert FOUND in head
    assert "no rulebook read for CH" in index(run, ["a.html"])
    said = markdown.report(run)
    assert "No rulebook read for CH" in said
    (load,) = json.loads(json_report.report(run))["loads"]
    assert load["unread_places"] == ["CH"]
    assert [each["name"] for each in load["doubtful_figures"]] == [
        "limit-above-a-third",
        "limit-above-table",
    ]
    results = json.loads(sarif.report(run))["runs"][0]["results"]
    reported: list[Any] = [each for each in results if each["ruleId"] == "doubtful-figure"]
    assert [each["level"] for each in reported] == ["warning"] * 2
    assert sum(each["ruleId"] == "no-rulebook-read" for each in results) == 1
    suites = etree.fromstring(junit.report(run).encode())
    cases = {case.get("name"): case for case in suites.iter("testcase")}
    for name in ("no-rulebook-read", "doubtful-figure", "doubtful-figure (2)"):
        assert cases[name].find("skipped") is not None
    lines = annotations.report(run).splitlines()
    (of_load,) = [line for line in lines if line.startswith("::warning ")]
    assert of_load.count("[doubtful-figure]") == 2
    assert of_load.count(UNREAD) == 1
    issues = json.loads(codequality.report(run))
    assert sum(each["check_name"] == "doubtful-figure" for each in issues) == 2
    rows = list(csv.DictReader(io.StringIO(csv_report.report(run), newline="")))
    assert [row["rule"] for row in rows if row["verdict"] == "warning"] == [
        "no-rulebook-read",
        "law-not-read",
        "doubtful-figure",
        "doubtful-figure",
    ]


def test_a_chain_is_held_to_its_grade(rulebooks: Rulebooks) -> None:
    """3/8 in chain of grade 70 is printed with 6,600 lb (49 CFR 393.108), and marked so."""
    profile = read_profile(
        Path(str(shipped_folder("profiles") / "loads/mini-excavator-in-order.yaml"))
    )
    assert check_profile(profile, rulebooks, DAY).doubts == ()
    for text, number in (("6600 lb", 0), ("7200 lb", 0), ("7300 lb", 1)):
        changed = profile.replaced({MARKED: text, ("tiedowns", 0, "breaking_strength"): "40000 lb"})
        names = [each.name for each in check_profile(changed, rulebooks, DAY).doubts]
        assert names == ["limit-above-table"] * number
