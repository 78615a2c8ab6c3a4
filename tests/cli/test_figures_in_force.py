"""Statements, advice and pages print the figure in force on the day, amended or dated.

The book allows 7,000 lb, from 2027 on 6,500 lb; the crew allows 6,600 lb in July and August 2026.
The trailer has 7,100 lb.
"""

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from checker.cli.app import application

BOOK = """
kind: rulebook
id: book
title: A book
jurisdiction: any
proved_on: 2026-01-01
rules:
  - id: weight
    title: At most {most} of trailer
    broken: More than {most} of trailer
    question: limits
    requires: trailer.gvwr <= most
    thresholds:
      most:
        stricter: lower
        values:
          - {value: 7000 lb, from: 2020-01-01, until: 2027-01-01, common_practice: yes}
          - {value: 6500 lb, from: 2027-01-01, common_practice: yes}
    common_practice: yes
    basis: common practice
    level: must
    because: Our bridge carries {most}.
    fix: Take a trailer of {most} or less.
    proofs: [{name: none, given: {}, expect: not stated, origin: hand}]
"""
AMENDMENT = """
kind: amendment
id: crew
title: Crew policy
layer: company
jurisdiction: any
changes:
  - {rule: weight, threshold: most, was: 7000 lb, value: 6600 lb, from: 2026-07-01,
     until: 2026-09-01, source: manual, at: p. 9, by: Ann, because: road works}
  - {rule: weight, threshold: most, was: 6500 lb, value: 6500 lb, from: 2027-06-01,
     source: manual, at: p. 9}
"""
SOURCES = """
kind: sources
sources:
  - {id: manual, title: The Manual, issuer: a test, edition: 2027 edition, jurisdiction: any,
     read_as: text seen, look_again: 2030-01-01}
"""
DAYS = [
    ("2026-06-30", "7,000 lb"),
    ("2026-07-01", "6,600 lb"),
    ("2026-09-01", "7,000 lb"),
    ("2027-01-01", "6,500 lb"),
]


@pytest.fixture(autouse=True)
def crew(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A project with the book, the amendment and a load."""
    for name, text in {
        "rules/book.yaml": BOOK,
        "amendments/crew.yaml": AMENDMENT,
        "amendments/sources.yaml": SOURCES,
        "cinchbook.yaml": "kind: settings\nrules: [rules]\namendments: [amendments]\n",
        "load.yaml": "kind: load\ntrailer: {gvwr: 7100 lb}\ntrip: {places: [US-UT]}\n",
    }.items():
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_text(text)
    monkeypatch.chdir(tmp_path)


def cinchbook(*words: str) -> Result:
    return CliRunner().invoke(application(), words, env={"COLUMNS": "200"})


@pytest.mark.parametrize(("day", "most"), DAYS)
def test_a_check_prints_it_in_every_text(day: str, most: str) -> None:
    text = cinchbook("check", "load.yaml", "--on", day, "--full").stdout
    assert f"More than {most} of trailer" in text
    assert f"Take a trailer of {most} or less." in text
    document = json.loads(cinchbook("check", "load.yaml", "--on", day, "--as", "json").stdout)
    (finding,) = document["loads"][0]["findings"]
    assert finding["title"] == f"At most {most} of trailer"
    assert finding["because"] == f"Our bridge carries {most}."
    told = cinchbook("explain", "load.yaml", "weight", "--on", day).stdout
    assert f"At most {most} of trailer" in told
    assert f"Why: Our bridge carries {most}." in told


def test_an_audit_prints_those_in_force_in_its_hauls() -> None:
    """Two hauls under 7,000 lb and one under 6,600 lb, all broken."""
    log = Path("hauls.csv")
    log.write_text("load,date\n" + "".join(f"load.yaml,{day}\n" for day, _ in DAYS[:3]))
    text = cinchbook("audit", "hauls.csv").stdout
    assert "More than 7,000 lb or 6,600 lb of trailer" in text
    log.write_text("load,date\nload.yaml,2026-07-01\n")
    text = cinchbook("audit", "hauls.csv").stdout
    assert "More than 6,600 lb of trailer" in text
    assert "Take a trailer of 6,600 lb or less." in text


def test_the_page_of_a_rule_shows_amendments_and_their_days() -> None:
    text = cinchbook("rule", "weight").stdout
    assert "most = 6600 lb from 2026-07-01 until 2026-09-01; company, Crew policy\n" in text
    assert "    The Manual, p. 9 (2027 edition); by Ann; road works\n" in text


def test_history_names_editions_and_figures_that_stay() -> None:
    text = cinchbook("history", "weight", "--on", "2026-07-01").stdout
    assert text.startswith("At most 6,600 lb of trailer\n")
    assert "2027-06-01  company, Crew policy: 6500 lb, as before\n" in text
    assert "The Manual, p. 9 (2027 edition)\n" in text
