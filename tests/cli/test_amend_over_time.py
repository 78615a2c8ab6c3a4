"""An officer's changes over time, from the command line: each story is worked out by hand.

The load is a trailer of 6,800 lb. The law of the US allows 7,000 lb; the crew's own figure is at
least 4 seats in the tow vehicle, and the tow vehicle has 4.
"""

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from checker.cli.app import application

SOURCES = """
kind: sources
sources:
  - {id: print, title: The Print, issuer: a test, edition: "2026", jurisdiction: US,
     read_as: text seen, look_again: 2030-01-01}
"""
UTAH = """
kind: sources
sources:
  - {id: utah, title: Utah Code, issuer: a test, edition: "2027", jurisdiction: US-UT,
     read_as: text seen, look_again: 2030-01-01}
"""
BOOK = """
kind: rulebook
id: book
title: A book
jurisdiction: US
proved_on: 2026-01-01
rules:
  - id: weight
    title: At most {most} of trailer
    question: limits
    requires: trailer.gvwr <= most
    thresholds:
      most:
        stricter: lower
        values:
          - {value: 7000 lb, from: 2020-01-01, source: print, at: p. 1}
    source: print
    at: p. 1
    basis: law
    level: must
    because: it is so
    fix: Take a trailer of {most} or less
    proofs: [{name: none, given: {}, expect: not stated, origin: hand}]
  - id: seats
    title: Enough seats
    question: limits
    requires: tow_vehicle.seats >= least
    thresholds:
      least:
        stricter: higher
        values:
          - {value: 4, from: 2020-01-01, common_practice: yes}
    common_practice: yes
    basis: common practice
    level: should
    because: it is so
    fix: mend it
    proofs: [{name: none, given: {}, expect: not stated, origin: hand}]
"""
PRACTICE = "--common-practice"
WHO = ["--by", "M. Quill", "--because", "The bridge is weak."]


