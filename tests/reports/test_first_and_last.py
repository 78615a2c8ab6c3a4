"""What a reader sees first and last: the outcome, what to do with a number, what nobody read.

Expected directions and numbers come from the fixes, whose values `tests/advice` proves; expected
subjects from the `subjects` of the shipped rulebooks.
"""

import csv
import io
import json
import math
import re
from datetime import date
from functools import cache
from importlib import import_module
from typing import Any

import pytest
from rich.console import Console
from typer.testing import CliRunner

from checker.advice.fixes import Fix, fixes
from checker.cli.app import application
from checker.cli.writing import forms_in
from checker.documents.resources import shipped_folder
from checker.evaluation.gate import outcome_at
from checker.evaluation.outcome import Outcome
from checker.evaluation.strictness import FailOn
from checker.evaluation.tolerances import check_profile
from checker.facts.catalogue import catalogue
from checker.load.build import read_profile
from checker.reports.check_forms import csv as csv_report
from checker.reports.check_forms import html, markdown, sarif
from checker.reports.check_forms import json as json_report
from checker.reports.check_forms.html import page
from checker.reports.check_forms.html.walkaround import checklist
from checker.reports.pages.check.page import print_check
from checker.reports.pages.overview import print_overview
from checker.reports.shared.actions import broken_action, first_things
from checker.reports.shared.check_results import CheckedLoad, CheckRun
from checker.reports.shared.comparison_words import FormulaWords
from checker.reports.shared.outcome_words import headline
from checker.rulebooks.unread_subjects import SUBJECTS
from checker.units.formatting import US
from tests.shipped import shipped_rules

DAY = date(2026, 6, 1)
LB = 4.4482216152605  # N, exact


@cache
def checked(name: str, *, aside: str = "", stops: tuple[str, ...] = ()) -> CheckedLoad:
    """A bundled load with its fixes; with its machine moved aside, or with other stops."""
    profile = read_profile(shipped_folder("profiles") / "loads" / f"{name}.yaml")
    if aside:
        profile = profile.replaced({("articles", 0, "placed", "y"): aside})
    if stops:
        profile = profile.replaced({("trip", "load_checks"): list(stops)})
    done = check_profile(profile, shipped_rules(), DAY)
    return CheckedLoad(done, fixes(profile, done, shipped_rules()), US)


def run_of(load: CheckedLoad, fail_on: FailOn = FailOn.MUST) -> CheckRun:
    return CheckRun([load], [], fail_on, 0.05, "0.0")


def text(load: CheckedLoad, *, full: bool = False, width: int = 80) -> list[str]:
    shown = io.StringIO()
    console = Console(file=shown, width=width, highlight=False)
    print_check(load.check, console, US, load.fixes, 0.05, full=full)
    return shown.getvalue().splitlines()


FORMS: dict[str, Any] = {
    "text": lambda run: "\n".join(text(run.checked[0], width=2000)),
    "full text": lambda run: "\n".join(text(run.checked[0], full=True, width=2000)),
    **{
        name: import_module(f"checker.reports.check_forms.{name}").report
        for name in forms_in("checker.reports.check_forms")
    },
}
"""What makes each form of a report: the text, and every module in the folder of forms."""


def overview(run: CheckRun, *, short: bool) -> str:
    shown = io.StringIO()
    print_overview(run, Console(file=shown, width=2000, highlight=False), short=short)
    return shown.getvalue()


OF_SEVERAL: dict[str, Any] = {
    "short text": lambda run: overview(run, short=True),
    "overview": lambda run: overview(run, short=False),
    "html": html.report,
    "markdown": markdown.report,
}
"""The forms that say something else where there are several loads."""


# --- What to do, with direction and number --------------------------------------------------------


SEARCHES_NOTHING = "csv"
"""The form with what the rule says to do, on the side where it is broken, and no changes."""

either_way = pytest.mark.parametrize(
    ("name", "way", "wrong"),
    [("too-far-back", "forward", "rearward"), ("too-far-forward", "rearward", "forward")],
)


