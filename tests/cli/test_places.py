"""`cinchbook places` and `cinchbook coverage`: what is held for each place."""

from collections import Counter
from pathlib import Path

import pytest
from ruamel.yaml import YAML

from checker.documents.jurisdiction_codes import REGIONS, place_name
from checker.documents.resources import shipped_folder
from checker.rulebooks.model import READINGS
from checker.rulebooks.places import (
    NO_DOCUMENT,
    by_basis,
    by_reading,
    clauses,
    days_of,
    held_for,
    law_rows,
    places_held,
)
from checker.rulebooks.unread_subjects import SUBJECTS
from tests.calling import call
from tests.shipped import shipped_rules

BOOKS = """\
kind: sources
sources:
  - {id: seen, title: Act, issuer: Dale, edition: "2020", jurisdiction: CH, read_as: text seen,
     look_again: 2030-01-01}
  - {id: told, title: Guide, issuer: Dale, edition: "2021", jurisdiction: CH,
     read_as: from memory, look_again: 2030-01-01}
"""
RULES = """\
kind: rulebook
id: dale
title: The dale
jurisdiction: CH
subjects: [weight, width]
proved_on: 2026-01-01
rules:
  - id: gross
    title: Gross rating within the limit
    question: limits
    requires: trailer.gvwr <= limit
    thresholds:
      limit:
        stricter: lower
        values:
          - {value: 3000 kg, from: 2015-10-01, until: 2020-01-01, source: seen, at: s. 1}
          - {value: 3500 kg, from: 2020-01-01, source: seen, at: s. 1}
    source: seen
    at: s. 1
    basis: law
    level: must
    because: It is so.
    fix: Mend it.
    proofs:
      - {name: stated, given: {trailer.gvwr: 1 kg}, expect: met, origin: hand}
  - id: wide
    title: Width within the limit
    question: limits
    requires: trailer.overall_width <= limit
    thresholds:
      limit: {stricter: lower, values: [{value: 2.5 m, from: 2016-01-01, source: told, at: p. 3}]}
    source: seen
    at: s. 2
    basis: law
    level: should
    because: It is so.
    fix: Mend it.
    proofs:
      - {name: stated, given: {trailer.gvwr: 1 kg}, expect: met, origin: hand}
  - id: tidy
    title: Deck clear
    question: walk-around
    requires: trailer.gvwr >= trailer.gvwr
    common_practice: yes
    basis: common practice
    level: should
    because: It is so.
    fix: Mend it.
    proofs:
      - {name: stated, given: {trailer.gvwr: 1 kg}, expect: met, origin: hand}
"""


@pytest.fixture
def dale(tmp_path: Path) -> Path:
    """A folder with rules of one place, whose counts are known by hand."""
    folder = tmp_path / "rules"
    folder.mkdir()
    (folder / "sources.yaml").write_text(BOOKS, encoding="utf-8")
    (folder / "dale.yaml").write_text(RULES, encoding="utf-8")
    return tmp_path


def test_every_place_with_rules_is_listed_once() -> None:
    rulebooks = shipped_rules()
    held = places_held(rulebooks)
    assert held[0].place == "any"
    with_rows = {row.place for row in law_rows(rulebooks)}
    assert {each.place for each in held} == {b.jurisdiction for b in rulebooks.books} | with_rows
    assert sum(len(each.rules) for each in held) == sum(len(b.rules) for b in rulebooks.books)
    unnamed = {each.place for each in held if place_name(each.place) == each.place}
    assert unnamed == set(REGIONS)


@pytest.mark.parametrize(
    "place", ["any", "North America", "US", "US-KS", "DE", "EU", "CA-ON", "JP"]
)
def test_each_count_adds_up(place: str) -> None:
    held = held_for(place, shipped_rules())
    number = len(held.rules)
    assert sum(levels.total() for levels in by_basis(held.rules).values()) == number
    assert sum(by_reading(held.rules).values()) == number
    unread = (
        [] if place in ("any", *REGIONS) else [each for each in SUBJECTS if each not in held.read]
    )
    assert held.not_read == unread
    figures = [v for rule in held.rules for each in rule.thresholds.values() for v in each.values]
    days = days_of(held.rules)
    assert (days.figures if days else 0) == len(figures)
    of_documents = clauses(held.own).values()
    cited = {rule for document in of_documents for rules in document.values() for rule in rules}
    assert cited == {rule.id for rule in held.rules}


def test_law_around_a_place_is_in_force_in_it() -> None:
    held = held_for("DE", shipped_rules())
    assert list(held.around) == ["EU"]
    # no state's law is that of the country
    assert list(held_for("US", shipped_rules()).around) == ["North America"]
    assert held.read["coupling"] == ("EU", "DE")


def test_a_place_is_printed_with_its_counts(dale: Path) -> None:
    done = call(dale, "places", "ch", "--rules", "rules", COLUMNS="200")
    assert done.returncode == 0
    for line in (
        "Switzerland (CH)",
        "3 rules in 1 rulebook: law 1 must and 1 should; common practice 1 should",
        # the second cites a guide from memory for its figure
        f"Read: 1 text seen, 1 cite {NO_DOCUMENT}, 1 from memory",
        "3 figures in force from 2015-10-01, the latest from 2020-01-01; some end on 2020-01-01",
        "Subjects of its law read: width, weight",
        "Not read, look them up: load securement, projecting loads, coupling, safety chains, ",
        "Act, 2020: text seen, 2 rules; look again 2030-01-01",
        "Guide, 2021: from memory, 1 rule; look again 2030-01-01",
    ):
        assert line in done.stdout


