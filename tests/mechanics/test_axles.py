"""Independent springs against a solver of linear equations, and against the equalised group."""

import hypothesis.strategies as st
import numpy as np
import pytest
from hypothesis import given

from checker.mechanics.axles import (
    equalised_share,
    independent_axle_loads,
    level_deck_ball_lowering,
    tongue_change_per_ball_lowering,
)

gross_weights = st.floats(5_000.0, 50_000.0)
rates = st.floats(1e5, 6e5)
trailers = st.lists(st.tuples(st.floats(2.0, 6.0), rates), min_size=1, max_size=4).map(
    lambda axles: tuple(zip(*axles, strict=True))
)
lowerings = st.floats(-0.1, 0.2)
places = st.floats(1.0, 5.0)


@given(gross=gross_weights, cg=places, axles=trailers, lowering=lowerings)
def test_springs_agree_with_the_equations_of_equilibrium_solved_by_numpy(
    gross: float, cg: float, axles: tuple[tuple[float, ...], ...], lowering: float
) -> None:
    at, stiff = map(np.array, axles)
    # Unknown: slope of the frame and tongue weight. Vertical forces, then moments about the ball.
    slope, expected_tongue = np.linalg.solve(
        [[stiff @ at, 1.0], [stiff @ at**2, 0.0]],
        [gross - stiff.sum() * lowering, gross * cg - stiff @ at * lowering],
    )
    loads, tongue = independent_axle_loads(gross, cg, *axles, lowering)
    assert tongue == pytest.approx(expected_tongue, rel=1e-6, abs=1e-3)
    assert loads == pytest.approx(stiff * (lowering + slope * at), rel=1e-6, abs=1e-3)


@given(gross=gross_weights, cg=places, axles=trailers, lowering=lowerings)
def test_lowering_the_ball_changes_the_tongue_weight_by_the_stated_slope(
    gross: float, cg: float, axles: tuple[tuple[float, ...], ...], lowering: float
) -> None:
    _, before = independent_axle_loads(gross, cg, *axles, lowering)
    _, after = independent_axle_loads(gross, cg, *axles, lowering + 0.01)
    slope = tongue_change_per_ball_lowering(*axles)
    assert after - before == pytest.approx(slope * 0.01, rel=1e-6, abs=1e-3)
    assert slope <= 1e-6


@given(gross=gross_weights, cg=places, at=st.floats(2.0, 5.0), apart=st.floats(0.5, 1.0), k=rates)
def test_two_equal_axles_shift_tongue_weight_as_the_closed_form_says(
    gross: float, cg: float, at: float, apart: float, k: float
) -> None:
    """Hand-derived for two equal axles: -k * spacing^2 / (x1^2 + x2^2)."""
    front, rear = at, at + apart
    slope = tongue_change_per_ball_lowering([front, rear], [k, k])
    assert slope == pytest.approx(-k * apart**2 / (front**2 + rear**2), rel=1e-6)
    level = level_deck_ball_lowering(gross, cg, [front, rear], [k, k])
    (front_load, rear_load), _ = independent_axle_loads(
        gross, cg, [front, rear], [k, k], level + 0.02
    )
    assert front_load > rear_load


@given(gross=gross_weights, cg=places, at=st.floats(2.0, 5.0), apart=st.floats(0.5, 1.0), k=rates)
def test_on_a_level_deck_equal_springs_carry_like_an_equalised_group(
    gross: float, cg: float, at: float, apart: float, k: float
) -> None:
    axles = [at, at + apart, at + 2 * apart], [k, k, k]
    level = level_deck_ball_lowering(gross, cg, *axles)
    loads, tongue = independent_axle_loads(gross, cg, *axles, level)
    # The group stands at its middle axle.
    axle_group_load = gross * cg / (at + apart)
    assert loads == pytest.approx([equalised_share(axle_group_load, 3.0)] * 3, rel=1e-6)
    assert tongue == pytest.approx(gross - axle_group_load, abs=1e-4)


def test_every_axle_needs_a_spring_rate() -> None:
    with pytest.raises(ValueError, match="longer"):
        tongue_change_per_ball_lowering([3.0, 4.0], [1e5])
