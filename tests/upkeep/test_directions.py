"""A `stricter` that the proofs contradict is found; one that they leave open is not."""

from collections.abc import Callable

import pytest

from checker.rulebooks.model import Rulebooks
from checker.upkeep.directions import wrong_directions
from tests.upkeep.test_same_days import RULE

Book = Callable[..., Rulebooks]


@pytest.mark.parametrize(
    ("threshold", "proof"),
    # Lower: more trailers are heavy, as the lighter one at 60 mph; fewer speeds are met, as 55 mph.
    [("heavy", "lighter"), ("fastest", "at")],
)
def test_the_wrong_way_round_is_found(rulebook: Book, threshold: str, proof: str) -> None:
    before, name, after = RULE.partition(f"    {threshold}:\n")
    text = before + name + after.replace("stricter: lower", "stricter: higher", 1)
    (found,) = wrong_directions(rulebook(text))
    assert (found.rule, found.threshold) == ("heavy-slow", threshold)
    assert (found.stated, found.shown, found.proof) == ("higher", "lower", proof)


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
