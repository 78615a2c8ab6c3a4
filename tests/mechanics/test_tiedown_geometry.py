"""Directions and tensions of tiedowns, against hand-calculated right triangles."""

import math

import hypothesis.strategies as st
import numpy as np
import pytest
from hypothesis import given

from checker.mechanics.tiedown_geometry import (
    angle_above_deck,
    direction_cosines,
    plan_angle,
    tension_for_horizontal,
    tension_for_vertical,
)

places = st.floats(-5.0, 5.0).map(lambda value: round(value, 3))
points = st.tuples(places, places, places)


def test_a_tiedown_of_whole_numbers() -> None:
    """2-3-6-7 is a box diagonal in whole numbers."""
    direction, length = direction_cosines((1.0, 1.0, 0.0), (3.0, -2.0, 6.0))
    assert length == pytest.approx(7.0)
    assert direction == pytest.approx((2 / 7, -3 / 7, 6 / 7))
    assert math.sin(angle_above_deck(direction)) == pytest.approx(6 / 7)
    assert math.tan(plan_angle(direction)) == pytest.approx(3 / 2)


@given(start=points, end=points.filter(lambda point: point != (0.0, 0.0, 0.0)))
def test_the_way_back_points_the_other_way_at_the_same_angles(
    start: tuple[float, float, float], end: tuple[float, float, float]
) -> None:
    there, length = direction_cosines(start, end)
    back, same_length = direction_cosines(end, start)
    assert length == same_length
    assert np.negative(back) == pytest.approx(there, nan_ok=True)
    assert angle_above_deck(back) == pytest.approx(angle_above_deck(there), nan_ok=True)
    assert plan_angle(back) == pytest.approx(plan_angle(there), nan_ok=True)
    if length:
        assert math.hypot(*there) == pytest.approx(1.0)


def test_a_tiedown_without_length_points_nowhere() -> None:
    direction, length = direction_cosines((1.0, 2.0, 0.5), (1.0, 2.0, 0.5))
    assert length == 0.0
    assert all(math.isnan(cosine) for cosine in direction)


@pytest.mark.parametrize(
    ("direction", "steep", "aside"),
    [
        ((0.0, 0.0, 1.0), math.pi / 2, 0.0),
        ((1.0, 0.0, 0.0), 0.0, 0.0),
        ((0.0, -1.0, 0.0), 0.0, math.pi / 2),
        ((0.6, 0.0, -0.8), math.asin(0.8), 0.0),
    ],
)
def test_angles_of_straight_tiedowns(
    direction: tuple[float, float, float], steep: float, aside: float
) -> None:
    assert angle_above_deck(direction) == pytest.approx(steep)
    assert plan_angle(direction) == pytest.approx(aside)


@given(force=st.floats(10.0, 1e5), steep=st.floats(0.05, 1.5), aside=st.floats(0.0, 1.5))
def test_the_tension_found_has_the_wanted_component(
    force: float, steep: float, aside: float
) -> None:
    assert tension_for_vertical(force, steep) * math.sin(steep) == pytest.approx(force)
    along = tension_for_horizontal(force, steep, aside) * math.cos(steep) * math.cos(aside)
    assert along == pytest.approx(force)


def test_no_tension_of_a_flat_tiedown_pulls_down() -> None:
    assert math.isnan(tension_for_vertical(100.0, 0.0))