@pytest.mark.parametrize("form", sorted(FORMS.keys() - {SEARCHES_NOTHING}))
@either_way
def test_every_form_says_which_way_and_how_far(form: str, name: str, way: str, wrong: str) -> None:
    said = FORMS[form](run_of(checked(name))).replace("\\", "")
    right = re.search(rf"Move the machine [\d.]+ in {way} \(its front to [\w. ]+ behind", said)
    assert right, f"{form} leaves out what to do about a broken rule (`finding_action`)"
    assert f"in {wrong} (its front" not in said
    assert "Tongue too light: move the machine forward. Too heavy" not in said


@either_way
def test_a_table_says_which_way(name: str, way: str, wrong: str) -> None:
    said = FORMS[SEARCHES_NOTHING](run_of(checked(name)))
    assert f"Move the machine {way}" in said
    assert f"Move the machine {wrong}" not in said


def test_the_help_of_a_rule_says_what_to_do_on_each_side_of_its_limit() -> None:
    """SARIF holds it once for all loads."""
    log = json.loads(sarif.report(run_of(checked("too-far-back"))))
    rules = {each["id"]: each["help"]["text"] for each in log["runs"][0]["tool"]["driver"]["rules"]}
    assert rules["tongue-share-ball"].startswith(
        "Below the limit: Move the machine forward. Then weigh the tongue again. "
        "Above the limit: Move the machine rearward, or turn it"
    )
    shown = CliRunner().invoke(application(), ["rule", "tongue-share-ball"]).stdout
    assert "Fix: Below the limit: Move the machine forward." in shown
    assert "Fix: Above the limit: Move the machine rearward" in shown


def test_a_move_that_breaks_other_rules_says_so_in_the_same_line() -> None:
    load = checked("too-far-forward")
    thing, arrange = first_things(load.check, load.fixes, US)
    assert arrange.startswith("No single change is enough: cinchbook arrange ")
    assert "tie it down anew; with the hooks as they are this breaks" in thing
    assert "Something holds the load from moving forward" in thing
    assert thing.endswith(
        "Or: Move the machine rearward, or turn it so that its heavy end is nearer the axles. Then "
        "weigh the tongue again."
    )


def test_an_amended_figure_is_advised(tmp_path: Any) -> None:
    """20 miles in place of the law's 50: nobody is told to stop within 50."""
    (tmp_path / "crew.yaml").write_text(
        "kind: amendment\nid: crew\ntitle: Crew policy\nlayer: company\njurisdiction: any\n"
        "changes:\n  - {rule: us-first-load-check, threshold: distance, was: 50 mi, value: 20 mi,\n"
        "     from: 2026-03-01, common_practice: yes}\n"
    )
    words = ["check", "loads/side-by-side-in-order", "--rules", "shipped", "--rules", str(tmp_path)]
    changed = CliRunner().invoke(application(), words, env={"COLUMNS": "200"}).stdout
    assert "Load checked within the first 20 mi" in changed
    assert "first 50" not in changed


def test_a_machine_is_not_lightened_by_a_third_and_no_tiedown_is_rated_beyond_chains() -> None:
    for name in ("too-far-forward", "overloaded-axle-below-gvwr", "rear-straps-only"):
        load = checked(name)
        (article,) = load.check.load.articles
        for found in load.fixes.values():
            for fix in found:
                if fix.kind == "lighten":
                    assert fix.value >= 0.9 * float(article.weight) - 1e-6


def test_a_lighter_load_says_how_much_comes_off() -> None:
    """The axle carries 34 lb too much, of a machine that is not all on it."""
    load = checked("overloaded-axle-below-gvwr")
    (article,) = load.check.load.articles
    (fix,) = (each for each in load.fixes["axle-within-rating"] if each.kind == "lighten")
    today, most = float(article.weight) / LB, math.floor(fix.value / LB)
    assert today - most > 34
    (thing,) = first_things(load.check, load.fixes, US)
    assert thing.startswith(f"Take {today - most:.0f} lb off the machine, down to {most:,} lb. Or:")