STATED = [
    row
    for file in shipped_folder("rules").rglob("*.yaml")
    if file.parent.name in ("states", "provinces")
    for row in YAML(typ="safe").load(file).get("places", ())
]
"""The rows of the law tables as they stand in the files, read without the program."""


def test_the_totals_of_the_law_tables_are_those_of_the_files(place_list: str) -> None:
    read = Counter(row["read"] for row in STATED)
    places = {row["place"] for row in STATED}
    ways = ", ".join(f"{read[way]} {way}" for way in READINGS)
    held = sum(row["read"] == "text seen" and "not_checked" not in row for row in STATED)
    line = f"Law tables: {len(STATED)} rows for {len(places)} places: {ways}. {held} hold all that"
    assert line in " ".join(place_list.split())


def test_fifty_states_the_district_and_ten_provinces_have_a_row_in_each_table() -> None:
    rows = law_rows(shipped_rules())
    tables = {row.table for row in rows}
    assert len(tables) == 20
    by_country = Counter(row.place.partition("-")[0] for row in rows)
    assert by_country == {"US": 51 * 10, "CA": 10 * 10}
    assert len({(row.table, row.place) for row in rows}) == len(rows)


def test_a_place_is_printed_with_its_rows(tmp_path: Path) -> None:
    printed = call(tmp_path, "places", "CA-QC", COLUMNS="400").stdout.splitlines()
    rows = [line for line in printed if " in Canada" in line]
    assert "- Speed with a trailer in Canada: not found." in rows
    assert (
        "- Safety chains in Canada: text seen, Highway Safety Code C-24.2 s. 245 (9 January 2019). "
        "1 rule: ca-qc-chain. In the singular since 2010. The tow vehicle must carry the fittings "
        "for it." in rows
    )
    assert len(rows) == 10


def test_all_places_are_printed(place_list: str) -> None:
    for line in ("Anywhere (any)", "Germany (DE)", "European Union (EU)", "Hawaii (US-HI)"):
        assert line in place_list
    assert "Table: US federal working load limits of unmarked devices" in place_list
    assert "List of what becomes of each paragraph: US federal rules: " in place_list


@pytest.fixture
def place_list(tmp_path: Path) -> str:
    """The list of every place."""
    done = call(tmp_path, "places")
    assert done.returncode == 0
    return done.stdout


@pytest.mark.parametrize("command", ["places", "coverage"])
@pytest.mark.parametrize(
    ("place", "said"),
    [
        (
            "US-XX",
            "found the jurisdiction 'US-XX'; wanted the ISO 3166-2 code of a part of United "
            "States; did you mean 'US-TX' (Texas)?",
        ),
        ("Kansas", "did you mean 'US-KS' (Kansas)?"),
        ("uk", "did you mean 'GB'?"),
        ("", "found the jurisdiction ''"),
    ],
)
def test_no_such_place_is_a_problem(tmp_path: Path, command: str, place: str, said: str) -> None:
    done = call(tmp_path, command, place)
    assert done.returncode == 2
    assert said in done.stderr
    assert not done.stdout


def test_a_place_of_which_nothing_is_held_has_every_subject_to_look_up(tmp_path: Path) -> None:
    done = call(tmp_path, "places", "JP", COLUMNS="400")
    assert "No rule of its own." in done.stdout
    assert f"Not read, look them up: {', '.join(SUBJECTS)}" in done.stdout


def test_coverage_without_a_list_of_paragraphs_prints_the_clauses_and_decides_nothing(
    dale: Path,
) -> None:
    done = call(dale, "coverage", "CH", "--rules", "rules", COLUMNS="200")
    assert done.returncode == 3
    for line in (
        "Act, 2020 (text seen)\ns. 1  gross\ns. 2  wide",
        "Guide, 2021 (from memory)\np. 3  wide",
        "No document, common practice\ntidy",
        "3 clauses that rules of Switzerland cite.",
        "No list of the paragraphs of its law is held",
    ):
        assert line in done.stdout


def test_coverage_of_every_place_with_rules(tmp_path: Path) -> None:
    lists = {each.jurisdiction for each in shipped_rules().coverages}
    for held in places_held(shipped_rules()):
        if held.rules and held.place not in (*lists, "any", *REGIONS):
            done = call(tmp_path, "coverage", held.place)
            assert (done.returncode, done.stderr) == (3, "")


@pytest.mark.parametrize(
    ("place", "said"),
    [
        ("us-gu", "found no law of 'us-gu' alone; law of US is in force there; wanted one of: at"),
        ("any", "found no law of 'any' alone; wanted one of: at"),
        ("north america", "found no law of 'north america' alone; wanted one of: at"),
    ],
)
def test_coverage_names_the_places_there_are(tmp_path: Path, place: str, said: str) -> None:
    done = call(tmp_path, "coverage", place)
    assert done.returncode == 2
    assert said in done.stderr


def test_a_region_is_printed_by_its_name(tmp_path: Path) -> None:
    done = call(tmp_path, "places", "north america")
    assert done.returncode == 0
    assert done.stdout.startswith("\nNorth America\n")
    assert "Subjects of its law" not in done.stdout
