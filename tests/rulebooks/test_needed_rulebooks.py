"""Rulebooks of places a trip does not touch: a check comes to the same without reading their rules.

What is expected of the small books below is worked out by hand.
"""

import subprocess
from datetime import date
from pathlib import Path

import pytest

from checker.cli.chosen_rules import read_rules
from checker.documents.resources import shipped_folder
from checker.evaluation.check import check
from checker.evaluation.evaluator import evaluate
from checker.evaluation.strictness import FailOn
from checker.evaluation.tolerances import check_profile
from checker.load.build import read_load, read_profile
from checker.reports.check_forms.json import report
from checker.reports.shared.check_results import CheckedLoad, CheckRun
from checker.rulebooks.loading import load_rulebooks
from checker.rulebooks.model import Rulebooks
from checker.rulebooks.needed_rulebooks import Trips
from checker.units.formatting import US
from tests.calling import call
from tests.shipped import shipped_rules

DAY = date(2026, 5, 18)
LOAD = (
    "kind: load\ntrailer: {{gvwr: 2990 lb}}\narticles: [{{weight: 1 lb}}]\ntrip: {{{trip}}}\n{more}"
)
RULES = """
rules:
  - id: weight-{place}
    title: Not too heavy
    question: limits
    requires: trailer.gvwr <= most
    thresholds:
      most: {{stricter: lower, values: [{{value: {most}, from: 2020-01-01, common_practice: yes}}]}}
    common_practice: yes
    basis: common practice
    level: should
    because: It is so.
    fix: Mend it.
    proofs: [{{name: none, given: {{}}, expect: not stated, origin: hand}}]
"""


def book(place: str, most: str = "3000 lb") -> str:
    small = place.lower()
    head = f"kind: rulebook\nid: book-{small}\ntitle: A book of {place}\njurisdiction: {place}\n"
    return f"{head}proved_on: 2026-01-01\n" + RULES.format(place=small, most=most)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Two books, one of Utah and one of Canada."""
    (tmp_path / "rules").mkdir()
    (tmp_path / "rules" / "utah.yaml").write_text(book("US-UT"))
    (tmp_path / "rules" / "canada.yaml").write_text(book("CA"))
    return tmp_path


def load_file(folder: Path, trip: str = "places: [US-UT]", more: str = "") -> Path:
    file = folder / "load.yaml"
    file.write_text(LOAD.format(trip=trip, more=more))
    return file


def called(folder: Path, *words: str) -> subprocess.CompletedProcess[str]:
    return call(folder, *words, NO_COLOR="1", COLUMNS="100")


def rulebook_without_rules(rulebooks: Rulebooks) -> set[str]:
    return {book.id for book in rulebooks.books if book.rules_not_read}


@pytest.mark.parametrize(
    "name", ["side-by-side-in-order", "scale-tolerances", "variance-late-first-stop"]
)
def test_a_bundled_load_is_judged_alike(name: str) -> None:
    profile = read_profile(shipped_folder("profiles") / "loads" / f"{name}.yaml")
    loads = [check_profile(profile, read_rules(["shipped"], loads=asked), DAY)
             for asked in ([], [profile.stated])]  # fmt: skip
    texts = [
        report(CheckRun([CheckedLoad(each, {}, US)], [], FailOn.OPEN, 0.05, "0")) for each in loads
    ]
    assert texts[0] == texts[1]
    assert [bool(each.in_force[0].book.rules) for each in loads] == [True, False]  # Australia's


EVERYWHERE = {"placement", "restraint", "towing-mechanics"}
FEDERAL = {"us-federal-securement", "us-federal-vehicle"}


@pytest.mark.parametrize(
    ("places", "needed", "not_needed"),
    [
        (["US-UT"], EVERYWHERE | FEDERAL, {"ca-securement", "us-tx", "gb-towing"}),
        (
            ["CA-ON", "US-TX"],
            FEDERAL | {"ca-securement", "ca-on-towing", "us-tx"},
            {"ca-bc-towing"},
        ),
        (["US"], FEDERAL | {"us-tx", "us-wa"}, {"ca-securement"}),  # some state, not said which
        (["DE"], EVERYWHERE | {"eu-lashings"}, FEDERAL | {"us-tx"}),
        (None, EVERYWHERE | FEDERAL | {"us-tx", "ca-securement", "gb-towing"}, set()),
    ],
)
def test_what_is_read_for_a_trip(
    places: list[str] | None, needed: set[str], not_needed: set[str]
) -> None:
    whole = shipped_rules()
    narrow = load_rulebooks(shipped_folder("rules"), trips=Trips.through([places]))
    assert [(each.id, each.title, each.digest) for each in narrow.books] == [
        (each.id, each.title, each.digest) for each in whole.books
    ]
    left = rulebook_without_rules(narrow)
    assert needed | not_needed <= {each.id for each in whole.books}
    assert needed.isdisjoint(left)
    assert not_needed <= left


def test_the_trips_of_all_loads_count() -> None:
    trips = Trips.through([["US-UT"], ["CA-ON"], ["US-UT"]])
    assert trips.may_touch("US")
    assert trips.may_touch("CA-ON")
    assert trips.may_touch("any")
    assert not trips.may_touch("CA-BC")
    assert not trips.may_touch("EU")


def test_a_broken_book_of_another_place_stops_no_check(folder: Path) -> None:
    broken = book("CA").replace("trailer.gvwr <= most", "trailer.gwr <= most")
    (folder / "rules" / "canada.yaml").write_text(broken)
    file = load_file(folder)
    checked = called(folder, "check", str(file), "--rules", "rules")
    assert "weight-us-ut" in called(folder, "check", str(file), "--rules", "rules", "--full").stdout
    assert "'trailer.gwr'" not in checked.stderr
    assert checked.returncode == 3  # the one rule is met, and no must-rule was
    everything = called(folder, "rulebooks", "--rules", "rules")
    assert everything.returncode == 2
    assert "rules/canada.yaml:11:15: found `trailer.gwr`" in everything.stderr
    there = called(folder, "check", str(load_file(folder, "places: [CA]")), "--rules", "rules")
    assert there.returncode == 2
    assert there.stderr == everything.stderr


@pytest.mark.parametrize(
    ("old", "new", "problem"),
    [
        ("jurisdiction: CA", "jurisdiction: Canada", "4:15: found 'Canada'"),
        ("jurisdiction: CA", "jurisdicton: CA", "4:1: found the key 'jurisdicton'"),
        ("title: A book of CA", "title: 5", "3:8: found the bare number 5"),
        ("kind: rulebook", "kind: rulebok", "1:7: found 'rulebok' as the kind"),
        ("id: book-ca", "id: book-ca\nid: again", "3:1: found the key 'id' a second time"),
        ("rules:", "rulse:", "found the key 'rulse'"),
    ],
)
def test_a_head_that_is_not_understood_is_told(
    folder: Path, old: str, new: str, problem: str
) -> None:
    (folder / "rules" / "canada.yaml").write_text(book("CA").replace(old, new, 1))
    checked = called(folder, "check", str(load_file(folder)), "--rules", "rules")
    assert checked.returncode == 2
    assert problem in checked.stderr


def test_the_same_id_of_two_books_is_told(folder: Path) -> None:
    (folder / "rules" / "canada.yaml").write_text(book("CA").replace("book-ca", "book-us-ut"))
    checked = called(folder, "check", str(load_file(folder)), "--rules", "rules")
    assert "found the id" in checked.stderr


VARIANCE = """\
variances:
  - {{rule: {rule}, from: 2026-01-01, until: 2027-01-01, by: R. Vale, because: It is short.,
      conditions: Drive at 10 mph at most.}}
