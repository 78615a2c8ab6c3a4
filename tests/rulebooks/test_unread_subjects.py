"""Subjects of law that no rulebook holds, over rows, and their counts in an audit."""

import numpy as np

from checker.rulebooks.model import Rulebook
from checker.rulebooks.unread_subjects import SUBJECTS, unread_subjects
from checker.season.totals import Totals


def book(jurisdiction: str, *subjects: str) -> Rulebook:
    return Rulebook(jurisdiction, "", jurisdiction, None, (), "", "", frozenset(subjects))


def test_a_subject_is_read_in_the_rows_where_a_rulebook_of_the_place_applies() -> None:
    everywhere, nowhere, some = np.array([True]), np.array([False]), np.array([True, False])
    found = unread_subjects(
        ["US-UT", "CH", "US-UT"],
        [
            (book("US", "lamps"), everywhere),
            (book("US-UT", "trailer brakes"), some),
            (book("US-UT", "tyres"), nowhere),
            (book("US-CA", "weight"), everywhere),  # another state
            (book("any", "width"), everywhere),  # nobody's law
        ],
    )
    assert list(found) == ["US-UT", "CH"]
    assert set(SUBJECTS) - set(found["US-UT"]) == {"lamps"}
    assert found["US-UT"]["trailer brakes"].tolist() == [False, True]
    assert found["US-UT"]["tyres"].all()
    assert set(found["CH"]) == set(SUBJECTS)


def test_a_trip_without_places_has_no_law_to_name() -> None:
    assert unread_subjects(None, []) == {}


def test_an_audit_adds_its_hauls_up() -> None:
    totals = Totals(unread_subjects={"US-UT": {"weight": 2}})
    totals.add(Totals(unread_subjects={"US-UT": {"weight": 3, "width": 1}, "CH": {"weight": 4}}))
    assert totals.unread_subjects == {"US-UT": {"weight": 5, "width": 1}, "CH": {"weight": 4}}
