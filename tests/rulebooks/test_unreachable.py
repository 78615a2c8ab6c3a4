"""Conditions that no load meets; expectations are worked out by hand beside each."""

from collections.abc import Callable
from pathlib import Path

import pytest

from checker.rulebooks.loading import load_rulebooks
from checker.rulebooks.unreachable import unreachable

BOOK = """
kind: rulebook
id: book
title: A book
jurisdiction: any
proved_on: 2026-01-01
rules:
  - id: one
    title: A rule
    question: limits
    when: {when}
    requires: trailer.gvwr <= limit or tow_vehicle.seats < few and few < more
    thresholds:
      limit:
        stricter: lower
        values: [{{value: 7000 lb, from: 2015-10-01, source: print, at: p}}]
      few: {{stricter: lower, values: [{{value: 4, from: 2015-10-01, source: print, at: p}}]}}
      more:
        stricter: lower
        values:
          - {{value: 6, from: 2015-10-01, until: 2020-01-01, source: print, at: p}}
          - {{value: {later}, from: 2020-01-01, source: print, at: p}}
    source: print
    at: p
    basis: law
    level: must
    because: it is so
    fix: mend it
    proofs: [{{name: none, given: {{}}, expect: not stated, origin: hand}}]
"""
SOURCES = """
kind: sources
sources:
  - {id: print, title: The Print, issuer: a test, edition: first, jurisdiction: any,
     read_as: text seen, look_again: 2030-01-01}
"""
Dead = Callable[..., bool]


@pytest.fixture
def dead(tmp_path: Path) -> Dead:
    """Whether a rule with this `when` is found dead; `more` is 6, then `later` from 2020."""

    def look(when: str, later: str = "6") -> bool:
        (tmp_path / "sources.yaml").write_text(SOURCES)
        (tmp_path / "book.yaml").write_text(BOOK.format(when=when, later=later))
        (book,) = load_rulebooks(tmp_path).books
        return unreachable(book.rules[0])

    return look


@pytest.mark.parametrize(
    "when",
    [
        "trailer.gvwr >= limit and trailer.gvwr < limit",
        "trailer.gvwr > limit and trailer.gvwr <= limit",
        "trailer.gvwr < limit and trailer.gvwr > 2 * limit",
        "limit < trailer.gvwr < limit",
        "trailer.gvwr == limit and trailer.gvwr > limit",
        "tow_vehicle.seats > more and not tow_vehicle.seats >= few",  # > 6 and < 4
        "few > more",  # 4 > 6
        # One difference of two facts, over and under the same limit.
        "trailer.gvwr - tow_vehicle.gvwr > limit and trailer.gvwr - tow_vehicle.gvwr < limit",
        "trailer.has_brakes and not trailer.has_brakes",
        # Both alternatives contradict themselves.
        "few > more or trailer.has_brakes and trailer.gvwr > limit and limit > trailer.gvwr",
        # not (a or b) is not a and not b: at most 4 and at least 6.
        "not (tow_vehicle.seats > few or tow_vehicle.seats < more)",
    ],
)
def test_a_condition_that_contradicts_itself_is_found(dead: Dead, when: str) -> None:
    assert dead(when)


@pytest.mark.parametrize(
    "when",
    [
        "trailer.gvwr >= limit and trailer.gvwr <= limit",  # 7,000 lb meets both
        "trailer.gvwr >= limit or trailer.gvwr < limit",
        "few <= tow_vehicle.seats < more",
        "few < more",
        "tow_vehicle.seats == few and tow_vehicle.seats >= few",
        "trailer.has_brakes or not trailer.has_brakes",
        "not (tow_vehicle.seats < few and tow_vehicle.seats > more)",
        "not tow_vehicle.seats < few and not tow_vehicle.seats > few",  # 4
        "not few <= tow_vehicle.seats <= more",  # 3, or 7
        # Two facts, which may differ: honest silence.
        "trailer.gvwr >= limit and tow_vehicle.gvwr < limit",
        "trailer.gvwr - tow_vehicle.gvwr > limit and trailer.gvwr < limit + tow_vehicle.gvwr",
    ],
)
def test_a_condition_that_some_load_may_meet_is_left_alone(dead: Dead, when: str) -> None:
    assert not dead(when)


@pytest.mark.parametrize(("later", "expected"), [("6", True), ("4", True), ("3", False)])
def test_a_condition_is_dead_only_where_it_is_so_on_every_day(
    dead: Dead, later: str, *, expected: bool
) -> None:
    """4 > 6 until 2020; then 4 > 6 and 4 > 4 are false too, but 4 > 3 is true."""
    assert dead("few > more", later) is expected