def test_a_load_in_want_of_a_tiedown_is_not_first_made_lighter() -> None:
    load = checked("rear-straps-only")
    finding = next(each for each in load.check.findings if each.rule.id == "four-corners-held")
    (article,) = load.check.load.articles
    lighter = Fix("lighten", article.name, 0.5 * float(article.weight), ())
    words = broken_action(finding, [lighter], load.check, US)
    assert re.match(r"Hook one tiedown .* Or: Take [\d,.]+ lb off the machine, down to ", words)


@pytest.mark.parametrize("form", FORMS)
def test_nobody_is_told_to_do_what_a_variance_excuses(form: str) -> None:
    """The first stop at mile 30 is allowed, because the canyon has no place before it."""
    said = FORMS[form](run_of(checked("variance-late-first-stop")))
    # JSON and SARIF also hold what a rule says to every load.
    assert "Do: Plan a stop" not in said
    assert form in ("json", "sarif") or "Plan a stop within 25 mi" not in said


def test_a_rule_is_not_mended_by_a_pound_that_takes_the_load_out_of_it() -> None:
    """Four tiedowns from 10,000 lb up: at 9,999 lb the machine is no lighter to hold."""
    load = checked("machine-10000-lb")
    words = " ".join(first_things(load.check, load.fixes, US))
    assert "Add tiedowns until there are 4" in words
    assert "9,999" not in words


def test_fixes_that_break_nothing_come_first() -> None:
    for found in checked("rear-straps-only").fixes.values():
        breaks = [bool(fix.breaks) for fix in found]
        assert breaks == sorted(breaks)


# --- The length and the end of a text report ------------------------------------------------------


@pytest.mark.parametrize("name", ["accessory-hook", "too-far-back"])
def test_a_hold_with_one_fault_fits_fifty_lines(name: str) -> None:
    lines = text(checked(name))
    assert len(lines) <= 50
    assert sum(line.startswith("BROKEN ") for line in lines) == 1
    assert "RULES IN FORCE" not in lines


@pytest.mark.parametrize(
    "name", ["accessory-hook", "rear-straps-only", "missing-information", "side-by-side-in-order"]
)
@pytest.mark.parametrize("full", [False, True])
def test_a_report_ends_with_the_headline_and_what_to_do(name: str, full: bool) -> None:
    load = checked(name)
    end = text(load, full=full, width=2000)[-3:]
    things = first_things(load.check, load.fixes, US)[:2]
    assert end[-len(things) - 1] == headline(load.check) or "State" in end[-1]
    for number, thing in enumerate(things, 1):
        assert f"{number}. {thing}" in end


@pytest.mark.parametrize("form", ["text", "html", "markdown"])
def test_a_load_too_close_to_call_says_first_what_to_measure(form: str) -> None:
    """The machine is weighed to 60 lb, and three must-rules about the axle hang on it."""
    load = checked("scale-tolerances")
    (thing,) = first_things(load.check, load.fixes, US)
    assert thing == (
        "Measure more closely: Side-by-side with a half-full water tank in its bed: Weight as "
        "carried: fuel, fluids, attachments (articles.1.weight)."
    )
    assert thing in FORMS[form](run_of(load)).replace("\\", "")
    assert text(load, width=2000)[-1] == f"1. {thing}"


def test_broken_shoulds_come_before_fields_to_state() -> None:
    """The first stop at mile 40: common practice wants 25, the law 50."""
    load = checked("side-by-side-in-order", stops=("40 mi",))
    assert load.check.outcome is Outcome.NO_RULE_BROKEN
    words = "\n".join(text(load))
    block = words.partition("DO FIRST")[2].partition("\n\n")[0]
    assert "Plan a stop within 25 mi:" in block
    assert "STATE NEXT" not in words.partition("BROKEN  First stop to check the load too late")[0]
    assert words.rstrip().splitlines()[-3].startswith("1. ") or "1. Plan" in words[-250:]


