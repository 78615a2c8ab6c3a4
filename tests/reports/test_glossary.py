"""Reports use the trade's words of the place, and touch nothing that others wrote."""

import json
from pathlib import Path

import pytest

from checker.documents.jurisdiction_codes import code_fault
from checker.facts.catalogue import catalogue
from checker.reports.shared.glossary import WORDS_BY_PLACE, words_of_place
from checker.reports.shared.place_words import facts_in_words, rulebooks_in_words
from tests.calling import call
from tests.shipped import shipped_rules

OVER = """\
kind: load
title: Tongue weight and tiedowns
note: "Tiedowns as on the tongue sheet."
articles: [{title: tiedown box, weight: 1500 kg, placed: {x: 2 m}, cg: {x: 1 m}, length: 2 m}]
trailer: {coupling: ball, gvwr: 2000 kg, empty_weight: 700 kg, empty_tongue_weight: 60 kg}
tiedowns: []
"""


@pytest.mark.parametrize(
    ("place", "text", "local"),
    [
        # abroad, the rows `words` of each place
        ("GB", "Coupler rated for the tongue weight", "Coupler rated for the nose weight"),
        ("GB", "A ball for the trailer's GVWR", "A ball for the trailer's MAM"),
        ("AU", "Tongue weight in range", "Tow ball download in range"),
        ("AU-NSW", "the trailer's GVWR or a GVWR", "the trailer's ATM or a GVM"),
        ("NZ", "Tongue weight", "Tow ball weight"),
        ("DE", "gvwr and tongue weight", "zGM and coupling load"),
        ("FR", "Tiedowns", "Lashings"),
        ("PL", "tongue weight", "coupling load"),
        ("CH", "TIEDOWNS - is it tied down right?", "LASHINGS - is it tied down right?"),
        ("IE", "the coupler's tongue rating", "the coupler's nose weight rating"),
        ("GB", "Then weigh the tongue again.", "Then measure the nose weight again."),
        ("AU", "More on the tongue. Tongue lifts", "More on the coupling. Drawbar lifts"),
        ("AU", "a pickup", "a ute"),
        ("CA-QC", "GVWR, tiedown", "PNBV, tiedown"),
        # North America has the words that the rules are written in, and so has a place not listed
        ("US-KS", "Tongue weight, tiedown, GVWR", "Tongue weight, tiedown, GVWR"),
        ("CA-ON", "Tongue weight, tiedown, GVWR", "Tongue weight, tiedown, GVWR"),
        ("JP", "Tongue weight, tiedown, GVWR", "Tongue weight, tiedown, GVWR"),
        (None, "Tongue weight, tiedown, GVWR", "Tongue weight, tiedown, GVWR"),
    ],
)
def test_each_place_has_its_words(place: str | None, text: str, local: str) -> None:
    assert words_of_place(place)(text) == local


@pytest.mark.parametrize(
    "text",
    [
        'the rule says "each tiedown" holds',
        "run `tongue weight`",
        "at least {tiedown} of them",
        "trailer.gvwr and tow_vehicle.gvwr and hitch.tongue_weight",
        "loads/tongue.yaml:3 and tiedown.yaml",
        "one-tiedown-is-a-pivot, tongue-share-ball",
        "tiedowns.1.path, tiedowns.*.anchor",
        "tongues and tiedowners",
    ],
)
def test_what_is_quoted_or_a_name_stays(text: str) -> None:
    assert words_of_place("GB")(text) == text


def test_every_place_is_one() -> None:
    assert [code_fault(each, anywhere=False) for each in WORDS_BY_PLACE] == [None] * len(
        WORDS_BY_PLACE
    )


@pytest.mark.parametrize("place", ["GB", "AU", "DE"])
def test_rules_differ_in_what_is_printed_alone(place: str) -> None:
    words, books = words_of_place(place), shipped_rules().books
    local = rulebooks_in_words(shipped_rules(), words).books
    assert local != books
    for here, there in zip(local, books, strict=True):
        assert (here.id, here.digest, here.file) == (there.id, there.digest, there.file)
        for rule, other in zip(here.rules, there.rules, strict=True):
            assert (rule.id, rule.requires, rule.when, rule.thresholds, rule.citation) == (
                other.id,
                other.requires,
                other.when,
                other.thresholds,
                other.citation,
            )
            assert list(rule.shows.values()) == list(other.shows.values())
            assert "tongue" not in rule.title.lower()
            assert "tiedown" not in rule.title.lower()
    facts = facts_in_words(words)
    assert facts.keys() == catalogue().keys()
    assert all(facts[name].name == name for name in facts)


