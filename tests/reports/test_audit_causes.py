"""The causes of a season, and what its first screen answers, in every form of an audit."""

import io
import json
import re
from importlib import import_module

import pytest
from lxml import html as lxml_html
from openpyxl import load_workbook
from rich.console import Console

from checker.cli.writing import forms_in
from checker.reports.audit_forms import json as audit_json
from checker.reports.pages.audit.page import print_audit
from checker.reports.shared.audit_results import AuditRun, doubtful_rows, month_by_month
from checker.reports.shared.season_causes import season_causes
from checker.season.totals import Tally, WorstHaul
from tests.reports.audits import audited, rows_of, text, with_totals

FORMS = forms_in("checker.reports.audit_forms")
RULES = ("coupling", "north-america-placement", "us-federal-securement", "us-federal-vehicle")
LOG = """\
load,date,crew,articles.1.placed.x,walkaround.lamps_work,trip.speed,trip.places
loads/side-by-side-in-order,2026-05-01,north,58 in,,,MX
loads/side-by-side-in-order,2026-05-02,north,58 in,,,MX
loads/side-by-side-in-order,2026-05-03,south,58 in,no,,US-UT
loads/side-by-side-in-order,2026-05-04,south,,no,,US-UT
loads/under-rated-straps,2026-06-01,south,,,,US-UT
loads/side-by-side-in-order,2026-06-02,north,,,,US-UT
loads/side-by-side-in-order,2062-06-03,north,,,,US-UT
loads/side-by-side-in-order,2026-06-04,north,,,120 mph,US-UT
"""


@pytest.fixture(scope="module")
def run(tmp_path_factory: pytest.TempPathFactory) -> AuditRun:
    log = tmp_path_factory.mktemp("causes") / "hauls.csv"
    log.write_text(LOG)
    return audited(log, RULES)


def printed(run: AuditRun, width: int = 80, since: str = "Better or worse: as before") -> list[str]:
    shown = io.StringIO()
    print_audit(run.audit, Console(file=shown, width=width, highlight=False), None, since)
    return shown.getvalue().splitlines()


def readable(form: str, run: AuditRun) -> str:
    if form == "text":
        return "\n".join(printed(run, 2000))
    made = import_module(f"checker.reports.audit_forms.{form}").report(run)
    if form == "xlsx":
        sheets = load_workbook(io.BytesIO(made)).worksheets
        return " ".join(str(cell.value) for page in sheets for row in page for cell in row)
    return text(lxml_html.fromstring(made)) if form == "html" else made


@pytest.mark.parametrize("form", ["text", *FORMS])
def test_every_form_says_what_is_wrong_who_and_what_to_change(run: AuditRun, form: str) -> None:
    said = readable(form, run)
    assert "Tongue too light for the loaded trailer" in said
    assert "A required lamp does not work" in said
    assert "the load profile loads/under-rated-straps (1)" in said
    assert "in 3 rows articles.1.placed.x (3)" in said
    assert "in 2 rows walkaround.lamps_work (2)" in said


def test_the_first_causes_free_most_hauls(run: AuditRun) -> None:
    # By hand: three rows too far back, one of them with bad lamps; one more with bad lamps; one
    # under-rated. Putting the machine forward frees two hauls, the lamps then two more.
    first = [(each.rule, off_hold) for each, off_hold in season_causes(run.audit).first]
    assert first[0] == ("tongue-share-ball", 2)
    assert first[1] == ("lamps-work", 4)
    assert first[2][1] == 5 == run.audit.totals.all.held
    document = json.loads(audit_json.report(run))
    (tongue,) = (each for each in document["causes"] if each["rule"] == "tongue-share-ball")
    assert (tongue["side"], tongue["first"], tongue["off_hold"]) == ("below", 1, 2)
    assert (tongue["hauls"], tongue["alone"]) == (3, 2)
    assert tongue["by"]["crew"] == {"north": 2, "south": 1}


def test_the_first_screen_answers_how_many_how_bad_what_first_and_whether_it_is_better(
    run: AuditRun,
) -> None:
    head = printed(run)[:24]
    said = " ".join(" ".join(head).split())
    assert f"8 hauls: {run.audit.totals.all.held} on hold" in said
    assert "On hold: 5 of 8 decided hauls (62.5 %); the worst" in said
    assert "Better or worse: as before" in said
    assert "2 hauls in a place without a rulebook; doubtful figures in 1 haul" in said
    assert re.search(r"WHAT TO DO FIRST - \d causes? of 3: \d of 5 off hold", said)
    assert "1. 3 on hold: Tongue too light" in said
    assert "2 of 3 by crew north, which had 5 hauls" in said


@pytest.mark.parametrize("width", [40, 80])
def test_as_many_causes_stand_on_the_first_screen_as_fit(run: AuditRun, width: int) -> None:
    lines = printed(run, width)
    start = next(at for at, line in enumerate(lines) if line.startswith("WHAT TO DO"))
    end = lines.index("", start)
    assert end <= 24 or sum(line[:1].isdigit() for line in lines[start:end]) == 1


