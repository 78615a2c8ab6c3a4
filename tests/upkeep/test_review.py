"""Two sets of rules compared: each expected effect follows from what the changed line asks."""

from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest
from msgspec.structs import replace

from checker.documents.settings import read_settings
from checker.rulebooks.days import Stretch
from checker.rulebooks.loading import load_rulebooks
from checker.rulebooks.model import Rulebooks
from checker.rulebooks.selection import combine_rulebooks
from checker.upkeep.review.difference import Difference, Effect, loosens
from checker.upkeep.review.differences import differences
from checker.upkeep.review.settings import setting_differences
from tests.shipped import shipped_rules

SOURCES = """
kind: sources
sources:
  - {id: print, title: The Print, issuer: a test, edition: first, jurisdiction: any,
     read_as: text seen, look_again: 2030-01-01}
  - {id: utah, title: Utah Code, issuer: a test, edition: first, jurisdiction: US-UT,
     read_as: text seen, look_again: 2030-01-01}
"""
BOOK = """
kind: rulebook
id: book
title: A book
jurisdiction: any
proved_on: 2026-01-01
rules:
  - id: weight
    title: Not too heavy
    question: limits
    when: trailer.gvwr >= least and trip.public_road
    requires: trailer.gvwr <= most
    thresholds:
      least: {stricter: none, values: [{value: 1000 lb, from: 2020-01-01, source: print, at: p. 1}]}
      most:
        stricter: lower
        values:
          - {value: 7000 lb, from: 2020-01-01, source: print, at: p. 1}
    common_practice: yes
    basis: common practice
    level: must
    because: it is so
    fix: mend it
    proofs: [{name: none, given: {}, expect: not stated, origin: hand}]
  - id: seats
    title: Enough seats
    question: limits
    requires: tow_vehicle.seats >= 2
    common_practice: yes
    basis: common practice
    level: should
    because: it is so
    fix: mend it
    proofs: [{name: none, given: {}, expect: not stated, origin: hand}]
"""
SECOND = BOOK.replace("id: book", "id: second").replace("id: weight", "id: weight-two")
SECOND = SECOND.replace("id: seats", "id: seats-two")
CREW = "kind: amendment\nid: crew\ntitle: Crew policy\nlayer: company\njurisdiction: any\n"
UTAH = "kind: amendment\nid: utah-law\ntitle: Utah law\nlayer: place\njurisdiction: US-UT\n"
RATINGS = """
kind: ratings
id: devices
title: Devices
jurisdiction: US
proved_on: 2026-01-01
from: 2020-01-01
source: print
at: p. 1
rows:
  - {device: chain, grade: "70", size: 1/4 in, working_load_limit: 3150 lb}
proofs:
  - {name: one, device: chain, grade: "70", size: 1/4 in, expect: 3150 lb, origin: print}
"""
VARIANCES = """
kind: variances
id: register
title: Register
variances:
  - {rule: seats, every_load: yes, because: so, conditions: slowly, by: Ann,
     from: 2026-05-01, until: 2026-05-15}
"""

Read = Callable[..., Rulebooks]


@pytest.fixture
def read(tmp_path: Path) -> Read:
    """Rulebooks from texts, each read from a folder of its own, as two revisions are."""
    folders = iter(range(100))

    def from_texts(*texts: str) -> Rulebooks:
        folder = tmp_path / str(next(folders))
        folder.mkdir()
        for number, text in enumerate((SOURCES, *texts)):
            (folder / f"{number}.yaml").write_text(text)
        return combine_rulebooks([load_rulebooks(folder)])

    return from_texts


def told(each: Difference) -> tuple[str, str, str, str, str]:
    return each.effect, each.kind, each.name, each.before, each.after


def change(value: str, days: str, head: str = CREW, source: str = "common_practice: yes") -> str:
    return (
        f"{head}changes:\n  - {{rule: weight, threshold: most, was: 7000 lb, value: {value}, "
        f"{days}, {source}, by: Ann, because: so}}\n"
    )


REPEAL = (
    f"{CREW}repeals:\n  - {{rule: weight, from: 2026-07-01, until: 2026-09-01, "
    "common_practice: yes, by: Ann, because: so}\n"
)