@pytest.fixture
def crew(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A project with the book, a load in Utah, and no amendment yet; returns the company's file."""
    for name, text in {
        "rules/sources.yaml": SOURCES,
        "rules/book.yaml": BOOK,
        "amendments/sources.yaml": UTAH,
        "cinchbook.yaml": "kind: settings\nrules: [rules]\namendments: [amendments]\n",
        "load.yaml": (
            "kind: load\ntrailer: {gvwr: 6800 lb}\ntow_vehicle: {seats: 4}\n"
            "trip: {places: [US-UT]}\n"
        ),
    }.items():
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_text(text)
    monkeypatch.chdir(tmp_path)
    return tmp_path / "amendments" / "company.yaml"


def cinchbook(*words: str) -> Result:
    return CliRunner().invoke(application(), words, env={"COLUMNS": "200"})


def amend(*words: str) -> str:
    """What `amend` prints of the days after its diff; fails where it is refused."""
    done = cinchbook("amend", *words)
    assert done.exit_code == 0, done.stderr
    return done.stdout[done.stdout.index(" after this change:\n") + 20 :]


def refused(*words: str) -> str:
    done = cinchbook("amend", *words)
    assert done.exit_code == 2, done.stdout
    return done.stderr


def verdicts(rule: str, *days: str) -> list[str]:
    """The verdict of a rule on the load on each day."""
    found = []
    for day in days:
        done = cinchbook("check", "load.yaml", "--on", day, "--as", "json", "--full")
        findings = json.loads(done.stdout)["loads"][0]["findings"]
        found += [each["verdict"] for each in findings if each["rule"] == rule]
    return found


def history(rule: str, *words: str) -> str:
    done = cinchbook("history", rule, "--on", "2026-06-01", *words)
    assert done.exit_code == 0, done.stderr
    return done.stdout


def test_the_law_changes_on_a_day_and_for_some_months(crew: Path) -> None:
    """Utah: 6,700 lb from July 2026 on, and 6,500 lb in March and April 2027."""
    utah = ["--source", "utah", "--place", "US-UT", "--at"]
    held = amend("weight", "most", "6700 lb", "--from", "2026-07-01", *utah, "1-1")
    law = "set by law of US-UT, Changes by the law of US-UT"
    assert held == (
        "  before 2026-07-01: most = 7000 lb, the rulebook's own\n"
        f"  from 2026-07-01 on: most = 6700 lb, {law}\n"
    )
    spring = ["--from", "2027-03-01", "--until", "2027-05-01", *utah, "1-2"]
    assert amend("weight", "most", "6500 lb", *spring) == (
        f"  before 2027-03-01: most = 6700 lb, {law}\n"
        f"  from 2027-03-01 until 2027-05-01: most = 6500 lb, {law}\n"
        f"  from 2027-05-01 on: most = 6700 lb, {law}\n"
    )
    # 6,800 lb: met under 7,000 lb alone.
    days = ["2026-06-30", "2026-07-01", "2027-03-01", "2027-05-01", "2028-01-01"]
    assert verdicts("weight", *days) == ["met"] + ["not met"] * 4
    text = crew.with_name("us-ut.yaml").read_text()
    assert text.count("until: 2027-") == 1  # the standing change keeps no end
    assert "from 2027-05-01 on: most = 6700 lb, set by law" in history("weight")


@pytest.mark.usefixtures("crew")
def test_a_seasonal_rule_comes_back_each_year() -> None:
    """5 seats from 1 November until 1 May, first in 2026; 4 otherwise."""
    words = ["seats", "least", "5", "--from", "2026-09-01", "--each-year", "11-01", "05-01"]
    company = "set by company, Changes by the company"
    assert amend(*words, PRACTICE) == (
        "  before 2026-11-01: least = 4, the rulebook's own\n"
        f"  from 2026-11-01 until 2027-05-01: least = 5, {company}\n"
        "  from 2027-05-01 until 2027-11-01: least = 4, the rulebook's own\n"
        "  and so on each year\n"
    )
    outside = ["2026-09-01", "2026-10-31", "2027-05-01", "2027-10-31", "2040-05-01"]
    inside = ["2026-11-01", "2026-12-31", "2027-04-30", "2027-11-01", "2040-04-30"]
    assert verdicts("seats", *outside) == ["met"] * 5
    assert verdicts("seats", *inside) == ["not met"] * 5
    told = history("seats")
    assert "least: 5, each year" not in told
    assert (
        "2026-09-01  company, Changes by the company: 5, each year from 1 November until " in told
    )
    assert f"from 2027-11-01 until 2028-05-01: least = 5, {company}" in told
    # A stretch inside a winter: 6 seats in January 2027, then 5 again until May.
    more = ["seats", "least", "6", "--from", "2027-01-01", "--until", "2027-02-01", PRACTICE]
    assert amend(*more) == (
        f"  before 2027-01-01: least = 5, {company}\n"
        f"  from 2027-01-01 until 2027-02-01: least = 6, {company}\n"
        f"  from 2027-02-01 until 2027-05-01: least = 5, {company}\n"
    )


def test_a_correction_keeps_the_wrong_text_in_history(crew: Path) -> None:
    """Typed 50 for 5 seats; then withdrawn from August on."""
    amend("seats", "least", "50", "--from", "2026-07-01", PRACTICE)
    company = "set by company, Changes by the company"
    wrong = ["seats", "least", "5", "--correct", "2026-07-01", *WHO]
    assert amend(*wrong) == (
        "  before 2026-07-01: least = 4, the rulebook's own\n"
        f"  from 2026-07-01 on: least = 5, {company}\n"
    )
    assert "    value: 50\n" in crew.read_text()
    told = history("seats")
    assert "2026-07-01  company, Changes by the company: 50\n" in told
    assert "corrected by M. Quill: The bridge is weak. (never counts)\n" in told
    gone = ["seats", "least", "--withdraw", "2026-07-01", "--from", "2026-08-01", *WHO]
    assert amend(*gone) == (
        f"  before 2026-08-01: least = 5, {company}\n"
        "  from 2026-08-01 on: least = 4, the rulebook's own\n"
    )
    assert verdicts("seats", "2026-06-30", "2026-07-01", "2026-07-31", "2026-08-01") == [
        "met",
        "not met",
        "not met",
        "met",
    ]
    assert "withdrawn from 2026-08-01 on by M. Quill: The bridge is weak." in history("seats")


def test_a_change_that_a_new_edition_refuses_can_be_corrected(crew: Path) -> None:
    """The rulebook's own figure becomes 3 seats, where the crew's change expects 4."""
    amend("seats", "least", "5", "--from", "2026-07-01", PRACTICE)
    book = Path("rules/book.yaml")
    book.write_text(book.read_text().replace("{value: 4,", "{value: 3,"))
    assert "found another value than the one to be changed; wanted '3'" in cinchbook("rules").stderr
    assert amend("seats", "least", "--correct", "2026-07-01", *WHO) == (
        "  before 2026-07-01: least = 3, the rulebook's own\n"
        "  from 2026-07-01 on: least = 5, set by company, Changes by the company\n"
    )
    assert "    was: 3\n    value: 5\n" in crew.read_text()


def test_a_correction_keeps_what_it_does_not_state(crew: Path) -> None:
    winter = ["--each-year", "11-01", "05-01", "--until", "2028-01-01"]
    amend("seats", "least", "5", "--from", "2026-07-01", *winter, PRACTICE, *WHO)
    amend("seats", "least", "--correct", "2026-07-01", "--from", "2026-12-01", *WHO)
    new = crew.read_text().rpartition("  - rule: seats\n")[2]
    assert new == (
        "    threshold: least\n"
        "    was: 4\n"
        "    value: 5\n"
        "    from: 2026-12-01\n"
        "    until: 2028-01-01\n"
        "    each_year:\n"
        "      from: 11-01\n"
        "      until: 05-01\n"
        "    common_practice: yes\n"
        "    because: The bridge is weak.\n"
        "    by: M. Quill\n"
    )


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["5", "--from", "2026-07-01", PRACTICE], "found a change of which no day is left"),
        (["--withdraw", "2026-07-02", *WHO], "wanted the first day of one: 2026-07-01 (6)"),
        (["--correct", "2026-07-01", "--by", "A"], "found no reason or no name"),
        (["5", "--withdraw", "2026-07-01", *WHO], "found --withdraw with a change"),
        (["--correct", "2026-07-01", "--withdraw", "2026-07-01", *WHO], "found --withdraw with a"),
        (["--withdraw", "2026-07-01", "--from", "2026-06-30", *WHO], "`withdrawn` from 2026-06-30"),
        (
            ["5", "--from", "2027-07-01", "--each-year", "02-29", "05-01", PRACTICE],
            "found '02-29'; wanted a day of every year",
        ),
        (
            ["5", "--from", "2027-07-01", "--each-year", "05-01", "05-01", PRACTICE],
            "found a part of the year that ends on the day it begins",
        ),
    ],
)
def test_what_is_refused_leaves_the_file(crew: Path, words: list[str], said: str) -> None:
    amend("seats", "least", "6", "--from", "2026-07-01", PRACTICE)
    before = crew.read_text()
    assert said in refused("seats", "least", *words)
    assert crew.read_text() == before


