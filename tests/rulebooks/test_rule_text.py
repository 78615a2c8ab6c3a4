"""Texts of rules: figures in force, the side of the limit, and what shipped rules declare."""

from pathlib import Path

import pytest

from checker.documents.problems import ProblemsFoundError
from checker.documents.schemas import RULES, schema
from checker.rulebooks.loading import load_rulebooks
from checker.rulebooks.rule_text import figure, unknown_names, with_figures
from checker.rulebooks.unread_subjects import SUBJECTS
from tests.shipped import shipped_rules

NO_LAW_OF_THE_ROAD = {"us-loading-site", "us-intrastate"}
"""Rulebooks whose law is none of the subjects: a workplace rule, and a question about other law."""
FROM_MEMORY_ALONE = {"ca-nl", "ca-ns"}
"""Places of law tables of whose law nobody read a text with a rule in it."""


@pytest.mark.parametrize(
    ("text", "printed"),
    [
        ("3000 lb", "3,000 lb"),
        ("26001 lb", "26,001 lb"),
        ("50 mi", "50 mi"),
        ("1 7/8 in", "1 7/8 in"),
        ("0.3048 m", "0.3048 m"),
    ],
)
def test_a_figure_is_printed_as_sentences_do(text: str, printed: str) -> None:
    assert figure(text) == printed
    assert with_figures("at most {most}.", {"most": figure(text)}) == f"at most {printed}."


def test_a_figure_that_is_not_known_is_named() -> None:
    assert with_figures("within {first_stop}", {}) == "within the first stop"


def test_a_name_that_is_no_threshold_is_a_problem_with_a_suggestion() -> None:
    ((found, wanted, near),) = unknown_names("within {distanse}", ["distance"])
    assert "'{distanse}'" in found
    assert wanted == "a threshold of the rule in the braces: distance"
    assert near == "'{distance}'"


def test_the_problem_has_its_line(tmp_path: Path) -> None:
    (tmp_path / "own.yaml").write_text(
        "kind: rulebook\nid: own\ntitle: Own\njurisdiction: any\nproved_on: 2026-06-01\nrules:\n"
        "  - id: own-speed\n    title: Speed within {fastist}\n    question: trip\n"
        "    requires: trip.speed <= fastest\n    thresholds:\n      fastest:\n"
        "        stricter: lower\n        values:\n"
        "          - {value: 50 mph, from: 2026-01-01, common_practice: yes}\n"
        "    common_practice: yes\n    basis: common practice\n    level: should\n"
        "    because: Own.\n    fix: Slow down.\n    proofs:\n"
        "      - {name: at it, given: {trip.speed: 50 mph}, expect: met, origin: equal}\n"
    )
    with pytest.raises(ProblemsFoundError, match=r"own\.yaml:8:.*'\{fastist\}'.*'\{fastest\}'"):
        load_rulebooks(tmp_path)


def test_every_name_in_braces_of_a_shipped_rule_prints_a_figure() -> None:
    for rule in (rule for book in shipped_rules().books for rule in book.rules):
        for text in (rule.title, rule.because, rule.when_broken(), rule.fix_for(None)):
            assert "{" not in text, rule.id


def test_subjects_are_those_of_the_schema() -> None:
    stated = schema(RULES)["$defs"]["rulebook"]["properties"]["subjects"]["items"]["enum"]
    assert tuple(stated) == SUBJECTS


@pytest.mark.parametrize(
    "book",
    [
        book
        for book in shipped_rules().books
        if book.jurisdiction != "any" and any(rule.basis == "law" for rule in book.rules)
    ],
    ids=lambda book: book.id,
)
def test_every_rulebook_of_law_says_on_which_subjects(book: object) -> None:
    assert book.subjects or book.id in (  # type: ignore[attr-defined]
        NO_LAW_OF_THE_ROAD | FROM_MEMORY_ALONE
    )


def test_rules_of_practice_say_how_they_read_when_broken() -> None:
    musts = [
        rule
        for book in shipped_rules().books
        if book.jurisdiction == "any"
        for rule in book.rules
        if rule.level == "must"
    ]
    without = [rule.id for rule in musts if not rule.text.broken]
    assert without == []
