"""Which fields a row waits for, which subject and which print decide: hand-made rules and loads.

The expected values follow from the sentences of `evaluator.py` and the figures beside each test.
"""

import json
from collections.abc import Callable, Mapping
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from msgspec.structs import replace

from checker.documents.problems import DataPath
from checker.evaluation.check import check
from checker.evaluation.evaluator import evaluators
from checker.evaluation.rule_rows import VERDICTS, RuleRows
from checker.facts.unmarked import UnmarkedRating, UnmarkedRatings
from checker.facts.view import Facts
from checker.load.build import read_profile
from checker.load.model import Load
from checker.rulebooks.model import Rulebooks
from checker.rulebooks.rule_text import Side
from tests.evaluation.test_check import Book, only
from tests.small_rules import rule, threshold

DAY = date(2026, 5, 14)
LB = 4.4482216152605  # N, exact
KG = 9.80665  # N, weight of a kilogram in standard gravity
NAN = np.nan
Build = Callable[[Mapping[str, Any], Mapping[DataPath, Any]], Load]

IN_GAP = "3.045 m"
"""A length between the two figures of `BOTH_PRINTS`: 10 ft are 3.048 m."""
BOTH_PRINTS = (
    "thresholds: {limit: {stricter: lower, values: [{value: 10 ft, metric_print: 3.04 m, "
    "from: 2015-10-01, source: print, at: p}]}}"
)
GVWR = ("trailer", "gvwr")
INTERSTATE = ("trip", "interstate")


@pytest.fixture
def built(tmp_path: Path) -> Build:
    """The load of plain data, with a value for each row in some fields."""

    def build(data: Mapping[str, Any], rows: Mapping[DataPath, Any]) -> Load:
        file = tmp_path / "rows.yaml"
        file.write_text(json.dumps({"kind": "load", **data}))
        return read_profile(file).load({path: np.array(values) for path, values in rows.items()})

    return build


def the_rule(load: Load, books: Rulebooks, *, corners: int = 1) -> RuleRows:
    (found,) = evaluators(load, books, DAY, corners=corners).rule_rows()
    return found


def waits(found: RuleRows) -> dict[str, list[bool]]:
    """Each missing field with the rows that wait for it."""
    rows = found.verdicts.size
    return {
        field: np.broadcast_to(where, (rows,)).tolist() for field, where in found.missing().items()
    }


def test_what_a_rule_requires_is_asked_for_only_where_it_is_known_to_apply(
    built: Build, rulebook: Book
) -> None:
    books = rulebook(
        rule("trailer.gvwr <= limit", more=f"when: trip.interstate\n  {threshold('7000 lb')}")
    )
    data = {"trailer": {"gvwr": "7000 lb"}, "trip": {"interstate": "yes"}}
    rows = {INTERSTATE: [NAN, 1.0, 0.0, NAN], GVWR: [NAN, NAN, NAN, 7000 * LB]}
    found = the_rule(built(data, rows), books)
    assert [VERDICTS[code].value for code in found.verdicts] == [
        "not stated",
        "not stated",
        "does not apply",
        "not stated",
    ]
    assert waits(found) == {
        "trip.interstate": [True, False, False, True],
        "trailer.gvwr": [False, True, False, False],
    }
    # The same as a check, in its only row.
    alone = check(built({}, {}), books, DAY)
    assert only(alone).missing == ("trip.interstate",)


def test_a_field_is_missing_where_any_corner_waits_for_it(built: Build, rulebook: Book) -> None:
    books = rulebook(rule("trailer.gvwr <= limit", more=threshold("7000 lb")))
    # Three rows in the first corner, then the same three in the second.
    fine = 7000 * LB
    rows = {GVWR: [fine, NAN, fine, NAN, fine, fine]}
    found = the_rule(built({"trailer": {"gvwr": "7000 lb"}}, rows), books, corners=2)
    assert [VERDICTS[code].value for code in found.verdicts] == ["not stated", "not stated", "met"]
    assert waits(found) == {"trailer.gvwr": [True, True, False]}


def test_of_equal_subjects_the_first_decides_and_it_alone_is_asked_about(
    built: Build, rulebook: Book
) -> None:
    books = rulebook(
        rule("article.weight <= limit", more="for_each: article\n  " + threshold("1000 lb"))
    )
    for stated, missing in (({"weight": "900 lb"}, ()), ({}, ("articles.1.weight",))):
        articles = [{"name": name, **stated} for name in ("first", "second", "third")]
        finding = only(check(built({"articles": articles}, {}), books, DAY))
        assert finding.subject is not None
        assert finding.subject.name == "first"
        assert finding.missing == missing


def test_where_the_trip_goes_is_asked_for_where_that_decides_whether_a_rulebook_holds(
    built: Build, rulebook: Book
) -> None:
    books = rulebook(rule("trailer.gvwr <= limit", more=threshold("7000 lb")))
    (book,) = books.books
    in_utah = replace(books, books=(replace(book, jurisdiction="US-UT"),))
    load = built({"trailer": {"gvwr": "7000 lb"}}, {})
    assert only(check(load, in_utah, DAY)).missing == ("trip.places",)
    assert only(check(load, books, DAY)).missing == ()


