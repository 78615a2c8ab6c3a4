"""Checks that every paragraph of a law has a home, and every citation a paragraph."""

import re
from collections.abc import Iterator
from dataclasses import dataclass

from checker.rulebooks.citations import Citation, Location
from checker.rulebooks.model import Coverage, Rule, Rulebooks

CARRIED = ("computed rule", "answered question")
"""Homes of paragraphs that rules carry."""


@dataclass(frozen=True, slots=True)
class Gap:
    """A paragraph without a home, a missing rule, or a citation of an unknown paragraph."""

    location: Location
    text: str


def coverage_gaps(coverage: Coverage, rulebooks: Rulebooks) -> Iterator[Gap]:
    """Every gap between a law's paragraphs and the rules of its jurisdiction."""
    rules = {rule.id: rule for book in rulebooks.books for rule in book.rules}
    seen: set[str] = set()
    for paragraph in coverage.paragraphs:
        if paragraph.id in seen:
            yield Gap(paragraph.location, f"{paragraph.id} is listed twice")
        seen.add(paragraph.id)
        if paragraph.home == "not covered":
            yield Gap(paragraph.location, f"{paragraph.id} has no home: {paragraph.reason}")
        if paragraph.home in CARRIED and not paragraph.rules:
            yield Gap(paragraph.location, f"{paragraph.id} names no rule that carries it")
        for name in paragraph.rules:
            if name not in rules:
                yield Gap(
                    paragraph.location, f"{paragraph.id} names the rule '{name}', which is not one"
                )
    listed = {_bare(paragraph.id) for paragraph in coverage.paragraphs}
    for book in rulebooks.books:
        if book.jurisdiction == coverage.jurisdiction:
            for rule in book.rules:
                for cited in sorted(_cited(rule)):
                    if not _stands(cited, listed):
                        yield Gap(
                            rule.location, f"{rule.id} cites {cited}, which is not in the list"
                        )


def _bare(paragraph: str) -> str:
    """A paragraph's id without title, sentence and footnote marks."""
    text = re.sub(r"^(49|23|29) CFR ", "", paragraph)
    return re.split(r" (?:s\d|fn|T\d|CMV|Table|full|semi|special|non|commerce|GCWR|GVWR)", text)[0]


def _cited(rule: Rule) -> set[str]:
    """Paragraph ids in a rule's own citation and those of its thresholds, as written."""
    citations: list[Citation] = [rule.citation]
    citations += [value.citation for each in rule.thresholds.values() for value in each.values]
    found: set[str] = set()
    for citation in citations:
        if citation.source is not None and citation.at:
            found |= set(re.findall(r"\b\d{3,4}\.\d+(?:\([a-zA-Z0-9]+\))*", citation.at))
    return found


def _stands(cited: str, listed: set[str]) -> bool:
    """True if a cited paragraph is listed, or is the head of listed ones."""
    return cited in listed or any(each.startswith(f"{cited}(") for each in listed)