@pytest.mark.parametrize(
    ("old", "new", "expected"),
    [
        ("level: must", "level: should", ("loosened", "level", "weight", "must", "should")),
        ("level: should", "level: must", ("tightened", "level", "seats", "should", "must")),
        (
            "value: 7000 lb",
            "value: 7500 lb",
            ("loosened", "figure", "weight", "7000 lb", "7500 lb"),
        ),
        (
            "value: 7000 lb",
            "value: 6500 lb",
            ("tightened", "figure", "weight", "7000 lb", "6500 lb"),
        ),
        # A greater weight from which on the rule applies: for fewer loads.
        (
            "value: 1000 lb",
            "value: 2000 lb",
            ("loosened", "figure", "weight", "1000 lb", "2000 lb"),
        ),
        ("value: 1000 lb", "value: 500 lb", ("tightened", "figure", "weight", "1000 lb", "500 lb")),
        (
            "least and trip.public_road",
            "least",
            (
                "tightened",
                "when",
                "weight",
                "trailer.gvwr >= least and trip.public_road",
                "trailer.gvwr >= least",
            ),
        ),
        (
            "seats >= 2",
            "seats >= 2 or trailer.gvwr <= trailer.gvwr",
            (
                "loosened",
                "requires",
                "seats",
                "tow_vehicle.seats >= 2",
                "tow_vehicle.seats >= 2 or trailer.gvwr <= trailer.gvwr",
            ),
        ),
        (
            "seats >= 2",
            "seats >= 1",
            (
                "may be loosened",
                "requires",
                "seats",
                "tow_vehicle.seats >= 2",
                "tow_vehicle.seats >= 1",
            ),
        ),
        (
            "jurisdiction: any",
            "jurisdiction: US",
            ("loosened", "jurisdiction", "book", "any", "US"),
        ),
        (
            "proved_on: 2026-01-01",
            "proved_on: 2026-01-01\napplies: {when: trip.public_road, source: print, at: p. 1, "
            "because: so, proofs: [{name: a, given: {}, expect: not stated, origin: hand}]}",
            ("loosened", "when", "book", "always", "trip.public_road"),
        ),
        (
            "proved_on: 2026-01-01",
            "proved_on: 2026-01-01\nuntil: 2027-01-01",
            ("loosened", "days in force", "book", "always", "until 2027-01-01"),
        ),
        (
            "title: Enough seats",
            "title: Seats for all",
            ("texts only", "texts", "seats", "", "title"),
        ),
    ],
)
def test_one_line_changed(read: Read, old: str, new: str, expected: tuple[str, ...]) -> None:
    assert BOOK.count(old) == 1
    (found,) = differences(read(BOOK), read(BOOK.replace(old, new)))
    assert told(found) == expected
    assert found.location.partition(":")[0].endswith("1.yaml")


def test_equal_texts_in_two_folders_do_not_differ(read: Read) -> None:
    texts = (BOOK, RATINGS, VARIANCES, change("6500 lb", "from: 2026-07-01"))
    assert differences(read(*texts), read(*texts)) == []


def test_a_rulebook_switched_off_is_a_loosening(read: Read) -> None:
    both, one = read(BOOK, SECOND), read(BOOK)
    (off,) = differences(both, one)
    words = ("2 rules, 1 of them must", "no longer in use")
    assert told(off) == ("loosened", "rulebook", "second", *words)
    assert off.rules == {"weight-two", "seats-two"}
    (on,) = differences(one, both)
    assert told(on) == ("tightened", "rulebook", "second", "not in use", "2 rules, 1 of them must")


def test_rules_that_another_rulebook_takes_over_are_not_gone(read: Read) -> None:
    moved = BOOK.replace("id: book", "id: other")
    assert differences(read(BOOK), read(moved)) == []


def test_rules_new_and_gone(read: Read) -> None:
    head, rule, rest = BOOK.partition("  - id: seats")
    assert rule
    assert rest
    (gone,) = differences(read(BOOK), read(head))
    assert told(gone) == ("loosened", "rule", "seats", "should", "gone")
    (new,) = differences(read(head), read(BOOK))
    assert told(new) == ("tightened", "rule", "seats", "not there", "should")


def test_everything_is_new_after_no_rules(read: Read) -> None:
    (new,) = differences(Rulebooks((), ()), read(BOOK))
    assert told(new)[:3] == ("tightened", "rulebook", "book")


@pytest.mark.parametrize(
    ("days", "stretches", "each_year"),
    [
        ("from: 2026-07-01", [(date(2026, 7, 1), None)], False),
        ("from: 2026-07-01, until: 2026-09-01", [(date(2026, 7, 1), date(2026, 9, 1))], False),
        (
            "from: 2026-07-01, each_year: {from: 11-01, until: 05-01}",
            [(date(year, 11, 1), date(year + 1, 5, 1)) for year in (2026, 2027, 2028)],
            True,
        ),
    ],
)
def test_an_amended_figure_with_its_days(
    read: Read, days: str, stretches: list[tuple[date, date | None]], each_year: bool
) -> None:
    (found,) = differences(read(BOOK), read(BOOK, change("6500 lb", days)))
    assert told(found) == ("tightened", "figure", "weight", "7000 lb", "6500 lb")
    assert found.days[:3] == tuple(Stretch(*each) for each in stretches)
    assert found.each_year is each_year


