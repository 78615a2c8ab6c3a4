"""The calendar: what begins, ends and falls due on which day, worked out by hand."""

import json
from datetime import date
from pathlib import Path

import pytest
from icalendar import Calendar
from jsonschema import Draft202012Validator
from typer.testing import CliRunner, Result

from checker.cli.app import application
from tests.written_documents import closed_schema

SETTINGS = "kind: settings\nrules: [rules]\n"
RULE = """\
kind: rulebook
id: crew-rules
title: Crew rules
jurisdiction: US
proved_on: 2026-01-01
rules:
  - id: light-trailer
    title: Trailer of at most 7,000 lb
    broken: The trailer is rated over 7,000 lb
    question: limits
    {days}requires: trailer.gvwr <= limit
    thresholds:
      limit:
        stricter: lower
        values:
          - {{value: 7000 lb, from: 2015-10-01, source: print, at: p. 1}}
    source: print
    at: p. 1
    basis: guidance
    level: must
    because: The yard's hill.
    fix: Take another trailer.
    proofs:
      - {{name: at, given: {{trailer.gvwr: 7000 lb}}, expect: met, origin: by hand}}
"""
SOURCES = """\
kind: sources
sources:
  - {id: print, title: The Print, issuer: a, edition: first, jurisdiction: US, read_as: text seen,
     look_again: 2026-11-15}
  - {id: utah-code, title: Utah Code, issuer: b, edition: '2026', jurisdiction: US-UT,
     read_as: text seen, look_again: 2040-01-01}
  - {id: leaflet, title: A leaflet that nothing cites, issuer: c, edition: '2026',
     jurisdiction: US, read_as: text seen, look_again: 2026-11-20}
"""
COMPANY = """\
kind: amendment
id: crew
title: Crew policy
layer: company
jurisdiction: any
changes:
  - {rule: light-trailer, threshold: limit, was: 7000 lb, value: 6500 lb, from: 2026-11-01,
     each_year: {from: 11-01, until: 05-01}, common_practice: yes}
"""
UTAH = """\
kind: amendment
id: utah
title: Utah
layer: place
jurisdiction: US-UT
changes:
  - {rule: light-trailer, threshold: limit, was: 7000 lb, value: 6000 lb, from: 2027-01-01,
     until: 2027-02-01, source: utah-code, at: 1-1}
"""
VARIANCES = """\
kind: variances
id: crew-variances
title: Variances
variances:
  - {rule: light-trailer, every_load: yes, because: no other, conditions: slowly, by: M. Quill,
     from: 2026-12-01, until: 2026-12-15}
"""


