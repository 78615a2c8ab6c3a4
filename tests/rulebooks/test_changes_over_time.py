"""Changes of one threshold one after the other, one inside another, and taken back."""

from collections.abc import Callable
from datetime import date

import pytest

from checker.evaluation.check import Check
from checker.rulebooks.layering import rules_in_force
from checker.rulebooks.verdicts import Verdict
from tests.amended_rules import (
    COMPANY,
    MARCH,
    Amended,
    changed,
    refused,
    verdict,
)

OPEN_END = "from: 2026-03-01, until: 2027-01-01"
JUNE = "from: 2026-06-01, until: 2026-07-01"


@pytest.mark.parametrize(
    ("first", "second", "values"),
    [
        # On 2026-02-28, 03-01, 05-31, 06-01, 07-01 and 12-31; the book's own value is 7000 lb.
        (
            "from: 2026-03-01, until: 2026-06-02",
            "from: 2026-06-01, until: 2026-07-01",
            "7 1 1 2 7 7",
        ),
        (OPEN_END, JUNE, "7 1 1 2 1 1"),
        (OPEN_END, "from: 2026-06-01, until: 2027-01-01", "7 1 1 2 2 2"),
        (
            "from: 2026-03-01, until: 2026-05-31",
            "from: 2026-06-01, until: 2026-07-01",
            "7 1 7 2 7 7",
        ),
        (
            "from: 2026-03-01, until: 2026-06-01",
            "from: 2026-06-01, until: 2026-07-01",
            "7 1 1 2 7 7",
        ),
        (OPEN_END, "from: 2026-02-01, until: 2026-06-01", "2 2 2 1 1 1"),
        (
            OPEN_END,
            "from: 2026-03-01, until: 2027-01-01, each_year: {from: 07-01, until: 06-01}",
            "7 2 2 1 2 2",
        ),
    ],
)
def test_a_later_change_counts_on_its_own_days_alone(
    amended: Amended, first: str, second: str, values: str
) -> None:
    one = changed("6600 lb", days=first)
    two = changed("6550 lb", days=second).removeprefix("changes:\n")
    books = amended(COMPANY + one + two)
    texts = {"7": "7000 lb", "1": "6600 lb", "2": "6550 lb"}
    for day, wanted in zip(
        ("2026-02-28", "2026-03-01", "2026-05-31", "2026-06-01", "2026-07-01", "2026-12-31"),
        values.split(),
        strict=True,
    ):
        held = rules_in_force(books, ["US-UT"], date.fromisoformat(day)).books[0].rules[0]
        value = held.thresholds["most"].on(date.fromisoformat(day))
        assert value is not None
        assert (day, value.text) == (day, texts[wanted])


def test_a_change_that_another_takes_all_days_from_is_refused(amended: Amended) -> None:
    two = changed("6550 lb", days="from: 2026-02-01, until: 2027-01-01").removeprefix("changes:\n")
    (problem,) = refused(amended, COMPANY + changed("6600 lb") + two)
    assert problem.startswith("7:73: found a change of which no day is left: a later one counts (")


def test_a_stretch_that_is_less_strict_than_what_it_stands_in_needs_a_reason(
    amended: Amended,
) -> None:
    """6,700 lb in June within 6,600 lb of the year; the book's own value is 7,000 lb."""
    standing = COMPANY + changed("6600 lb", days=OPEN_END)
    looser = changed("6700 lb", days=JUNE).removeprefix("changes:\n")
    (problem,) = refused(amended, standing + looser)
    said = "found a value that is less strict than the change it stands in, without because and by"
    assert said in problem
    why = "source: print, at: p. 9, by: Ann, because: a dry month"
    reasoned = changed("6700 lb", days=JUNE, rest=why).removeprefix("changes:\n")
    assert len(amended(standing + reasoned).changes) == 2


def test_two_files_may_not_change_one_day(amended: Amended) -> None:
    other = COMPANY.replace("id: crew", "id: other")
    (problem,) = refused(amended, COMPANY + changed("6600 lb"), other + changed("6550 lb"))
    assert "found a change from 2026-03-01 while another is in force" in problem


TAKEN = "{from: 2026-03-01, by: Ann, because: it was wrong}"


@pytest.mark.parametrize("key", ["withdrawn", "corrected"])
def test_what_was_taken_back_counts_nowhere_and_is_not_checked(
    amended: Amended, held: Callable[..., Check], key: str
) -> None:
    """7,500 lb would be less strict than the law, and in place of a value that is not there."""
    wrong = changed("7500 lb", was="9 in", rest=f"source: print, at: p. 9, {key}: {TAKEN}")
    books = amended(COMPANY + wrong + changed("6600 lb").removeprefix("changes:\n"))
    assert verdict(held(books, MARCH), "weight") is Verdict.NOT_MET
    assert [change.withdrawal is not None for change in books.changes] == [True, False]