def test_american_rules_are_the_same_objects() -> None:
    assert rulebooks_in_words(shipped_rules(), words_of_place("US-UT")) is shipped_rules()
    assert facts_in_words(words_of_place("US-UT")) is catalogue()


def test_a_rating_is_called_what_its_label_calls_it() -> None:
    facts = facts_in_words(words_of_place("AU"))
    assert (facts["trailer.gvwr"].label, facts["tow_vehicle.gvwr"].label) == ("ATM", "GVM")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A load for each of two places, and rules of a company."""
    for place in ("GB", "US"):
        text = f"{OVER}trip: {{places: [{place}], date: 2026-05-18}}\n"
        (tmp_path / f"{place}.yaml").write_text(text, encoding="utf-8")
    return tmp_path


def test_ids_verdicts_and_figures_are_those_of_other_places(folder: Path) -> None:
    found = {}
    for place in ("GB", "US"):
        rules = ("--rules", "placement", "--rules", "four-point-tiedown", "--rules", "coupling")
        done = call(
            folder, "check", f"{place}.yaml", *rules, "--as", "json", "--units", "us", "--full"
        )
        (load,) = json.loads(done.stdout)["loads"]
        found[place] = [
            (
                each["rule"],
                each["verdict"],
                each["margin"],
                each["comparison"],
                each["missing"],
                [(fact["name"], fact["value"], fact["from"][:0]) for fact in each["facts"]],
                each["thresholds"],
                each["source"],
            )
            for each in load["findings"]
        ]
    assert found["GB"] == found["US"]


@pytest.mark.parametrize("form", ["text", "html", "markdown", "junit", "sarif", "csv", "json"])
def test_every_form_has_the_words_of_the_place(folder: Path, form: str) -> None:
    rules = ("--rules", "four-point-tiedown")
    how = {"text": ("--full",), "json": ("--as", "json")}.get(form, ("--write", f"{form}=-"))
    british, american = (
        " ".join(call(folder, "check", f"{place}.yaml", *rules, *how, COLUMNS="200").stdout.split())
        for place in ("GB", "US")
    )
    assert "A lashing at each of the four corners" in british
    assert "A tiedown at each of the four corners" in american
    assert "lashing" not in american
    # what the crew wrote
    if form != "sarif":  # which names files alone
        assert "Tongue weight and tiedowns" in british
    if form in ("text", "html"):
        assert "Tiedowns as on the tongue sheet." in british


def test_rules_of_a_company_are_left_as_written(folder: Path) -> None:
    (folder / "own.yaml").write_text(
        """\
kind: rulebook
id: own
title: Tiedowns of the yard
jurisdiction: any
proved_on: 2026-01-01
rules:
  - id: own-rule
    title: Tongue and tiedowns as the yard has them
    question: tiedowns
    requires: trailer.gvwr <= limit
    thresholds:
      limit: {stricter: lower, values: [{value: 1 kg, from: 2015-10-01, common_practice: yes}]}
    common_practice: yes
    basis: common practice
    level: must
    because: Tiedowns are ours.
    fix: Use our tiedowns.
    proofs:
      - {name: at, given: {trailer.gvwr: 1 kg}, expect: met, origin: hand}
""",
        encoding="utf-8",
    )
    done = call(folder, "check", "GB.yaml", "--rules", "own.yaml")
    assert "Tongue and tiedowns as the yard has them" in done.stdout
    assert "Use our tiedowns." in done.stdout


def test_explanations_and_advice_have_the_words_of_the_place(folder: Path) -> None:
    rule = "tongue-share-ball"
    done = call(folder, "explain", "GB.yaml", rule, COLUMNS="200")
    assert "nose weight in the right share" in done.stdout
    assert '"nose weight" / "gross weight' in done.stdout.replace("hitch.tongue_weight", "")
    assert f"Id: {rule}" in done.stdout