@pytest.fixture
def project(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """One rule with a winter figure, a month of a state's law and a variance."""
    files = {
        "cinchbook.yaml": SETTINGS,
        "rules/crew.yaml": RULE.format(days=""),
        "rules/sources.yaml": SOURCES,
        "rules/company.yaml": COMPANY,
        "rules/utah.yaml": UTAH,
        "rules/variances.yaml": VARIANCES,
    }
    for name, text in files.items():
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text(text)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def run(*words: str) -> Result:
    return CliRunner().invoke(application(), ["calendar", *words])


def entries(*words: str) -> list[dict[str, object]]:
    done = run(*words, "--as", "json")
    assert done.exit_code == 0
    document = json.loads(done.stdout)
    Draft202012Validator(closed_schema("calendar")).validate(document)
    own = ("light-trailer", "crew-rules", "print", "leaflet")
    return [each for each in document["entries"] if each["id"] in own]


WINTER = ("--from", "2026-10-01", "--to", "2027-05-01")


@pytest.mark.usefixtures("project")
def test_a_winter_is_in_order_of_day_with_what_holds_after() -> None:
    """By hand: 6,500 lb from 1 November to 1 May, 6,000 lb in Utah in January, of 7,000 lb."""
    found = [
        (each["day"], each["kind"], each["place"], str(each["from_then_on"]).split(",")[0])
        for each in entries(*WINTER)
    ]
    assert found == [
        ("2026-11-01", "figure", "US", "limit = 6500 lb"),
        ("2026-11-15", "reading due", "US", "The Print"),
        ("2026-12-01", "variance", "any", "may go against it until 2026-12-15 by M. Quill: no "
         "other On condition: slowly"),
        ("2026-12-15", "variance", "any", "the rule holds for them again; the variance was by M. "
         "Quill"),
        ("2027-01-01", "figure", "US-UT", "limit = 6000 lb"),
        ("2027-02-01", "figure", "US-UT", "limit = 6500 lb"),
        ("2027-05-01", "figure", "US", "limit = 7000 lb"),
    ]  # fmt: skip


@pytest.mark.usefixtures("project")
@pytest.mark.parametrize(
    ("first", "last", "days"),
    [
        ("2026-11-01", "2026-11-01", ["2026-11-01"]),
        ("2026-11-02", "2026-11-30", ["2026-11-15"]),
        ("2026-10-01", "2026-10-31", []),
        ("2026-11-16", "2026-11-30", ["2026-11-15"]),  # overdue
        ("2031-10-01", "2032-06-01", ["2026-11-15", "2031-11-01", "2032-05-01"]),
    ],
)
def test_only_the_days_asked_for_and_what_is_overdue(
    first: str, last: str, days: list[str]
) -> None:
    found = entries("--from", first, "--to", last)
    assert [each["day"] for each in found] == days
    assert [each["overdue"] for each in found] == [str(each["day"]) < first for each in found]


@pytest.mark.usefixtures("project")
def test_by_place_and_rule() -> None:
    assert [each["day"] for each in entries(*WINTER, "--place", "US-NV", "--rule", "light-trailer")]
    places = {each["place"] for each in entries(*WINTER, "--place", "US-NV")}
    assert places == {"US", "any"}
    assert "US-UT" in {each["place"] for each in entries(*WINTER, "--place", "US-UT")}
    assert {each["id"] for each in entries(*WINTER, "--rule", "light-trailer")} == {"light-trailer"}
    done = run("--rule", "light-trailor")
    assert done.exit_code == 2
    assert "did you mean 'light-trailer'" in done.stderr


def test_a_rule_with_days_begins_and_ends(project: Path) -> None:
    days = "from: 2026-11-10\n    until: 2027-03-01\n    "
    (project / "rules/crew.yaml").write_text(RULE.format(days=days))
    found = [each for each in entries(*WINTER) if each["kind"] == "rule"]
    assert [(each["day"], each["happens"]) for each in found] == [
        ("2026-11-10", "light-trailer begins"),
        ("2027-03-01", "light-trailer ends"),
    ]


def test_a_season_repealed_by_a_company_is_told_when_it_ends(project: Path) -> None:
    (project / "rules/company.yaml").write_text(
        COMPANY.partition("changes:")[0]
        + "repeals:\n  - {rule: light-trailer, from: 2026-11-01, until: 2027-01-15, "
        "common_practice: yes, because: snow, by: M. Quill}\n"
    )
    found = [each for each in entries(*WINTER) if each["kind"] == "repeal"]
    assert [(each["day"], each["happens"]) for each in found] == [
        ("2026-11-01", "light-trailer is repealed"),
        ("2027-01-15", "light-trailer is in force again"),
    ]


@pytest.mark.usefixtures("project")
def test_another_program_reads_the_calendar_file() -> None:
    """The independent reader is icalendar's parser; each event is a whole day of its own."""
    done = run(*WINTER, "--rule", "light-trailer", "--as", "ics")
    read = Calendar.from_ical(done.stdout)
    events = read.walk("VEVENT")
    assert [each.decoded("dtstart") for each in events] == [
        date(2026, 11, 1),
        date(2026, 12, 1),
        date(2026, 12, 15),
        date(2027, 1, 1),
        date(2027, 2, 1),
        date(2027, 5, 1),
    ]
    assert str(events[0]["summary"]) == "limit of light-trailer changes"
    assert "limit = 6500 lb" in str(events[0]["description"])
    assert len({str(each["uid"]) for each in events}) == len(events)
    assert max(len(line.encode()) for line in done.stdout.splitlines()) <= 75  # RFC 5545, 3.1
    assert run(*WINTER, "--rule", "light-trailer", "--as", "ics").stdout == done.stdout


@pytest.mark.usefixtures("project")
def test_in_words() -> None:
    shown = run(*WINTER).stdout
    words = " ".join(shown.split())
    assert "2026-11-01 (Sun) - limit of light-trailer changes (US) limit = 6500 lb, set by" in words
    assert "- a variance of light-trailer ends For every load the rule holds for them" in words
    assert "OVERDUE on 2026-12-01" in run("--from", "2026-12-01").stdout
    done = run("--from", "2026-12-01", "--to", "2026-11-01")
    assert done.exit_code == 2
    assert "found --to 2026-11-01, before 2026-12-01" in done.stderr


@pytest.mark.usefixtures("project")
@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--from", "9999-12-31"), "the day 9999-12-31; wanted one from 1970 to 2099"),
        (("--from", "0001-01-01"), "the day 0001-01-01"),
        (("--from", "2026-01-01", "--to", "2100-01-01"), "the day 2100-01-01"),
        (("--from", "soon"), "soon"),
    ],
)
def test_a_day_out_of_reach_is_refused(words: tuple[str, ...], told: str) -> None:
    done = run(*words)
    assert done.exit_code == 2
    assert told in done.stderr
