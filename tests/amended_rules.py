"""A small rulebook with amendments given as text, for tests of what these change."""

from collections.abc import Callable
from datetime import date

import pytest

from checker.documents.problems import ProblemsFoundError
from checker.evaluation.check import Check
from checker.rulebooks.model import Rulebooks
from checker.rulebooks.verdicts import Verdict

SOURCES = """
kind: sources
sources:
  - {id: print, title: The Print, issuer: a test, edition: first, jurisdiction: any,
     read_as: text seen, look_again: 2030-01-01}
  - {id: utah, title: Utah Code, issuer: a test, edition: first, jurisdiction: US-UT,
     read_as: text seen, look_again: 2030-01-01}
  - {id: idaho, title: Idaho Code, issuer: a test, edition: first, jurisdiction: US-ID,
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
    requires: trailer.gvwr <= most
    thresholds:
      most:
        stricter: lower
        values:
          - {value: 7000 lb, from: 2020-01-01, until: 2027-01-01, source: print, at: p. 1}
          - {value: 6500 lb, from: 2027-01-01, source: print, at: p. 2}
    source: print
    at: p. 1
    basis: law
    level: must
    because: it is so
    fix: mend it
    proofs: [{name: none, given: {}, expect: not stated, origin: hand}]
  - id: tyres
    title: Enough tyres
    question: limits
    requires: tow_vehicle.seats >= least
    thresholds:
      least:
        stricter: higher
        values:
          - {value: 4, from: 2020-01-01, common_practice: yes}
    common_practice: yes
    basis: common practice
    level: should
    because: it is so
    fix: mend it
    proofs: [{name: none, given: {}, expect: not stated, origin: hand}]
"""
COMPANY = "id: crew\ntitle: Crew policy\nlayer: company\njurisdiction: any\n"
UTAH = "id: utah-law\ntitle: Utah law\nlayer: place\njurisdiction: US-UT\n"
IDAHO = "id: idaho-law\ntitle: Idaho law\nlayer: place\njurisdiction: US-ID\n"

Amended = Callable[..., Rulebooks]

MARCH = date(2026, 3, 1)


def refused(amended: Amended, *amendments: str) -> list[str]:
    """Each problem as `line:column: found ...`."""
    with pytest.raises(ProblemsFoundError, match="found") as caught:
        amended(*amendments)
    return [
        f"{each.mark.line}:{each.mark.column}: {str(each).partition(': ')[2]}"
        for each in caught.value.problems
    ]


def changed(
    value: str,
    was: str = "7000 lb",
    days: str = "from: 2026-03-01, until: 2027-01-01",
    rest: str = "source: print, at: p. 9",
) -> str:
    where = f"rule: weight, threshold: most, was: {was}, value: {value}"
    return f"changes:\n  - {{{where}, {days}, {rest}}}\n"


def seats(value: str) -> str:
    """A change of the rule that is the trade's practice."""
    where = f"rule: tyres, threshold: least, was: 4, value: {value}"
    return f"changes:\n  - {{{where}, from: 2026-03-01, common_practice: yes}}\n"


def verdict(done: Check, rule: str) -> Verdict:
    (found,) = [each.verdict for each in done.findings if each.rule.id == rule]
    return found
