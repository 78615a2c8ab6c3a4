"""Which way formulas follow a threshold `limit`; every answer follows from reading the formula."""

import pytest

from checker.rulebooks.direction import Way, way_of


@pytest.mark.parametrize(
    ("formula", "way"),
    [
        ("trip.speed <= limit", Way.MORE),
        ("limit <= trip.speed", Way.LESS),
        ("not trip.speed <= limit", Way.LESS),
        ("trip.speed <= limit unless trailer.has_brakes", Way.MORE),
        ("trailer.has_brakes unless trip.speed > limit", Way.LESS),
        ("trip.speed <= limit\n  unless trailer.has_brakes\n", Way.MORE),
        ("trailer.gvwr <= limit * tow_vehicle.gvwr", Way.UNKNOWN),
        ("trip.speed == limit", Way.UNKNOWN),
        ("trip.speed <= trip.limit", Way.NOT_AT_ALL),
        # A threshold may have a name that Python does not take.
        ("trip.speed <= limit and trip.speed >= in", Way.UNKNOWN),
    ],
)
def test_the_way_of_a_formula(formula: str, way: Way) -> None:
    assert way_of(formula, "limit") is way
