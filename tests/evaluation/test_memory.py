"""What was evaluated is freed at once, not when the garbage collector next looks for cycles."""

import gc
import weakref
from datetime import date

import numpy as np

from checker.documents.resources import shipped_folder
from checker.evaluation.evaluator import evaluators
from checker.load.build import read_profile
from checker.rulebooks.loading import load_rulebooks
from checker.rulebooks.needed_rulebooks import Trips


def test_nothing_keeps_the_facts_of_an_evaluated_load() -> None:
    profile = read_profile(shipped_folder("profiles") / "loads" / "side-by-side-in-order.yaml")
    trips = Trips.through([profile.stated.trip.places])
    # Its own, so that nothing is kept of another test, and of its trip, as others are out of reach.
    rulebooks = load_rulebooks(shipped_folder("rules"), trips=trips)
    load = profile.load({("articles", 0, "weight"): np.array([6000.0, 7000.0])})
    gc.collect()
    gc.disable()
    try:
        reach = evaluators(load, rulebooks, date(2026, 5, 14))
        rows = [each.rule_rows(rule) for each in reach.in_reach() for rule in each.book.rules]
        facts = weakref.ref(reach.facts)
        assert len(rows) > 50
        assert reach.in_reach()
        del reach, rows
        assert facts() is None
    finally:
        gc.enable()