def test_fields_are_ordered_by_the_must_rules_they_decide() -> None:
    lines = "\n".join(text(checked("missing-information"), width=2000))
    block = lines.partition("STATE NEXT")[2].partition("\n\n")[0]
    musts = [int(number) for number in re.findall(r"decides (\d+) must-rule", block)]
    assert musts
    assert re.search(r"^- [A-Z][\w -]+: .+ \([\w.]+; ", block, re.MULTILINE)


# --- What nobody read -----------------------------------------------------------------------------


def read_as_words(made: str) -> str:
    """A report without the marks of its format: quotes, brackets, backslashes, line breaks."""
    return " ".join(re.sub(r'[\\"\[\]]', "", re.sub('","', '", "', made)).split())


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("fail_on", [FailOn.MUST, FailOn.UNREAD])
def test_every_form_names_what_nobody_read(form: str, fail_on: FailOn) -> None:
    said = read_as_words(FORMS[form](run_of(checked("side-by-side-in-order"), fail_on)))
    assert "height and length, weight, towing speed" in said
    assert "US-UT" in said
    # JSON names subjects by member.
    assert form == "json" or "Not looked at in US-UT" in said


@pytest.mark.parametrize("form", OF_SEVERAL)
def test_every_form_of_several_loads_names_what_nobody_read(form: str) -> None:
    loads = [checked("side-by-side-in-order"), checked("too-far-back")]
    said = read_as_words(OF_SEVERAL[form](CheckRun(loads, [], FailOn.MUST, 0.05, "0.0")))
    assert "Not looked at in US-UT: height and length, weight, towing speed" in said
    assert re.search("(?i)no rule broken, of those looked at|; part of the law not read", said)


def test_documents_name_what_nobody_read_and_what_is_held() -> None:
    run = run_of(checked("side-by-side-in-order"))
    assert "height and length, weight, towing speed" in markdown.report(run).replace("\\", "")
    (place,) = json.loads(json_report.report(run))["loads"][0]["subjects"]
    assert place["place"] == "US-UT"
    assert place["not_read"] == ["height and length", "weight", "towing speed"]
    assert sorted(place["held"] + place["not_read"]) == sorted(SUBJECTS)


def test_the_headline_of_a_pass_says_that_not_everything_was_looked_at() -> None:
    assert headline(checked("side-by-side-in-order").check).startswith(
        "NO RULE BROKEN, of those looked at"
    )


@pytest.mark.parametrize("fail_on", FailOn)
def test_unread_law_stops_a_load_at_its_own_gate_alone(fail_on: FailOn) -> None:
    check = checked("side-by-side-in-order").check
    stopped = outcome_at(check, fail_on, 0.0) is not Outcome.NO_RULE_BROKEN
    assert stopped == (fail_on is FailOn.UNREAD)
    assert not FailOn.UNREAD.includes(FailOn.NEAR)
    assert not FailOn.NEAR.includes(FailOn.UNREAD)


def test_the_exit_code_is_that_of_undecided_at_that_gate() -> None:
    words = ["check", "loads/side-by-side-in-order", "--short"]
    assert CliRunner().invoke(application(), words).exit_code == 0
    assert CliRunner().invoke(application(), [*words, "--fail-on", "unread"]).exit_code == 3


def test_csv_has_a_row_for_it() -> None:
    rows = list(csv.DictReader(io.StringIO(csv_report.report(run_of(checked("accessory-hook"))))))
    assert [row["rule"] for row in rows if row["verdict"] == "warning"] == ["law-not-read"]


# --- Titles, charts, arithmetic -------------------------------------------------------------------


def test_a_broken_rule_is_said_as_broken() -> None:
    words = "\n".join(text(checked("rear-straps-only"), width=2000))
    assert "BROKEN  Nothing holds the load from moving rearward" in words
    met = "\n".join(text(checked("side-by-side-in-order"), full=True, width=2000))
    assert "met     Something holds the load from moving rearward" in met


