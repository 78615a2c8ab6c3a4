"""The sums behind facts, as text: each comes to what the fact itself comes to.

The text and the function that works the fact out are written apart, so each is the other's check.
"""

from datetime import date

import numpy as np
import pytest

from checker.advice.sums import calculation_of
from checker.documents.resources import shipped_folder
from checker.facts.catalogue import Fact, catalogue
from checker.facts.view import Facts
from checker.facts.working import working
from checker.load.build import read_profile
from tests.shipped import shipped_rules

WITH_SUMS = [fact for fact in catalogue().values() if fact.sums]


@pytest.fixture(scope="module")
def bundled() -> list[Facts]:
    """The facts of every bundled load."""
    unmarked = shipped_rules().unmarked_on(date(2026, 6, 1))
    files = sorted((shipped_folder("profiles") / "loads").glob("*.yaml"))
    return [Facts(read_profile(file, None).load({}), unmarked) for file in files]


@pytest.mark.parametrize("fact", WITH_SUMS, ids=lambda fact: fact.name)
def test_a_sum_is_told_wherever_the_fact_is_known(fact: Fact, bundled: list[Facts]) -> None:
    """Every bundled load goes one of the ways that the fact has a text for."""
    known = 0
    for facts in bundled:
        for subject in facts.subjects(fact.each) if fact.each else [None]:
            (step, *_) = working(facts, [fact.name], subject)
            if not np.isnan(np.atleast_1d(step.value)[0]):
                known += 1
                assert calculation_of(facts, step), (facts.load.title, subject)
    assert known, f"state the fields of {fact.name} in a bundled load"


def test_a_sum_names_each_part_it_adds_up(bundled: list[Facts]) -> None:
    """Two articles on the gooseneck: two addends, together the cargo's weight."""
    facts = next(each for each in bundled if len(each.load.articles) == 2)
    (step, *_) = working(facts, ["cargo.weight"], None)
    told = calculation_of(facts, step)
    assert told is not None
    assert told.text == "(article.weight.number_1 + article.weight.number_2)"
    weights = [float(article.weight) for article in facts.load.articles]
    assert [term.value for term in told.terms.values()] == weights
    assert [term.label for term in told.terms.values()] == ["weight", "weight"]


def test_over_an_empty_deck_there_is_nothing_to_add_up() -> None:
    file = shipped_folder("profiles") / "loads" / "mower-in-order.yaml"
    empty = read_profile(file).replaced({("articles",): [], ("tiedowns",): []})
    facts = Facts(empty.load({}), shipped_rules().unmarked_on(date(2026, 6, 1)))
    for name, text in {
        "cargo.weight": "0",
        "trailer.moment_about_ball": "(trailer.empty_weight - trailer.empty_tongue_weight) * "
        "trailer.axle_group_position + 0",
    }.items():
        (step, *_) = working(facts, [name], None)
        told = calculation_of(facts, step)
        assert told is not None
        assert told.text == text


def test_what_is_not_known_has_no_sum(bundled: list[Facts]) -> None:
    facts = next(each for each in bundled if np.isnan(each.value("hitch.tongue_weight", None)))
    (step, *_) = working(facts, ["hitch.tongue_weight"], None)
    assert calculation_of(facts, step) is None
