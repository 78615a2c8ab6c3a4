"""Braking and grades against equations of equilibrium solved by other means."""

import math

import hypothesis.strategies as st
import numpy as np
import pytest
from hypothesis import given

from checker.mechanics.balance import support_loads
from checker.mechanics.dynamics import (
    braking_share,
    mean_deceleration,
    stopping_distance,
    tongue_change_when_braking,
    tongue_on_grade,
)

weights = st.floats(2_000.0, 50_000.0)
heights = st.floats(0.3, 2.0)
lengths = st.floats(2.0, 8.0)


@given(
    weight=weights,
    slowing=st.floats(0.05, 0.9),
    cg=heights,
    ball=heights,
    drawbar=lengths,
    braked=st.sampled_from([0.0, 0.5, 1.0]),
)
def test_braking_agrees_with_the_trailer_as_a_free_body(
    weight: float, slowing: float, cg: float, ball: float, drawbar: float, braked: float
) -> None:
    inertia = weight * slowing
    # Unknown: changes of tongue and of axle load. Vertical forces, then moments about the
    # contact of the wheels: inertia forward at the cg, what the ball holds backward at the ball.
    change, axle_change = np.linalg.solve(
        [[1.0, 1.0], [drawbar, 0.0]], [0.0, inertia * cg - (1 - braked) * inertia * ball]
    )
    assert tongue_change_when_braking(weight, slowing, cg, drawbar, ball, braked) == pytest.approx(
        change, abs=1e-6
    )
    assert axle_change == pytest.approx(-change, abs=1e-6)


def test_only_a_trailer_that_does_not_stop_itself_needs_the_ball_height() -> None:
    """Hand-calculated: 10000 N * 0.5 * 1 m / 4 m."""
    changes = tongue_change_when_braking(
        10_000.0, 0.5, 1.0, 4.0, math.nan, np.array([1.0, 0.0, math.nan])
    )
    assert changes[0] == pytest.approx(1250.0)
    assert np.isnan(changes[1:]).all()


@given(
    weight=weights,
    cg=lengths,
    high=heights,
    ball=heights,
    drawbar=lengths,
    grade=st.floats(-0.3, 0.3),
)
def test_grade_agrees_with_the_trailer_as_a_free_body(
    weight: float, cg: float, high: float, ball: float, drawbar: float, grade: float
) -> None:
    slope = math.atan(grade)
    along, into = weight * math.sin(slope), weight * math.cos(slope)
    # Unknown: tongue and axle load at right angles to the road, pull of the ball along it.
    # The last row is moments about the contact of the wheels.
    tongue, _, pull = np.linalg.solve(
        [[1.0, 1.0, 0.0], [0.0, 0.0, 1.0], [drawbar, 0.0, -ball]],
        [into, along, into * (drawbar - cg) - along * high],
    )
    assert pull == pytest.approx(along)
    assert tongue_on_grade(weight, cg, high, ball, drawbar, grade) == pytest.approx(
        tongue, rel=1e-6, abs=1e-4
    )


@given(weight=weights, cg=lengths, high=heights, drawbar=lengths)
def test_on_the_level_the_static_tongue_weight_remains(
    weight: float, cg: float, high: float, drawbar: float
) -> None:
    static, _ = support_loads([weight], [cg], drawbar)
    assert tongue_on_grade(weight, cg, high, 0.5, drawbar, 0.0) == pytest.approx(static, abs=1e-6)


def test_a_high_load_lightens_the_tongue_uphill_and_presses_on_it_downhill() -> None:
    uphill, level, downhill = (
        tongue_on_grade(10_000.0, 3.5, 1.0, 0.5, 4.0, grade) for grade in (0.01, 0.0, -0.01)
    )
    assert uphill < level < downhill


@given(speed=st.floats(1.0, 40.0), distance=st.floats(1.0, 200.0))
def test_stopping_distance_undoes_mean_deceleration(speed: float, distance: float) -> None:
    assert stopping_distance(speed, mean_deceleration(speed, distance)) == pytest.approx(distance)


def test_braking_share_is_one_at_the_printed_gravity() -> None:
    """49 CFR 393.52 note (a): 32.2 ft/s2 divides; a foot is 0.3048 m."""
    assert braking_share(32.2 * 0.3048) == pytest.approx(1.0, rel=1e-12)
    assert math.isnan(mean_deceleration(10.0, 0.0))
