"""Tow-vehicle axles against the equations of equilibrium and the goals of load levelling."""

import math

import hypothesis.strategies as st
import numpy as np
import pytest
from hypothesis import given

from checker.mechanics.tow_vehicle import (
    axle_changes,
    ball_drop,
    cargo_capacity_left,
    levelling_changes,
    levelling_moment_for_equal_sharing,
    levelling_moment_for_front_restoration,
)

tongues = st.floats(200.0, 20_000.0)
wheelbases = st.floats(2.5, 5.0)
overhangs = st.floats(-0.5, 1.6)
drawbars = st.floats(2.0, 8.0)


@given(tongue=tongues, wheelbase=wheelbases, behind=overhangs)
def test_axles_carry_the_tongue_and_leave_no_moment(
    tongue: float, wheelbase: float, behind: float
) -> None:
    front, rear = axle_changes(tongue, wheelbase, behind)
    assert front + rear == pytest.approx(tongue)
    assert front * wheelbase == pytest.approx(-tongue * behind, abs=1e-6)


@pytest.mark.parametrize(
    ("behind", "front", "rear"),
    [(0.01, -2.5, 1002.5), (0.0, 0.0, 1000.0), (-0.01, 2.5, 997.5), (-4.0, 1000.0, 0.0)],
)
def test_coupling_just_behind_over_and_ahead_of_the_rear_axle(
    behind: float, front: float, rear: float
) -> None:
    """Hand-calculated for 1000 N and a wheelbase of 4 m; at -4 m the coupling is over the front."""
    assert axle_changes(1000.0, 4.0, behind) == pytest.approx((front, rear), abs=1e-9)


@given(moment=st.floats(100.0, 9_000.0), wheelbase=wheelbases, behind=overhangs, drawbar=drawbars)
def test_levelling_moves_weight_and_makes_none(
    moment: float, wheelbase: float, behind: float, drawbar: float
) -> None:
    front, rear, trailer = levelling_changes(moment, wheelbase, behind, drawbar)
    assert front + rear + trailer == pytest.approx(0, abs=1e-6)
    # Moments of the whole combination about the rear axle, the moment itself being internal.
    assert front * wheelbase == pytest.approx(trailer * (behind + drawbar))
    # The trailer alone about its ball: what its axles gain is what holds the moment.
    assert trailer * drawbar == pytest.approx(moment)


@given(
    tongue=tongues,
    wheelbase=wheelbases,
    behind=st.floats(0.1, 1.6),
    drawbar=drawbars,
    share=st.floats(0, 1.2),
)
def test_front_restoration_leaves_the_part_not_restored(
    tongue: float, wheelbase: float, behind: float, drawbar: float, share: float
) -> None:
    moment = levelling_moment_for_front_restoration(tongue, behind, drawbar, share)
    taken, _ = axle_changes(tongue, wheelbase, behind)
    given_back, _, _ = levelling_changes(moment, wheelbase, behind, drawbar)
    assert given_back == pytest.approx(-share * taken, abs=1e-6)


@given(tongue=tongues, wheelbase=wheelbases, behind=overhangs, drawbar=drawbars)
def test_equal_sharing_loads_both_axles_alike(
    tongue: float, wheelbase: float, behind: float, drawbar: float
) -> None:
    moment = levelling_moment_for_equal_sharing(tongue, wheelbase, behind, drawbar)
    changes = axle_changes(tongue, wheelbase, behind)
    front_back, rear_back, _ = levelling_changes(moment, wheelbase, behind, drawbar)
    assert changes[0] + front_back == pytest.approx(changes[1] + rear_back, abs=1e-6)


@given(
    tongue=tongues,
    wheelbase=wheelbases,
    behind=overhangs,
    front_rate=st.floats(5e4, 5e5),
    rear_rate=st.floats(5e4, 5e5),
)
def test_ball_drop_agrees_with_a_rigid_frame_solved_by_numpy(
    tongue: float, wheelbase: float, behind: float, front_rate: float, rear_rate: float
) -> None:
    # Unknown: sink of the front and of the rear axle. Vertical forces, moments about the rear.
    front, rear = np.linalg.solve(
        [[front_rate, rear_rate], [front_rate * wheelbase, 0.0]], [tongue, -tongue * behind]
    )
    expected = rear + (rear - front) * behind / wheelbase
    drop = ball_drop(tongue, wheelbase, behind, rear_rate, front_rate)
    assert drop == pytest.approx(expected, rel=1e-6, abs=1e-9)
    assert drop >= ball_drop(tongue, wheelbase, behind, rear_rate, math.inf)


def test_the_tongue_comes_out_of_the_cargo_capacity() -> None:
    """Hand-calculated: 6000 - 3 * 700 - 1500; below zero when nothing is left."""
    assert cargo_capacity_left(6000.0, 3.0, 700.0, 1500.0) == 2400.0
    assert cargo_capacity_left(6000.0, 5.0, 700.0, 3000.0) == -500.0
