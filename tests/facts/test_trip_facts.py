"""What a trip says: its first stop, and whether federal width reaches it.

Expected values: counted by hand from the stops; the places by name.
"""

import json
from collections.abc import Callable
from datetime import date
from typing import Any

import pytest

from checker.facts.view import Facts
from checker.load.model import Load
from checker.rulebooks.model import Rulebooks

MILE = 1609.344  # m, exact
Trips = Callable[[dict[str, Any]], Facts]


@pytest.fixture
def of_trip(books: Rulebooks, profile: Callable[[str], Load]) -> Trips:
    def facts(trip: dict[str, Any]) -> Facts:
        load = profile(json.dumps({"kind": "load", "trip": trip}))
        return Facts(load, books.unmarked_on(date(2026, 6, 1)))

    return facts


@pytest.mark.parametrize(
    ("stops", "first"),
    [
        (["40 mi", "90 mi"], 40),
        (["90 mi", "40 mi"], 40),  # in whatever order they are listed
        ([], 120),  # none: the whole trip
        (["0 mi"], 120),  # before leaving is no stop
        (["0 mi", "40 mi"], 40),
        (["0.01 mi"], 0.01),
    ],
)
def test_the_first_stop_is_the_first_one_on_the_road(
    of_trip: Trips, stops: list[str], first: float
) -> None:
    facts = of_trip({"distance": "120 mi", "load_checks": stops})
    assert float(facts.value("trip.first_check", None)) == pytest.approx(first * MILE, rel=1e-12)


def test_a_stop_on_the_road_needs_no_distance_of_the_trip(of_trip: Trips) -> None:
    facts = of_trip({"load_checks": ["0 mi", "40 mi"]})
    assert float(facts.value("trip.first_check", None)) == pytest.approx(40 * MILE, rel=1e-12)


@pytest.mark.parametrize(
    ("places", "touched"),
    [
        (["US-UT"], True),
        (["US-HI"], False),
        (["US-HI-MAUI"], False),  # a county of it
        (["US-HI", "US-CA"], True),
        (["US"], True),  # no state named: it may be any
        (["CA-AB"], False),
    ],
)
def test_hawaii_is_told_from_the_other_states(
    of_trip: Trips, places: list[str], touched: bool
) -> None:
    facts = of_trip({"places": places})
    assert facts.value("trip.touches_us_outside_hawaii", None) == touched


@pytest.mark.parametrize(
    ("places", "touched"),
    [
        (["CA-AB"], True),
        (["CA-BC"], False),
        (["CA-BC-KELOWNA"], False),  # a district of the province
        (["CA-BC", "CA-AB"], True),
        (["CA"], True),  # no province named: it may be any
        (["US-CA"], False),
    ],
)
def test_british_columbia_is_told_from_the_other_provinces(
    of_trip: Trips, places: list[str], touched: bool
) -> None:
    facts = of_trip({"places": places})
    assert facts.value("trip.touches_canada_outside_bc", None) == touched


@pytest.mark.parametrize(
    ("stated", "relieved"),
    [({"covered_farm_vehicle": "yes"}, True), ({"covered_farm_vehicle": "no"}, False), ({}, False)],
)
def test_a_farm_is_relieved_only_where_it_says_so(
    read: Callable[[dict[str, Any]], Facts], stated: dict[str, str], relieved: bool
) -> None:
    """49 CFR 390.39(a): relief; left out, the stricter rules count."""
    assert read({"carrier": stated}).value("carrier.relieved_as_farm", None) == relieved