class TestScopeInTwoPrints:
    """A rulebook for trailers rated from 10,000 lb, printed as 4,500 kg, which are 9,921 lb."""

    HEAD = """
    applies:
      when: trailer.gvwr >= heavy
      thresholds:
        heavy: {stricter: lower, values: [{value: 10000 lb, metric_print: 4500 kg,
          from: 2015-10-01, source: print, at: p}]}
      because: only heavy trailers
      source: print
      at: p
      proofs: [{name: a, given: {}, expect: not stated, origin: hand}]
    """

    @pytest.mark.parametrize(
        ("gvwr", "verdict"),
        [
            ("9930 lb", "does not apply"),
            ("4504 kg", "not met"),  # 9,930 lb, stated by the metric plate
            ("4499 kg", "does not apply"),
            ("10000 lb", "not met"),
        ],
    )
    def test_a_metric_plate_is_held_against_the_metric_figure(
        self, built: Build, rulebook: Book, gvwr: str, verdict: str
    ) -> None:
        books = rulebook(rule("trailer.breakaway_fitted"), self.HEAD)
        load = built({"trailer": {"gvwr": gvwr, "breakaway_fitted": "no"}}, {})
        assert only(check(load, books, DAY)).verdict.value == verdict

    def test_each_row_by_its_own_print_in_all_its_corners(
        self, built: Build, rulebook: Book
    ) -> None:
        books = rulebook(rule("trailer.breakaway_fitted"), self.HEAD)
        rows = {GVWR: [kg * KG for kg in (4504, 4400, 5000)] * 2}
        load = built({"trailer": {"gvwr": "4504 kg", "breakaway_fitted": "no"}}, rows)
        found = the_rule(load, books, corners=2)
        assert [VERDICTS[code].value for code in found.verdicts] == [
            "not met",
            "does not apply",
            "not met",
        ]


def test_the_print_that_decides_says_whether_it_is_known_to_apply(
    built: Build, rulebook: Book
) -> None:
    """By the figure in feet the rule does not apply, by the metric one only the trip decides."""
    when = "when: article.length >= limit and trip.interstate"
    requires = "article.weight >= least"
    books = rulebook(
        rule(requires, more=f"for_each: article\n  {when}\n  {BOTH_PRINTS}").replace(
            "}]}}",
            "}]}, least: {stricter: higher, values: [{value: 1 lb, from: 2015-10-01, "
            "source: print, at: p}]}}",
        )
    )
    finding = only(check(built({"articles": [{"length": IN_GAP}]}, {}), books, DAY))
    assert finding.metric_print
    assert finding.missing == ("trip.interstate",)


def test_one_field_in_metric_units_is_enough_for_the_metric_figure(
    built: Build, rulebook: Book
) -> None:
    """The length is stated in metres, the other field of the rule in pounds."""
    requires = "article.length <= limit and article.weight > 0 * article.weight"
    books = rulebook(rule(requires, more=f"for_each: article\n  {BOTH_PRINTS}"))
    load = built({"articles": [{"length": IN_GAP, "weight": "900 lb"}]}, {})
    assert only(check(load, books, DAY)).verdict.value == "not met"


def test_facts_are_used_again_only_with_the_table_of_the_rulebooks(
    built: Build, rulebook: Book
) -> None:
    """Facts of another table of unmarked devices may rate a device that this one does not."""
    books = rulebook(rule("tiedown.can_be_tightened", more="for_each: tiedown"))
    load = built({"articles": [{"weight": "1 lb"}]}, {})
    row = UnmarkedRating("webbing", None, 0.05, None, 1000.0)
    same, other = Facts(load, books.unmarked_on(DAY)), Facts(load, UnmarkedRatings((row,)))
    assert evaluators(load, books, DAY, facts=same).facts is same
    assert evaluators(load, books, DAY, facts=other).facts.unmarked == UnmarkedRatings()
    another_load = built({"articles": [{"weight": "2 lb"}]}, {})
    assert evaluators(another_load, books, DAY, facts=same).facts.load is another_load


@pytest.mark.parametrize(
    ("requires", "below", "above"),
    [
        ("limit <= trailer.gvwr <= 2 * limit", [True, False, False], [False, False, True]),
        # Under a `not` the comparison is the opposite one.
        ("not (trailer.gvwr < limit)", [True, False, False], [False, False, False]),
        # What has to equal its limit is on neither side.
        ("trailer.gvwr == limit", [False, False, False], [False, False, False]),
    ],
)
def test_broken_rows_are_on_a_side_of_their_limit(
    built: Build, rulebook: Book, requires: str, below: list[bool], above: list[bool]
) -> None:
    """4,900, 5,000 and 10,100 lb against 5,000 lb, or 5,000 to 10,000 lb."""
    books = rulebook(rule(requires, more=threshold("5000 lb")))
    rows = {GVWR: [weight * LB for weight in (4900, 5000, 10100)]}
    found = the_rule(built({"trailer": {"gvwr": "5000 lb"}}, rows), books)
    assert found.broken_on(Side.BELOW).tolist() == below
    assert found.broken_on(Side.ABOVE).tolist() == above
