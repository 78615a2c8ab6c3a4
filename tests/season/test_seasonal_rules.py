"""A rule of each winter in an audit: by hand, 6,800 lb against 7,000 lb, and 6,600 lb in winter."""

from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path

import pytest
from msgspec.structs import replace

from checker.documents.resources import shipped_folder
from checker.evaluation.evaluator import evaluate
from checker.rulebooks.loading import load_rulebooks
from checker.rulebooks.model import Rulebooks
from checker.rulebooks.selection import combine_rulebooks
from checker.season.hauls.chunk import Chunk
from checker.season.hauls.days import turning_days
from checker.season.hauls.loads import Loads
from checker.season.running.part_store import PartStore
from checker.season.running.saved_loads import SavedLoads
from checker.upkeep.review.difference import days_to_try
from checker.upkeep.review.differences import differences

LOADS = shipped_folder("profiles") / "loads"
RULE = """
- id: gross
  title: Gross rating within the limit
  question: limits
  requires: trailer.gvwr <= limit
  thresholds:
    limit:
      stricter: lower
      values: [{value: 7000 lb, from: 2020-01-01, source: print, at: p. 1}]
  source: print
  at: p. 1
  basis: guidance
  level: must
  because: it is so
  fix: mend it
  proofs: [{name: at, given: {trailer.gvwr: 7000 lb}, expect: met, origin: hand}]
"""
WINTER = """
kind: amendment
id: crew
title: Crew
layer: company
jurisdiction: any
changes:
  - {rule: gross, threshold: limit, was: 7000 lb, value: 6600 lb, from: 2026-01-10,
     each_year: {from: 11-01, until: 05-01}, common_practice: yes}
"""


@pytest.fixture
def books(tmp_path: Path, rulebook: Callable[..., Rulebooks]) -> Rulebooks:
    """The rule with its winter value."""
    (tmp_path / "amendments").mkdir()
    (tmp_path / "amendments" / "crew.yaml").write_text(WINTER)
    return combine_rulebooks([rulebook(RULE), load_rulebooks(tmp_path / "amendments")])


def is_winter(day: date) -> bool:
    return day >= date(2026, 1, 10) and not 5 <= day.month < 11


def test_hauls_of_three_years_are_grouped_by_stretches(tmp_path: Path, books: Rulebooks) -> None:
    """A haul on every third day: one group before the rule and one for each stretch of it."""
    first = date(2026, 1, 1)
    days = [first + timedelta(days=step) for step in range(0, 3 * 365, 3)]
    log = tmp_path / "hauls.csv"
    rows = (f"side-by-side-in-order,{day},6800 lb\n" for day in days)
    log.write_text("load,date,trailer.gvwr\n" + "".join(rows))
    with PartStore() as parts:
        loads = Loads(lambda name: LOADS / f"{name}.yaml", None, [books])
        chunks = list(SavedLoads([log], loads, parts).chunks(lambda _: [], lambda day: [day]))
    assert all(isinstance(each, Chunk) for each in chunks)
    # Before 10 January 2026, then winter and summer in turn until the end of 2028.
    assert sorted(each.on.isoformat() for each in chunks) == [
        "2020-01-01",
        "2026-01-10",
        "2026-05-01",
        "2026-11-01",
        "2027-05-01",
        "2027-11-01",
        "2028-05-01",
        "2028-11-01",
    ]
    for chunk in chunks:
        load, _ = chunk.load(books)
        (rows,) = evaluate(load, books, chunk.on)
        broken = bool(rows.broken.all())
        assert {is_winter(date.fromordinal(day)) for day in chunk.days.tolist()} == {broken}


def test_the_days_on_which_rules_change_are_those_around_the_hauls(books: Rulebooks) -> None:
    span = (date(2040, 6, 1), date(2040, 6, 2))
    days = [day.isoformat() for day in turning_days(books, span=span)]
    assert days[:2] == ["2020-01-01", "2026-01-10"]
    assert "2040-05-01" in days
    assert "2040-11-01" in days
    assert len(days) < 12


def test_a_load_of_summer_is_also_tried_on_the_first_day_of_winter(books: Rulebooks) -> None:
    found = differences(replace(books, changes=()), books)
    assert days_to_try(date(2026, 7, 1), found) == [date(2026, 11, 1)]
    winter = [date(2026, 11, 1), date(2026, 12, 1)]
    assert days_to_try(date(2026, 12, 1), found) == winter