def test_one_fault_is_one_among_the_worst(run: AuditRun) -> None:
    said = "\n".join(printed(run, 2000)).partition("THE WORST")[2].splitlines()
    # The haul with a light tongue and bad lamps has two causes, though its lamps fail two rules.
    assert said[1].startswith(" 1. row 4,")
    assert "(and 1 with it)" in said[1]


@pytest.fixture(scope="module")
def three(run: AuditRun) -> AuditRun:
    """The run with three hauls on hold, which by rules alone come in the order 7, 9, 8."""

    def haul(row: int, *broken: str) -> WorstHaul:
        return WorstHaul(row, "x", "2026-05-01", "", "hold", None, broken, (), (), (), ())

    hauls = [
        haul(7, "lamps-work", "us-lamps-work"),
        haul(8, "tongue-share-ball"),
        haul(9, "tongue-share-ball", "lamps-work"),
    ]
    return with_totals(run, worst_hauls=hauls)


def test_most_causes_come_before_most_rules_in_every_form(three: AuditRun) -> None:
    ordered = [9, 7, 8]
    hauls = three.audit.totals.worst_hauls
    assert [each.row for each in season_causes(three.audit).worst_first(hauls)] == ordered
    document = json.loads(audit_json.report(three))
    assert [each["row"] for each in document["worst"]] == ordered
    made = import_module("checker.reports.audit_forms.xlsx").report(three)
    sheet = load_workbook(io.BytesIO(made))["Worst"]
    heading, *rows = sheet.iter_rows(values_only=True)
    assert [row[heading.index("row")] for row in rows] == ordered
    page = lxml_html.fromstring(import_module("checker.reports.audit_forms.html").report(three))
    told = [text(item) for item in page.xpath('//section[@aria-labelledby="worst"]/ol/li')]
    assert [re.findall(r"[Rr]ow (\d+)", line)[0] for line in told] == ["9", "7", "8"]


@pytest.mark.parametrize("form", ["text", "html", "xlsx"])
def test_every_form_says_in_what_order_the_worst_hauls_are(three: AuditRun, form: str) -> None:
    order = "most causes, then most rules, then the farthest from a limit"
    assert order in readable(form, three).lower()


# --- Doubtful rows --------------------------------------------------------------------------------


@pytest.mark.parametrize("form", ["text", *FORMS])
def test_every_form_names_the_first_doubtful_rows(run: AuditRun, form: str) -> None:
    said = readable(form, run)
    assert "trip.speed: 120 mph" in said
    assert re.search(r"date far from the others, in.{0,4}2062-06", said)
    if form in ("text", "html"):
        assert re.search(
            r"speed of the trip unusually high: row 9 \(`trip.speed: 120 mph`; usual: 3 mph", said
        )
        assert re.search(r"in 2062-06: row 8 \(", said)


def test_doubtful_hauls_are_counted_apart(run: AuditRun) -> None:
    # The haul at 120 mph; by these rules nothing is wrong with it but a few undecided things.
    doubted = run.audit.totals.doubted
    assert (doubted.hauls, doubted.held) == (1, 0)
    assert "In all with a doubtful figure: 1 haul: 0 on hold" in " ".join(printed(run, 200))
    (counted,) = (row for row in rows_of(run) if row["kind"] == "with a doubtful figure")
    assert (counted["hauls"], counted["on hold"]) == ("1", "0")
    rows = {row["kind"]: row["name"] for row in rows_of(run)}
    assert rows["row with doubtful figure: speed of the trip unusually high"] == "9"
    assert [row for *_, row, _ in doubtful_rows(run.audit)] == [9, 8]


@pytest.mark.parametrize(
    ("hauls", "odd"),
    [
        ({"2026-05": 9, "2062-05": 1, "1971-05": 1}, ["1971-05", "2062-05"]),
        ({"2026-05": 9, "2027-05": 1}, []),  # twelve months later is a year's pause
        ({"2026-05": 9, "2027-06": 1}, ["2027-06"]),
        ({"2026-05": 40, "2029-05": 2}, ["2029-05"]),  # 5 %
        ({"2026-05": 39, "2029-05": 2}, []),  # another season
        ({"2026-05": 1, "2062-05": 1}, []),  # nobody knows which
    ],
)
def test_few_hauls_far_from_all_others_have_odd_dates(
    run: AuditRun, hauls: dict[str, int], odd: list[str]
) -> None:
    months = {name: Tally(number) for name, number in hauls.items()}
    rows = {name: [2] for name in hauls}
    totals = run.audit.totals
    season = with_totals(
        run, by={**totals.by, "month": months}, month_rows=rows, doubtful={}, doubt_words={}
    )
    found = doubtful_rows(season.audit)
    assert [month for _, month, _, _ in found] == odd
    # A mistyped year does not print every month up to it.
    assert len(month_by_month(months)) <= 14