def test_changes_that_share_their_text_are_refused(crew: Path) -> None:
    """The alias is a second change with the same lines; a note on one would stand on both."""
    amend("seats", "least", "6", "--from", "2026-07-01", PRACTICE)
    text = crew.read_text().replace("  - rule: seats", "  - &first\n    rule: seats")
    crew.write_text(f"{text}  - *first\n")
    told = refused("seats", "least", "--withdraw", "2026-07-01", *WHO)
    assert "found" in told
    assert "wanted" in told
    assert crew.read_text() == f"{text}  - *first\n"


@pytest.mark.usefixtures("crew")
def test_two_files_of_one_company_may_not_change_the_same_day() -> None:
    amend("seats", "least", "6", "--from", "2026-07-01", PRACTICE)
    other = ["--into", "amendments/other.yaml"]
    told = refused("seats", "least", "7", "--from", "2026-09-01", PRACTICE, *other)
    assert "found a change from 2026-09-01 while another is in force (amendments/comp" in told


@pytest.mark.usefixtures("crew")
def test_a_rule_before_its_first_day_does_not_apply() -> None:
    """The rule is in force in 2026 alone; its rulebook from March on."""
    book = Path("rules/book.yaml")
    text = book.read_text().replace("    question: limits\n", "    question: limits\n    DAYS\n", 1)
    text = text.replace("proved_on: 2026-01-01", "proved_on: 2026-05-01")
    text = text.replace("    DAYS\n", "    from: 2026-01-01\n    until: 2027-01-01\n")
    book.write_text(text)
    days = ["2025-12-31", "2026-01-01", "2026-12-31", "2027-01-01"]
    idle = "does not apply"
    assert verdicts("weight", *days) == [idle, "met", "met", idle]
    book.write_text(text.replace("jurisdiction: US\n", "jurisdiction: US\nfrom: 2026-03-01\n", 1))
    assert verdicts("weight", "2026-02-28", "2026-03-01", "2027-01-01") == [idle, "met", idle]
    assert verdicts("seats", "2026-02-28", "2026-03-01") == [idle, "met"]
    done = cinchbook("explain", "load.yaml", "weight", "--on", "2026-02-28")
    assert "In force: no; in force from 2026-03-01 until 2027-01-01\n" in done.stdout
    assert "in force from 2026-03-01 until 2027-01-01\n" in history("weight")
    # Each first and last day needs a proof, and that of the rulebook one of any of its rules.
    told = cinchbook("prove", "--rules", "rules").stdout
    assert "weight: no proof notices: until 2027-01-02 in place of 2027-01-01" in told
    assert told.count("from 2026-03-02 in place of 2026-03-01") == 1


@pytest.mark.usefixtures("crew")
def test_a_source_that_no_file_lists_is_told_where_it_belongs() -> None:
    words = ("--from", "2026-07-01", "--place", "US-UT", "--source", "uath", "--at", "1-1")
    told = refused("weight", "most", "6700 lb", *words)
    wanted = "a document that a sources file lists (`cinchbook draft sources FILE` starts one): "
    assert f"found the source 'uath'; wanted {wanted}" in told
    assert "did you mean 'utah'?" in told
