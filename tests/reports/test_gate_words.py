"""With --fail-on the first line says what failed the gate, in every form that has a headline.

Numbers are counted from the findings by hand: a first stop at mile 40 breaks one should-rule (25
miles), and the law asks for 50.
"""

import io
from collections.abc import Callable, Mapping
from datetime import date
from functools import cache

import pytest
from lxml import etree
from markdown_it import MarkdownIt
from rich.console import Console
from typer.testing import CliRunner

from checker.cli.app import application
from checker.documents.resources import shipped_folder
from checker.evaluation.gate import Stop, is_near, outcome_at, stop
from checker.evaluation.outcome import Outcome
from checker.evaluation.strictness import FailOn
from checker.evaluation.tolerances import check_profile
from checker.load.build import read_profile
from checker.reports.check_forms import junit, markdown
from checker.reports.check_forms.html import page
from checker.reports.pages.check.page import print_check
from checker.reports.shared.check_results import CheckedLoad, CheckRun
from checker.reports.shared.outcome_words import headline
from checker.rulebooks.verdicts import Verdict
from checker.units.formatting import US
from tests.shipped import shipped_rules

STRICT = [each for each in FailOn if each is not FailOn.MUST]
AT_GATE = {Outcome.HOLD: "HOLD", Outcome.OPEN: "OPEN"}


@cache
def load(name: str, stop: str = "") -> CheckedLoad:
    profile = read_profile(shipped_folder("profiles") / "loads" / f"{name}.yaml")
    if stop:
        profile = profile.replaced({("trip", "load_checks"): [stop]})
    return CheckedLoad(check_profile(profile, shipped_rules(), date(2026, 6, 1)), {}, US)


@pytest.mark.parametrize(
    ("name", "stop", "fail_on", "words"),
    [
        (
            "side-by-side-in-order",
            "40 mi",
            FailOn.SHOULD,
            "HOLD at the gate (--fail-on should): 1 should-rule not met; no must-rule broken, of "
            "those looked at",
        ),
        (
            "side-by-side-in-order",
            "",
            FailOn.UNREAD,
            "OPEN at the gate (--fail-on unread): law not read for US-UT; no must-rule broken, of "
            "those looked at",
        ),
        ("side-by-side-in-order", "", FailOn.SHOULD, "NO RULE BROKEN, of those looked at"),
        (
            "too-far-forward",
            "",
            FailOn.SHOULD,
            "HOLD: do not leave until this is fixed; --fail-on should also stops it for 4 "
            "should-rules not met",
        ),
    ],
)
def test_the_headline_names_what_failed_the_gate(
    name: str, stop: str, fail_on: FailOn, words: str
) -> None:
    # Behind it stand doubtful figures, such as a stop beyond the end of the trip.
    assert headline(load(name, stop).check, fail_on, 0.05).partition("; 1 doubtful")[0] == words


def test_rules_near_their_limit_are_counted_at_their_gate() -> None:
    check = load("too-far-forward").check
    near = sum(is_near(finding, 0.05) for finding in check.findings)
    said = headline(check, FailOn.NEAR, 0.05)
    assert near > 1
    assert f"{near} rules met by no more than 5 % of the limit" in said


def as_text(run: CheckRun) -> str:
    shown = io.StringIO()
    (each,) = run.checked
    print_check(each.check, Console(file=shown, width=500), US, {}, 0.05, fail_on=run.fail_on)
    lines = shown.getvalue().splitlines()
    words = headline(each.check, run.fail_on, run.near)
    assert lines.count(words) == 2  # the head of the report and its end
    return words


FORMS: Mapping[str, Callable[[CheckRun], str]] = {
    "text": as_text,
    "html": lambda run: page.load_page(run.checked[0], run).partition("<main>")[0],
    "markdown": lambda run: MarkdownIt("commonmark").render(markdown.report(run)),
    "junit": lambda run: etree.fromstring(junit.report(run).encode()).xpath(
        "string(//property[@name='outcome']/@value)"
    ),
}


@pytest.mark.parametrize("form", FORMS)
def test_every_form_with_a_headline_has_that_of_the_gate(form: str) -> None:
    run = CheckRun([load("side-by-side-in-order", "40 mi")], [], FailOn.SHOULD, 0.05, "0.0")
    assert "HOLD at the gate (--fail-on should): 1 should-rule not met" in FORMS[form](run)


@pytest.mark.parametrize("fail_on", STRICT)
@pytest.mark.parametrize(
    "name", ["side-by-side-in-order", "too-far-forward", "missing-information", "scale-tolerances"]
)
def test_the_headline_begins_with_the_outcome_that_the_exit_code_has(
    name: str, fail_on: FailOn
) -> None:
    check = load(name).check
    at_gate = outcome_at(check, fail_on, 0.05)
    said = headline(check, fail_on, 0.05)
    assert said.startswith(AT_GATE.get(at_gate, "NO "))
    if at_gate is not check.outcome:
        assert f"(--fail-on {fail_on})" in said


@pytest.mark.parametrize("fail_on", FailOn)
@pytest.mark.parametrize(
    "name", ["side-by-side-in-order", "too-far-forward", "missing-information", "scale-tolerances"]
)
def test_the_outcome_at_a_gate_is_that_of_what_stops_there(name: str, fail_on: FailOn) -> None:
    check = load(name, "40 mi").check
    reasons = {stop(finding, fail_on, 0.05) for finding in check.findings}
    if reasons & {Stop.BROKEN, Stop.NEAR}:
        wanted = Outcome.HOLD
    elif Stop.UNDECIDED in reasons or fail_on is FailOn.UNREAD or check.outcome is Outcome.OPEN:
        wanted = Outcome.OPEN  # in each of these loads law of Utah was not read
    else:
        wanted = Outcome.NO_RULE_BROKEN
    assert outcome_at(check, fail_on, 0.05) is wanted


def test_the_table_names_law_that_nobody_read_where_that_stops_a_load() -> None:
    run = CheckRun([load("side-by-side-in-order")], [], FailOn.UNREAD, 0.05, "0.0")
    (row,) = [line for line in markdown.report(run).splitlines() if line.startswith("| OPEN")]
    assert row.endswith("| law not read |")


def test_the_command_says_it_first_and_last() -> None:
    words = ["check", "loads/too-far-forward", "--fail-on", "should"]
    shown = CliRunner().invoke(application(), words, env={"COLUMNS": "200"}).stdout
    broken = sum(
        finding.verdict is Verdict.NOT_MET and finding.rule.level == "should"
        for finding in load("too-far-forward").check.findings
    )
    assert shown.count(f"--fail-on should also stops it for {broken} should-rules not met") == 2
