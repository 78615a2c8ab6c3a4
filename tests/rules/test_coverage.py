"""The list of federal paragraphs is whole, and rules and paragraphs name each other."""

import re
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from checker.rulebooks.coverage import CARRIED, coverage_gaps
from checker.rulebooks.model import Coverage, Paragraph, Rule, Rulebook, Rulebooks

if TYPE_CHECKING:
    from checker.rulebooks.citations import Citation

INDEX = Path(__file__).parent.parent / "reference" / "us-clause-index.txt"
"""49 CFR 393.100 to 393.136, every clause of the 2015 annual edition in the order of the print."""

SUBPART = re.compile(r"393\.1[0-3]\d\b")
PRINTED = re.compile(r"\b\d{3,4}\.\d+(?:\([a-zA-Z0-9]+\))*")
"""A paragraph as printed, without sentence, table and footnote marks: 393.104(e)(1)."""


@pytest.fixture(scope="session")
def coverage(books: Rulebooks) -> Coverage:
    (listed,) = [each for each in books.coverages if each.jurisdiction == "US"]
    return listed


@pytest.fixture(scope="session")
def us_books(books: Rulebooks) -> list[Rulebook]:
    """Books of the United States and of its single states that the federal text names."""
    named = ("us-size-hawaii",)
    return [book for book in books.books if book.jurisdiction == "US" or book.id in named]


@pytest.fixture(scope="session")
def us_rules(us_books: list[Rulebook]) -> dict[str, Rule]:
    return {rule.id: rule for book in us_books for rule in book.rules}


@pytest.fixture(scope="session")
def carried(coverage: Coverage) -> list[Paragraph]:
    """Paragraphs that rules carry."""
    return [each for each in coverage.paragraphs if each.home in CARRIED]


def printed(text: str | None) -> set[str]:
    return set(PRINTED.findall(text or ""))


def cited(rule: Rule) -> set[str]:
    """Paragraphs that a rule and its thresholds cite."""
    citations: list[Citation] = [rule.citation]
    citations += [value.citation for each in rule.thresholds.values() for value in each.values]
    return {paragraph for citation in citations for paragraph in printed(citation.at)}


def under(part: str, head: str) -> bool:
    """Whether a paragraph is the other or one of its parts."""
    return part == head or part.startswith(f"{head}(")


def related(one: str, other: str) -> bool:
    """Whether two printed paragraphs are the same, or one is a part of the other."""
    section = one.partition("(")[0] == other.partition("(")[0]
    return section and (under(one, other) or under(other, one))


def test_the_subpart_is_listed_clause_by_clause(coverage: Coverage) -> None:
    index = INDEX.read_text(encoding="utf-8").split("\n")[:-1]
    assert len(index) == 406
    assert [p.id for p in coverage.paragraphs if SUBPART.match(p.id)] == index


def test_the_other_parts_are_listed_too(coverage: Coverage) -> None:
    """As many as the tables of the text as read have rows, joint rows told apart.

    Beside those stand the paragraphs that were not read: 1 of 383, 94 of 393, 6 of other parts.
    """
    counted = {
        r"383\.": 16 + 1,
        r"39[02]\.(?!21)|393\.1\(|571\.": 46,
        r"393\.(?!1\(|1[0-3]\d)": 115 + 94,
        r"350\.|390\.21|391\.|396\.": 6,
        r"23 CFR 658\.": 17,
        r"29 CFR 1926\.": 18,
    }
    found = {part: sum(bool(re.match(part, p.id)) for p in coverage.paragraphs) for part in counted}
    assert found == counted
    assert len(coverage.paragraphs) == 406 + sum(counted.values())


def test_every_section_of_part_393_is_listed(coverage: Coverage) -> None:
    """Sections of the part as its table of contents has them, cargo securement told above."""
    sections = [1, 3, 5, 7, 9, 11, 13, 17, 19, 22, *range(23, 27), 28, 30, *range(40, 46)]
    sections += [47, 48, 49, 50, 51, 52, 53, 55, 60, 61, 62, 65, 67, 68, 69, 70, 71]
    sections += [*range(75, 85), *range(86, 92), 93, 94, 95, 201, 203, 205, 207, 209]
    listed = {p.id.split("(")[0].split(" ")[0] for p in coverage.paragraphs}
    assert [each for each in sections if f"393.{each}" not in listed] == []


def test_a_paragraph_is_listed_once(coverage: Coverage) -> None:
    ids = [each.id for each in coverage.paragraphs]
    assert sorted(set(ids)) == sorted(ids)


def test_nothing_is_left_without_a_home(coverage: Coverage, books: Rulebooks) -> None:
    assert [gap.text for gap in coverage_gaps(coverage, books)] == []
    assert "not covered" not in {each.home for each in coverage.paragraphs}


def test_a_carried_paragraph_names_a_rule_that_cites_it(
    carried: list[Paragraph], us_rules: dict[str, Rule]
) -> None:
    assert len(carried) > 150
    for paragraph in carried:
        assert paragraph.rules, paragraph.id
        (own,) = printed(paragraph.id)
        for name in paragraph.rules:
            assert name in us_rules, paragraph.id
            assert any(related(own, each) for each in cited(us_rules[name])), (paragraph.id, name)


def test_a_paragraph_no_rule_carries_says_why(coverage: Coverage) -> None:
    for paragraph in coverage.paragraphs:
        if paragraph.home not in CARRIED:
            assert len(paragraph.reason or "") > 10, paragraph.id
            assert not paragraph.rules, paragraph.id


def test_every_federal_rule_carries_a_paragraph(
    carried: list[Paragraph], us_rules: dict[str, Rule]
) -> None:
    named = {name for paragraph in carried for name in paragraph.rules}
    assert sorted(set(us_rules) - named) == []


def test_every_paragraph_a_federal_rule_cites_is_listed(
    coverage: Coverage, us_books: list[Rulebook], us_rules: dict[str, Rule]
) -> None:
    listed = {each for paragraph in coverage.paragraphs for each in printed(paragraph.id)}
    scopes = [book.scope for book in us_books if book.scope]
    for rule in us_rules.values():
        assert cited(rule), rule.id
    for rule in [*us_rules.values(), *scopes]:
        for paragraph in cited(rule):
            assert any(under(each, paragraph) for each in listed), (rule.id, paragraph)
