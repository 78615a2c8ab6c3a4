"""A rulebook whose one rule is plain to meet and to break."""

import pytest

RULEBOOK_TEXT = """
kind: rulebook
id: book
title: A book
jurisdiction: any
proved_on: 2026-01-01
rules:
  - id: gross
    title: Gross rating within the limit
    question: limits
    requires: trailer.gvwr <= limit
    thresholds:
      limit: {stricter: lower, values: [{value: 7000 lb, from: 2015-10-01, common_practice: yes}]}
    common_practice: yes
    basis: common practice
    level: must
    because: It is so.
    fix: Mend it.
    proofs:
      - {name: at, on: 2015-10-01, given: {trailer.gvwr: 7000 lb}, expect: met, origin: hand}
      - {name: over, given: {trailer.gvwr: 7001 lb}, expect: not met, origin: hand}
      - {name: early, on: 2015-09-30, given: {trailer.gvwr: 1 lb}, expect: not stated, origin: hand}
"""


@pytest.fixture
def rulebook_text() -> str:
    """Its text; more rules may follow after it."""
    return RULEBOOK_TEXT