def test_a_figure_that_becomes_unknown_is_loosened(read: Read) -> None:
    amended = read(BOOK, change("not yet known", "from: 2026-07-01"))
    (found,) = differences(read(BOOK), amended)
    assert told(found) == ("loosened", "figure", "weight", "7000 lb", "not yet known")


def test_what_one_place_amends_is_told_of_that_place(read: Read) -> None:
    law = change("6500 lb", "from: 2026-07-01", UTAH, "source: utah, at: s. 1")
    (found,) = differences(read(BOOK), read(BOOK, law))
    assert (found.place, *told(found)[3:]) == ("US-UT", "7000 lb", "6500 lb")


def test_a_repeal_and_its_end(read: Read) -> None:
    (found,) = differences(read(BOOK), read(BOOK, REPEAL))
    assert told(found) == ("loosened", "repeal", "weight", "in force", "repealed")
    assert found.turns(date(2026, 1, 1)) == {date(2026, 7, 1), date(2026, 9, 1)}
    (back,) = differences(read(BOOK, REPEAL), read(BOOK))
    assert told(back) == ("tightened", "repeal", "weight", "repealed", "in force")


@pytest.mark.parametrize(
    ("new", "effect"),
    [("3300 lb", "loosened"), ("3000 lb", "tightened")],
)
def test_a_limit_of_unmarked_devices(read: Read, new: str, effect: str) -> None:
    (found,) = differences(read(BOOK, RATINGS), read(BOOK, RATINGS.replace("3150 lb", new)))
    assert (found.effect, found.kind, found.name) == (effect, "table", "devices")


def test_a_table_switched_off_may_loosen(read: Read) -> None:
    (found,) = differences(read(BOOK, RATINGS), read(BOOK))
    assert told(found)[:3] == ("may be loosened", "table", "devices")
    assert loosens(found)


def test_a_variance_loosens_and_its_end_tightens(read: Read) -> None:
    without, with_it = read(BOOK), read(BOOK, VARIANCES)
    (new,) = differences(without, with_it)
    assert told(new) == ("loosened", "variance", "seats", "in force", "excused for every load")
    (gone,) = differences(with_it, without)
    assert gone.effect == "tightened"


def test_longer_variances_are_a_loosening(read: Read) -> None:
    rules = read(BOOK)
    (found,) = differences(replace(rules, longest_variance=90), rules)
    assert told(found) == ("loosened", "setting", "longest_variance", "90 days", "no limit")


def test_a_metric_print_counts_by_itself(read: Read) -> None:
    """Of `stricter: lower`, 3,200 kg is more than 3,175 kg, though the US figure stays."""
    text = BOOK.replace("value: 7000 lb", "value: 7000 lb, metric_print: 3175 kg")
    (found,) = differences(read(text), read(text.replace("3175", "3200")))
    assert (found.effect, found.kind) == ("loosened", "figure")


def test_the_shipped_rules_do_not_differ_from_themselves() -> None:
    assert differences(shipped_rules(), shipped_rules()) == []


def test_a_place_that_amends_with_the_same_figure_is_a_difference(read: Read) -> None:
    """A trip of which nobody knows whether it goes there is undecided by it."""
    law = change("7000 lb", "from: 2026-07-01", UTAH, "source: utah, at: s. 1")
    (found,) = differences(read(BOOK), read(BOOK, law))
    assert (found.effect, found.kind, found.place) == ("may be loosened", "figure", "US-UT")
    assert found.rules == {"weight"}
    assert found.figures_change == {date(2026, 7, 1)}


def test_another_mapping_of_logs_is_named(tmp_path: Path) -> None:
    """Hauls may be read otherwise by it, so what it does to outcomes is not certain."""
    (tmp_path / "columns.yaml").write_text("kind: haul-log\n")
    before = read_settings(tmp_path)
    (tmp_path / "cinchbook.yaml").write_text("kind: settings\ncolumns: columns.yaml\n")
    (found,) = setting_differences(before, read_settings(tmp_path))
    assert (found.name, found.effect) == ("columns", Effect.UNCERTAIN)