@pytest.mark.parametrize("form", FORMS)
def test_no_form_negates_a_broken_statement(form: str) -> None:
    """`NOT MET: Nothing holds it`, or `wanted contained` for a load that nothing holds."""
    said = FORMS[form](run_of(checked("rear-straps-only")))
    assert not re.search("(?i)not met(?:</?[^>]*>|[*: ])*(?:nothing|not |no |fewer )", said)
    assert form in ("json", "csv") or "fully contained: no; wanted yes" not in said


@pytest.mark.parametrize("form", ["html", "sarif", "junit", "annotations", "codequality"])
def test_an_undecided_rule_is_not_stated_as_if_it_were_met(form: str) -> None:
    said = FORMS[form](run_of(checked("missing-information"))).replace("%3A", ":")
    assert re.search(r"Not known:\s+Ball rated for the loaded trailer", said)
    close = FORMS[form](run_of(checked("scale-tolerances"))).replace("%3A", ":")
    assert "Too close to call: Each trailer axle within its rating" in close


def test_what_stops_an_open_load_comes_after_what_to_state() -> None:
    load = checked("missing-information")
    shown = page.load_page(load, run_of(load))
    assert 0 < shown.index("Find out first</h2>") < shown.index("What stops it</h2>")
    load = checked("rear-straps-only")
    shown = page.load_page(load, run_of(load))
    assert 0 < shown.index("What stops it</h2>") < shown.index("State next</h2>")


def test_the_checklist_asks_for_what_has_to_be_true() -> None:
    """`Not tightened in order: NO` would say the opposite."""
    load = checked("rear-straps-only")
    items = [each for each in checklist(load.check) if each.state.startswith("NO")]
    assert [each.what for each in items] == ["Front pair snug first, then the rear pair hard"]


def test_the_chart_says_where_it_clips() -> None:
    shown = page.load_page(checked("accessory-hook"), run_of(checked("accessory-hook")))
    assert "The chart ends at 2 g: where it touches the rim, more is held." in shown


def test_a_size_is_not_written_as_a_sum() -> None:
    aside = checked("side-by-side-in-order", aside="-6 in")
    words = "\n".join(text(aside, width=2000))
    assert "abs(" not in words
    assert re.search(r"centre line, either way: [\d.]+ in; wanted at most 2 in", words)


@pytest.mark.parametrize(
    ("formula", "words"),
    [
        ("ceil(article.length / step)", "length 12 ft / 10 ft, rounded up"),
        ("1 + ceil(article.length / step)", "1 + (length 12 ft / 10 ft, rounded up)"),
        ("floor(article.length / step) + 2", "(length 12 ft / 10 ft, rounded down) + 2"),
        ("min(2 + step, article.length)", "the lesser of 2 + 10 ft and length 12 ft"),
        (
            "max(step, article.length, ceil(2))",
            "the greatest of 10 ft, length 12 ft and 2, rounded up",
        ),
        ("abs(article.length - step)", "the size of length 12 ft - 10 ft"),
    ],
)
def test_functions_are_written_as_people_say_them(formula: str, words: str) -> None:
    rules = (rule for book in shipped_rules().books for rule in book.rules)
    (step,) = (
        next(rule for rule in rules if rule.id == "us-count-over-ten-feet")
        .thresholds["step"]
        .values
    )
    spell = FormulaWords(
        facts={"article.length": catalogue()["article.length"]},
        thresholds={"step": step},
        values={"article.length": 12 * 0.3048},
        system=US,
        metric=False,
    )
    assert spell.arithmetic(formula) == words


def test_an_exemption_is_a_clause_of_its_own() -> None:
    spell = FormulaWords(facts=catalogue(), thresholds={}, values={}, system=US, metric=False)
    words = spell.formula("hitch.chain_count >= 1 unless trailer.gross_weight <= trailer.gvwr")
    assert words.endswith('unless "gross weight of the loaded trailer" is at most "gvwr"')


def test_no_report_takes_a_share_from_nothing() -> None:
    """`0 - share the front axle loses 10.8 % = -10.8 %` is `share the front axle gains`."""
    words = "\n".join(text(checked("side-by-side-in-order"), full=True, width=2000))
    assert "share the front axle gains" in words
    assert not re.search(r"(?<![\d.])0 - ", words)
