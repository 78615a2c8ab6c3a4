"""Margins, and what counts as near: hand-made rules and loads, with the arithmetic beside them."""

from datetime import date

import numpy as np
import pytest

from checker.evaluation.check import check
from checker.evaluation.gate import is_near
from checker.evaluation.outcome import Outcome
from checker.evaluation.rule_rows import is_near as rows_near
from tests.evaluation.test_check import Book, only
from tests.evaluation.test_rows import GVWR, INTERSTATE, LB, Build, built, the_rule
from tests.small_rules import rule, threshold

__all__ = ["built"]

DAY = date(2026, 5, 14)
NEAR = 0.05
COUNT = (
    "thresholds: {least: {stricter: higher, values: [{value: 2, from: 2015-10-01, source: print, "
)
COUNT += "at: p}]}}"


@pytest.mark.parametrize(
    ("requires", "more", "near"),
    [
        # 6,900 of 7,000 lb leave 1.4 %.
        ("trailer.gvwr <= limit", threshold("7000 lb"), True),
        ("trailer.gvwr <= limit", threshold("7000 lb") + "\n  usual_at_limit: yes", False),
        # 6,900 of 10,000 lb leave 31 %.
        ("trailer.gvwr <= limit", threshold("10000 lb"), False),
        # Being equal leaves nothing, and is all that is wanted.
        ("trailer.gvwr == tow_vehicle.gvwr", "", False),
        # Two axles where two are wanted: no count is nearly another one.
        ("trailer.axle_count >= least", COUNT, False),
        # Counts beside figures: the comparison that decides says whether it is near.
        ("trailer.axle_count >= least and trailer.gvwr <= tow_vehicle.gcwr", COUNT, True),
    ],
)
def test_met_by_a_small_share_is_near_where_that_says_something(
    built: Build, rulebook: Book, requires: str, more: str, near: bool
) -> None:
    data = {
        "trailer": {"gvwr": "6900 lb", "axles": {"front": {}, "rear": {}}},
        "tow_vehicle": {"gvwr": "6900 lb", "gcwr": "7000 lb"},
    }
    if "gcwr" in requires:
        data["trailer"]["axles"] |= {"third": {}, "fourth": {}}
    finding = only(check(built(data, {}), rulebook(rule(requires, more=more)), DAY))
    assert finding.verdict.value == "met"
    assert is_near(finding, NEAR) is near


def test_near_has_the_tolerance_of_comparisons() -> None:
    """Rounding of a sum, a part in a billion, takes no load over the share."""
    assert rows_near(np.array([0.05 * (1 + 1e-12), 0.0501, np.nan]), NEAR).tolist() == [
        True,
        False,
        False,
    ]


@pytest.mark.parametrize(
    ("axles", "near"),
    [
        # Two axles of two: the count has nothing left and decides, in every row.
        (["front", "rear"], [False, False, False]),
        # Three of two leave half: row 0 has 1.4 % left, row 1 far more, row 2 is not met.
        (["front", "middle", "rear"], [True, False, False]),
    ],
)
def test_near_row_by_row_by_the_comparison_that_decides(
    built: Build, rulebook: Book, axles: list[str], near: list[bool]
) -> None:
    requires = "trailer.axle_count >= least and trailer.gvwr <= tow_vehicle.gcwr"
    data = {
        "trailer": {"gvwr": "6900 lb", "axles": {name: {} for name in axles}},
        "tow_vehicle": {"gcwr": "7000 lb"},
    }
    rows = {GVWR: [each * LB for each in (6900, 1000, 7100)]}
    found = the_rule(built(data, rows), rulebook(rule(requires, more=COUNT)))
    assert np.broadcast_to(found.near(NEAR), (3,)).tolist() == near


def test_a_rule_that_does_not_apply_is_without_end_from_its_limit(
    built: Build, rulebook: Book
) -> None:
    books = rulebook(
        rule("trailer.gvwr <= limit", more=f"when: trip.interstate\n  {threshold('8000 lb')}")
    )
    data = {"trailer": {"gvwr": "7000 lb"}, "trip": {"interstate": "yes"}}
    found = the_rule(built(data, {INTERSTATE: [1.0, 0.0]}), books)
    # (8000 - 7000) / 8000
    assert found.distances.tolist() == pytest.approx([0.125, np.inf])


def test_a_margin_is_a_share_only_where_the_limit_of_its_corner_is_not_nothing(
    built: Build, rulebook: Book
) -> None:
    """Two rows in two corners. Row 0 has 0 lb of 0 lb in its worse one, row 1 4,000 of 8,000 lb."""
    books = rulebook(rule("trailer.gvwr <= tow_vehicle.gcwr"))
    data = {"trailer": {"gvwr": "1 lb"}, "tow_vehicle": {"gcwr": "1 lb"}}
    gvwr, gcwr = (0, 4000, 0, 3000), (1000, 8000, 0, 8000)
    rows = {
        GVWR: [each * LB for each in gvwr],
        ("tow_vehicle", "gcwr"): [each * LB for each in gcwr],
    }
    found = the_rule(built(data, rows), books, corners=2)
    assert found.margins.tolist() == pytest.approx([np.nan, 0.5], nan_ok=True)


def test_too_close_to_call_leaves_a_load_open_though_another_rule_is_met(
    built: Build, rulebook: Book
) -> None:
    rules = rule("trailer.gvwr <= limit", more=threshold("7000 lb"))
    rules += rule("trailer.breakaway_fitted", id="two")
    trailer = {"gvwr": "7000 lb +/- 1 lb", "breakaway_fitted": "yes"}
    load = built({"trailer": trailer}, {GVWR: [each * LB for each in (7000, 6999, 7001)]})
    done = check(load, rulebook(rules), DAY)
    assert [each.verdict.value for each in done.findings] == ["too close to call", "met"]
    assert done.outcome is Outcome.OPEN


def test_a_known_subject_decides_before_an_unknown_one(built: Build, rulebook: Book) -> None:
    """Both wait for whether the rulebook holds; only the first waits for its weight as well."""
    head = """
    applies:
      when: trip.interstate
      because: only between states
      proofs: [{name: a, given: {}, expect: not stated, origin: hand}]
    """
    books = rulebook(
        rule("article.weight <= limit", more="for_each: article\n  " + threshold("1000 lb")), head
    )
    articles = [{"name": "unknown"}, {"name": "known", "weight": "900 lb"}]
    finding = only(check(built({"articles": articles}, {}), books, DAY))
    assert finding.subject is not None
    assert finding.subject.name == "known"
    assert finding.missing == ("trip.interstate",)