"""


def test_a_variance_of_a_rule_that_was_left_out_is_no_variance_of_none(folder: Path) -> None:
    file = load_file(folder, more=VARIANCE.format(rule="weight-ca"))
    assert called(folder, "check", str(file), "--rules", "rules").returncode == 3
    file = load_file(folder, more=VARIANCE.format(rule="weight-cq"))
    told_so = called(folder, "check", str(file), "--rules", "rules")
    assert told_so.returncode == 2
    assert "found the rule 'weight-cq'; wanted the id of a rule; did you mean 'weight-ca'?" in (
        told_so.stderr
    )


def test_an_amendment_of_a_rule_that_was_left_out_is_held_against_it(folder: Path) -> None:
    change = (
        "kind: amendment\nid: crew\ntitle: Crew\nlayer: company\njurisdiction: any\nchanges:\n"
        "  - {rule: weight-ca, threshold: most, was: 2500 lb, value: 2400 lb, from: 2026-01-01,\n"
        "     common_practice: yes}\n"
    )
    (folder / "rules" / "crew.yaml").write_text(change)
    checked = called(folder, "check", str(load_file(folder)), "--rules", "rules")
    assert checked.returncode == 2
    assert "another value than the one to be changed; wanted '3000 lb'" in checked.stderr


def test_a_load_is_never_judged_by_a_book_that_was_left_out(folder: Path) -> None:
    rulebooks = load_rulebooks(folder / "rules", trips=Trips.through([["US-UT"]]))
    assert rulebook_without_rules(rulebooks) == {"book-ca"}
    for trip in ("places: [CA]", "places: [US-UT, CA-ON]", "distance: 1 mi"):
        load = read_load(load_file(folder, trip))
        with pytest.raises(ValueError, match="the rules of book-ca were left out"):
            check(load, rulebooks, DAY)
        with pytest.raises(ValueError, match="the rules of book-ca were left out"):
            list(evaluate(load, rulebooks, DAY))


def test_a_variance_of_a_shipped_rule_is_known_beside_own_rules_alone(folder: Path) -> None:
    file = load_file(folder, more=VARIANCE.format(rule="no-such-rule"))
    known = next(
        rule.id for book in shipped_rules().books for rule in book.rules
        if rule.level == "should"
    )  # fmt: skip
    assert called(folder, "check", str(file), "--rules", "rules").returncode == 2
    file = load_file(folder, more=VARIANCE.format(rule=known))
    assert called(folder, "check", str(file), "--rules", "rules").returncode == 3


def test_own_rules_may_cite_shipped_sources(folder: Path) -> None:
    source = next(iter(shipped_rules().sources))
    practice = "    common_practice: yes\n    basis: common practice"
    law = f"    source: {source}\n    at: p. 1\n    basis: law"
    assert practice in book("US-UT")
    (folder / "rules" / "utah.yaml").write_text(book("US-UT").replace(practice, law))
    checked = called(folder, "check", str(load_file(folder)), "--rules", "rules")
    assert (checked.returncode, checked.stderr) == (3, "")
