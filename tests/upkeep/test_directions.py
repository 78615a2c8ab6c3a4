"""A `stricter` that the proofs contradict is found; one that they leave open is not."""

from collections.abc import Callable

import pytest

from checker.rulebooks.model import Rulebooks
from checker.upkeep.directions import wrong_directions
from tests.upkeep.test_same_days import RULE

Book = Callable[..., Rulebooks]


TIMES = "trip.speed * trailer.gvwr <= fastest * trailer.gvwr"


@pytest.mark.parametrize(
    ("threshold", "shown"),
    # More trailers are over a lower weight; fewer speeds are at most a lower one.
    [
        ("heavy", "in `when: trailer.gvwr > heavy`"),
        ("fastest", "in `requires: trip.speed <= fastest`"),
    ],
)
def test_the_wrong_way_round_is_found(rulebook: Book, threshold: str, shown: str) -> None:
    (found,) = wrong_directions(rulebook(turned(threshold)))
    assert (found.rule, found.threshold) == ("heavy-slow", threshold)
    assert (found.stated, found.shown, found.by) == ("higher", "lower", shown)


def turned(threshold: str) -> str:
    """The rule with one threshold of which higher is said to be stricter."""
    before, name, after = RULE.partition(f"    {threshold}:\n")
    return before + name + after.replace("stricter: lower", "stricter: higher", 1)


def test_where_the_sign_of_a_fact_matters_the_proofs_show_it(rulebook: Book) -> None:
    """Times a weight, which the program does not know to be positive."""
    text = turned("fastest").replace("trip.speed <= fastest", TIMES)
    (found,) = wrong_directions(rulebook(text))
    assert (found.threshold, found.shown, found.by) == ("fastest", "lower", "in the proof 'at'")


def test_a_formula_with_unless_is_read_too(rulebook: Book) -> None:
    text = turned("fastest").replace(
        "trip.speed <= fastest", "trip.speed <= fastest unless trailer.has_brakes"
    )
    (found,) = wrong_directions(rulebook(text))
    assert found.by == "in `requires: trip.speed <= fastest unless trailer.has_brakes`"


def test_a_threshold_with_a_name_that_python_knows_is_left_to_the_proofs(rulebook: Book) -> None:
    text = turned("fastest").replace("fastest:", "in:").replace("<= fastest", "<= in")
    (found,) = wrong_directions(rulebook(text))
    assert found.by == "in the proof 'at'"


def test_the_right_way_and_none_are_in_order(rulebook: Book) -> None:
    assert wrong_directions(rulebook(RULE)) == []
    assert wrong_directions(rulebook(RULE.replace("stricter: lower", "stricter: none"))) == []


def test_a_number_that_does_both_is_left_to_its_author(rulebook: Book) -> None:
    """A higher one lets fewer trailers in, and asks more of those that are."""
    text = RULE.replace(
        "trip.speed <= fastest", "trailer.gvwr >= 2 * heavy or trip.speed <= fastest"
    )
    text += """
    - {name: between, given: {trailer.gvwr: 10000 lb, trip.speed: 70 mph}, expect: met, origin: o}
"""
    for way in ("higher", "lower"):
        changed = text.replace("stricter: lower", f"stricter: {way}", 1)
        assert wrong_directions(rulebook(changed)) == []
