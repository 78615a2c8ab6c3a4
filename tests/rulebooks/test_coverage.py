"""Coverage of a law: what counts as a home, and what is told when one is missing."""

from pathlib import Path

import pytest

from checker.rulebooks.coverage import coverage_gaps
from checker.rulebooks.loading import load_rulebooks

SOURCES = """
kind: sources
sources:
  - {id: law, title: The Law, issuer: a test, edition: first, jurisdiction: US,
     read_as: text seen, look_again: 2030-01-01}
"""
BOOK = """
kind: rulebook
id: book
title: A book
jurisdiction: US
proved_on: 2026-01-01
rules:
  - id: us-one
    title: A rule
    question: limits
    requires: trailer.breakaway_fitted
    source: law
    at: "393.43(d)(1), 393.40"
    basis: law
    level: must
    because: it is so
    fix: mend it
    proofs: [{name: a, given: {}, expect: not stated, origin: hand}]
"""
COVERAGE = """
kind: coverage
jurisdiction: US
title: The Law, part 393
source: law
paragraphs:
  - {id: "393.40", home: answered question, rules: [us-one]}
  - {id: "393.43(d) s1", home: computed rule, rules: [us-one]}
  - {id: "393.43(d)(1)", home: computed rule, rules: [us-one]}
  - {id: "393.5", home: scope decision, reason: definitions}
"""


def told(tmp_path: Path, coverage: str) -> list[str]:
    (tmp_path / "sources.yaml").write_text(SOURCES)
    (tmp_path / "book.yaml").write_text(BOOK)
    (tmp_path / "coverage.yaml").write_text(coverage)
    rulebooks = load_rulebooks(tmp_path)
    (listed,) = rulebooks.coverages
    return [gap.text for gap in coverage_gaps(listed, rulebooks)]


def test_a_law_with_a_home_for_each_paragraph_has_no_gap(tmp_path: Path) -> None:
    assert told(tmp_path, COVERAGE) == []


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (
            'rules: [us-one]}\n  - {id: "393.43(d) s1',
            'rules: [us-on]}\n  - {id: "393.43(d) s1',
            "393.40 names the rule 'us-on', which is not one",
        ),
        (
            '"393.40", home: answered question, rules: [us-one]',
            '"393.40", home: not covered, reason: nobody asked',
            "393.40 has no home: nobody asked",
        ),
        (
            'rules: [us-one]}\n  - {id: "393.43(d) s1',
            'rules: []}\n  - {id: "393.43(d) s1',
            "393.40 names no rule that carries it",
        ),
        ('"393.5"', '"393.40"', "393.40 is listed twice"),
        ('"393.43(d)(1)"', '"393.43(d)(2)"', "us-one cites 393.43(d)(1), which is not in the list"),
    ],
)
def test_what_is_missing_is_told(tmp_path: Path, old: str, new: str, said: str) -> None:
    assert old in COVERAGE
    assert told(tmp_path, COVERAGE.replace(old, new, 1)) == [said]
