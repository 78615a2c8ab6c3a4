"""What an audit writes into files, read back with code that is not ours, against its counts."""

import csv
import io
import json
import re
from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import date
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from lxml import html as lxml_html
from msgspec import structs
from openpyxl import Workbook, load_workbook
from rich.console import Console

from checker.cli.writing import forms_in
from checker.evaluation.outcome import Outcome
from checker.reports.audit_forms import csv as audit_csv
from checker.reports.audit_forms import json as audit_json
from checker.reports.audit_forms import xlsx as audit_xlsx
from checker.reports.audit_forms.html import report
from checker.reports.pages.audit import print_audit
from checker.reports.shared.audit_results import (
    AuditRun,
    bar,
    listed_words,
    month_by_month,
    warning_counts,
)
from checker.reports.shared.words import CAUTIONS
from checker.rulebooks.verdicts import WORST_FIRST, Verdict
from checker.season.totals import MOST_REMEMBERED, Tally, Totals, WorstHaul
from tests.reports.audits import ALL_RULES, HOSTILE_CREW, audited

FORMS = forms_in("checker.reports.audit_forms")
CREWS = {"north", "south", "@south", "bell", HOSTILE_CREW}


def with_totals(season: AuditRun, **changed: Any) -> AuditRun:
    """The same audit with other totals."""
    totals = structs.replace(season.audit.totals, **changed)
    audit = replace(season.audit, totals=totals)
    return replace(season, audit=audit)


def test_the_season_has_something_of_every_kind(season: AuditRun) -> None:
    # Without these the tests below would show little.
    tally = season.audit.totals.all
    assert (tally.hauls, season.audit.refused) == (12, 2)
    assert min(tally.held, tally.open, tally.near) >= 1
    assert set(season.audit.totals.by["crew"]) == {*CREWS, ""}


# --- CSV -------------------------------------------------------------------------------------


def rows_of(season: AuditRun) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(audit_csv.report(season), newline=""), strict=True))


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


def test_every_report_warns_of_places_without_a_rulebook_and_of_doubtful_figures(
    season: AuditRun,
) -> None:
    # None of the season's rulebooks is of a place. 60000 lb is no weight of a mower: 50000 lb is
    # the most that is usual.
    found = warning_counts(season.audit)
    assert ("no rulebook read for", "MX", 1) in found
    assert ("doubtful figure", "articles weight high", 1) in found
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
    assert "! 1 haul: doubtful figure articles weight high" in head


def test_csv_runs_nothing_in_a_spreadsheet(season: AuditRun) -> None:
    crews = {row["name"] for row in rows_of(season) if row["kind"] == "crew"}
    assert crews == {"north", "south", "'@south", "bell", f"'{HOSTILE_CREW}", "not named"}


# --- XLSX ------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def book(season: AuditRun) -> Workbook:
    return load_workbook(io.BytesIO(audit_xlsx.report(season)))


def table(book: Workbook, name: str) -> list[dict[str, Any]]:
    headings, *rows = book[name].iter_rows(values_only=True)
    return [dict(zip(map(str, headings), row, strict=True)) for row in rows]


def test_the_workbook_has_a_sheet_for_each_question(book: Workbook) -> None:
    assert book.sheetnames == [
        *("Totals", "Rules", "Trailers", "Machines", "Tow vehicles", "Crews", "Months"),
        *("Worst", "Not decided", "Refused"),
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


# --- HTML ------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def page(season: AuditRun) -> Any:
    return lxml_html.fromstring(report(season))


def text(element: Any) -> str:
    return " ".join(element.text_content().split())


def test_the_page_tells_the_headline_counts(page: Any, season: AuditRun) -> None:
    tally = season.audit.totals.all
    reported = {
        text(each.find("dt")): int(text(each.find("dd")))
        for each in page.xpath("//dl[@class='counts']/div")
    }
    rest = tally.hauls - tally.held - tally.open - tally.near
    assert reported == {
        "on hold": tally.held,
        "open": tally.open,
        "near a limit": tally.near,
        "none of these": rest,
    }
    assert f"{tally.held} of 12 hauls on hold" in text(
        page.xpath("//p[contains(@class,'hold')]")[0]
    )
    assert "14 rows read: 12 checked, 2 refused" in text(page.find(".//header"))


def test_the_page_tells_every_tally_with_its_bar(page: Any, season: AuditRun) -> None:
    by = season.audit.totals.by
    kinds = {"Hauls by month": "month", "By trailer": "trailer", "By machine": "machine"}
    kinds |= {"By tow vehicle": "tow vehicle", "By crew": "crew"}
    for heading, kind in kinds.items():
        (found,) = page.xpath(f"//div[@aria-label='{heading}']")
        rows = {text(row.find("th")): row for row in found.xpath(".//tbody/tr")}
        for name, tally in by[kind].items():
            row = rows.pop(name or "not named", None)
            assert row is not None, name
            hauls, held, undecided, near = (text(cell) for cell in row.findall("td"))
            assert (hauls, undecided, near) == tuple(
                map(str, (tally.hauls, tally.open, tally.near))
            )
            assert held.startswith(f"{tally.held} (")
            widths = {
                each.get("class"): float(each.get("width").rstrip("%"))
                for each in row.xpath(".//*[local-name()='rect'][@x]")
            }
            assert widths.get("p-hold", 0) == pytest.approx(
                100 * tally.held / tally.hauls, abs=0.01
            )
            assert sum(widths.values()) == pytest.approx(100, abs=0.03)
        # What is left are the months in which nothing was hauled.
        assert set(rows) == ({"2025-12", "2026-01"} if kind == "month" else set())


def test_the_page_tells_every_rule_that_was_not_met_with_where(page: Any, season: AuditRun) -> None:
    broken = {name: each for name, each in season.audit.totals.rules.items() if each.broken}
    assert broken
    found = page.xpath("//details[starts-with(@id,'rule-')]")
    assert {each.get("id") for each in found} == {f"rule-{name}" for name in broken}
    for each in found:
        tally = broken[each.get("id").removeprefix("rule-")]
        said = text(each.find("summary"))
        assert said.startswith(f"{tally.broken} haul")
        for kind in ("trailer", "machine", "crew"):
            most = max(tally.broken_by[kind].values())
            assert re.search(rf"{kind} [^;]*\({most}\)", said), said


def test_the_table_of_hauls_is_that_of_the_audit(page: Any, season: AuditRun) -> None:
    rows = page.xpath("//table[@id='hauls']/tbody/tr")
    remembered = season.audit.totals.worst_hauls
    assert [int(text(row[0])) for row in rows] == [each.row for each in remembered]
    assert [row[1].text for row in rows] == [each.day for each in remembered]
    outcomes = {"on hold": Outcome.HOLD, "open": Outcome.OPEN}
    assert [outcomes.get(row.get("data-outcome"), Outcome.NO_RULE_BROKEN) for row in rows] == [
        each.outcome for each in remembered
    ]
    for row, each in zip(rows, remembered, strict=True):
        assert set(row.get("data-rules").split()) == {
            *each.broken,
            *each.should_broken,
            *each.undecided,
        }
        assert text(row[4]) == season.workings[each.row].trailer
    choices = page.xpath("//select[@name='crew']/option/@value")
    assert set(choices) == {""} | {text(row[5]) for row in rows}


def test_each_haul_is_worked_out_rule_by_rule(page: Any, season: AuditRun) -> None:
    for each in season.audit.totals.worst_hauls:
        (haul,) = page.xpath(f"//details[@id='haul-{each.row}']")
        start = f"haul-{each.row}-"
        reported = {one.get("id").removeprefix(start) for one in haul.xpath(".//details[@id]")}
        musts = {
            rule.id
            for book in season.audit.rulebooks.books
            for rule in book.rules
            if rule.level == "must"
        }
        wanted = {*each.broken, *each.excused, *each.undecided, *each.near} & musts
        assert reported == wanted
    # By hand: 1,500 lb on the log's fourth line, with the ball and the axle where they are.
    (haul,) = page.xpath("//details[@id='haul-4']")
    assert "articles.1.weight 1500 lb" in text(haul)
    assert re.search(r"articles\.1\.weight: 1500 lb \(\S*hauls\.csv:4\)", text(haul))
    assert "articles.1.placed.x 90 in" in text(haul)


def test_what_the_page_works_out_is_what_the_audit_counted(season: AuditRun) -> None:
    for each in season.audit.totals.worst_hauls:
        check = season.workings[each.row].check
        assert check is not None
        assert check.outcome == each.outcome
        broken = {
            finding.rule.id
            for finding in check.findings
            if finding.verdict is Verdict.NOT_MET and finding.rule.level == "must"
        }
        assert broken == {*each.broken} | ({*each.excused} & broken)


def test_links_lead_somewhere_and_nothing_is_fetched(page: Any, season: AuditRun) -> None:
    ids = page.xpath("//@id")
    assert len(ids) == len(set(ids))
    links = set(page.xpath("//@href"))
    assert links
    assert {link.removeprefix("#") for link in links} <= set(ids)
    assert page.xpath("//@src|//link|//img|//iframe|//object") == []
    addresses = set(re.findall(r"https?://[^\"' )]+", report(season)))
    assert addresses <= {"http://www.w3.org/2000/svg"}
    labelled = set(page.xpath("//@aria-labelledby"))
    assert labelled <= set(ids)


def test_no_name_in_a_log_becomes_markup(page: Any, season: AuditRun) -> None:
    (script,) = page.xpath("//script")
    assert "alert(1)" not in script.text
    assert HOSTILE_CREW in page.xpath("//select[@name='crew']/option/@value")
    assert report(season).count("<script") == 1


def test_the_page_says_by_what_it_was_judged_and_what_was_not(page: Any, season: AuditRun) -> None:
    audit = season.audit
    rests = text(page.xpath("//section[@aria-labelledby='basis']")[0])
    assert audit.rulebooks.tables
    for each in (*audit.rulebooks.books, *audit.rulebooks.tables):
        assert f"{each.id} {each.digest}" in rests
    assert audit.digest in rests
    assert "5 %" in rests
    for caution in CAUTIONS:
        assert caution in text(page.find(".//footer"))
    refused = text(page.xpath("//section[@aria-labelledby='refused']")[0])
    assert "2 rows were not checked" in refused
    assert "row 13: found no load profile 'loads/nowhere'" in refused
    wanting = text(page.xpath("//section[@aria-labelledby='undecided']")[0])
    for field in audit.totals.missing_fields:
        assert field in wanting


def test_the_same_audit_gives_the_same_page(season: AuditRun) -> None:
    assert report(season) == report(season)


def test_a_log_of_which_nothing_was_judged_is_no_pass(season: AuditRun) -> None:
    nothing = with_totals(
        season,
        all=Tally(),
        by={kind: {} for kind in season.audit.totals.by},
        rules={},
        missing_fields={},
        doubtful={},
        unread={},
        unread_subjects={},
        worst_hauls=[],
    )
    page = lxml_html.fromstring(report(replace(nothing, workings={})))
    (headline,) = page.xpath("//p[contains(@class,'outcome')]")
    assert headline.get("class") == "outcome open"
    assert text(headline) == "No haul was checked: that is no verdict on any"
    assert audit_csv.report(nothing).count("\r\n") == 3
    assert load_workbook(io.BytesIO(audit_xlsx.report(nothing)))["Crews"].max_row == 1


# --- What all of them share ------------------------------------------------------------------


def hauls(numbers: Mapping[Outcome, int]) -> Iterator[WorstHaul]:
    row = 1
    for outcome, number in numbers.items():
        for _ in range(number):
            row += 1
            near = ("a",) if outcome is Outcome.NO_RULE_BROKEN else ()
            yield WorstHaul(row, "x", "2026-05-14", "", outcome, None, (), (), (), near, ())


@pytest.mark.parametrize(
    ("kept", "said"),
    [
        ({Outcome.HOLD: 3}, "All 3 of them are listed."),
        (
            {Outcome.HOLD: 210, Outcome.OPEN: 60, Outcome.NO_RULE_BROKEN: 30},
            "The worst 300 are listed: 210 of 210 on hold, 60 of 60 open, 30 of 242 near a limit. "
            "All are counted.",
        ),
        (
            {Outcome.HOLD: 300},
            "The worst 300 are listed: 300 of 512 on hold, 0 of 60 open, 0 of 242 near a limit. "
            "All are counted.",
        ),
    ],
)
def test_it_is_told_how_many_hauls_are_not_listed(
    season: AuditRun, kept: Mapping[Outcome, int], said: str
) -> None:
    held = 512 if kept == {Outcome.HOLD: MOST_REMEMBERED} else kept[Outcome.HOLD]
    totals = Totals(all=Tally(1000, held, 60, 242), worst_hauls=list(hauls(kept)))
    audit = replace(season.audit, totals=totals)
    assert listed_words(audit) == said


def test_months_without_a_haul_are_months_too() -> None:
    tallies = {"2026-02": Tally(2), "2025-11": Tally(1)}
    assert month_by_month(tallies) == [
        ("2025-11", Tally(1)),
        ("2025-12", Tally()),
        ("2026-01", Tally()),
        ("2026-02", Tally(2)),
    ]


@given(st.lists(st.integers(0, 10**6), min_size=4, max_size=4), st.integers(4, 60))
def test_a_bar_is_full_and_shows_whatever_there_is(numbers: list[int], width: int) -> None:
    found = bar(numbers, width)
    assert sum(found) == (width if sum(numbers) else 0)
    for number, have in zip(numbers, found, strict=True):
        assert (have > 0) == (number > 0)


def test_a_bar_is_shared_out_by_numbers() -> None:
    # By hand: 20 cells for 100 hauls are 5 hauls a cell; 1 haul still has a cell of its own.
    assert bar([50, 25, 25, 0], 20) == [10, 5, 5, 0]
    assert bar([99, 1, 0, 0], 20) == [19, 1, 0, 0]


@pytest.mark.parametrize("width", [40, 60, 100])
def test_the_text_tells_the_trend_as_wide_as_the_terminal(season: AuditRun, width: int) -> None:
    printed = io.StringIO()
    print_audit(season.audit, Console(file=printed, width=width, highlight=False))
    lines = printed.getvalue().splitlines()
    assert max(map(len, lines)) <= width
    months = [line for line in lines if re.match(r"20\d\d-\d\d  ", line)]
    assert [line[:7] for line in months] == [
        *("2025-11", "2025-12", "2026-01", "2026-02", "2026-03"),
    ]
    assert "no haul" in months[1]
    november = season.audit.totals.by["month"]["2025-11"]
    reported = f"2 hauls: {november.held} # {november.open} o {november.near} ~"
    assert reported in months[0]
    signs = months[0].removeprefix("2025-11").removesuffix(reported).strip()
    assert (len(signs) >= 10) == (width >= 60)
    assert set(signs) <= set("#o~.")


@pytest.mark.parametrize(
    ("trailers", "held_last", "reported"),
    [
        (20, 0, None),
        (21, 0, "- and 1 more, none of them with hauls on hold; --write csv=FILE lists all"),
        (23, 23, "- and 3 more, 3 of them with hauls on hold; --write csv=FILE lists all"),
    ],
)
def test_the_text_lists_no_more_than_twenty_trailers(
    season: AuditRun, trailers: int, held_last: int, reported: str | None
) -> None:
    tallies = {
        f"trailer {number:02}": Tally(hauls=9, held=int(number < held_last))
        for number in range(trailers)
    }
    many = with_totals(season, by={**season.audit.totals.by, "trailer": tallies})
    printed = io.StringIO()
    print_audit(many.audit, Console(file=printed, width=100, highlight=False))
    lines = printed.getvalue().splitlines()
    first = lines.index("BY TRAILER") + 1
    assert [line[2:12] for line in lines[first : first + 20]] == list(tallies)[:20]
    assert lines[first + 20] == (reported or "")


def test_the_text_tells_near_misses(season: AuditRun) -> None:
    printed = io.StringIO()
    print_audit(season.audit, Console(file=printed, width=200, highlight=False))
    said = printed.getvalue()
    assert "NEAR MISSES - rules met by no more than 5 % of the limit" in said
    near = {name: each for name, each in season.audit.totals.rules.items() if each.near}
    shown = re.findall(
        r"^ *[0-9]+ .*\[([\w-]+)\], of [0-9]+ hauls that met it$", said, re.MULTILINE
    )
    # The page names the commonest, and no other rule than these.
    assert 1 <= len(shown) <= len(near)
    assert min(near[name].near for name in shown) >= max(
        (tally.near for name, tally in near.items() if name not in shown), default=0
    )
    for name in shown:
        tally = near[name]
        met = f"of {tally.of(Verdict.MET)} hauls that met it"
        assert re.search(rf"^ *{tally.near} .*\[{re.escape(name)}\], {met}$", said, re.MULTILINE)


# --- What to do about broken rules ----------------------------------------------------------------

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
    return text(lxml_html.fromstring(made)) if form == "html" else made


@pytest.mark.parametrize("form", ["text", *FORMS])
@pytest.mark.parametrize("sides", [2, 1])
def test_every_form_says_what_to_do_by_the_side_of_the_limit(
    tmp_path: Path, form: str, sides: int
) -> None:
    """Two hauls with too light a tongue; then one too heavy, in the same audit or not at all."""
    log = tmp_path / "hauls.csv"
    log.write_text("".join(f"{line}\n" for line in SIDES.splitlines()[: sides + 2]))
    said = readable(form, audited(log))
    assert "Tongue too light: move" not in said
    assert (f"2 hauls below the limit: {TOO_LIGHT}" in said) == (sides == 2)
    assert (f"1 haul above the limit: {TOO_HEAVY}" in said) == (sides == 2)
    assert TOO_LIGHT in said
    assert (TOO_HEAVY in said) == (sides == 2)
    # JSON has titles alone; the page works each haul out for itself as well.
    if form not in ("json", "html"):
        assert ("Tongue too light for the loaded trailer" in said) == (sides == 1)


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
    doubt = r"articles[ -]weight[ -]high"
    assert re.search(doubt, said), f"{form} leaves out a doubtful figure"


@pytest.mark.parametrize("form", ["text", "csv", "html", "xlsx"])
def test_a_rule_that_hauls_broke_is_said_as_broken(season: AuditRun, form: str) -> None:
    said = readable(form, season)
    assert "Chains do not cross under the tongue" in said


# --- What nobody read -----------------------------------------------------------------------------


@pytest.mark.parametrize("form", ["text", *FORMS])
def test_every_form_says_how_many_hauls_meet_law_that_nobody_read(
    tmp_path: Path, form: str
) -> None:
    """Two hauls in Utah, of whose law the shipped rulebooks do not hold these three subjects."""
    log = tmp_path / "hauls.csv"
    log.write_text(
        "load,date\nloads/too-far-back,2026-03-01\nloads/side-by-side-in-order,2026-03-02\n"
    )
    said = readable(form, audited(log, ALL_RULES))
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
