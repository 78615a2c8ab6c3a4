"""Laws of balance, each against the equations of equilibrium or an own construction."""

import math

import hypothesis.strategies as st
import numpy as np
import pytest
from hypothesis import given

from checker.mechanics.balance import (
    centre_of_gravity,
    cg_from_axle_weights,
    cg_from_scales,
    cg_height_from_tilt,
    lateral_cg_from_scales,
    position_for_tongue_share,
    share_on_tongue,
    side_loads,
    support_loads,
    tongue_change_when_turned,
)

weights = st.floats(10.0, 50_000.0)
places = st.floats(-2.0, 12.0)
lengths = st.floats(0.5, 8.0)
loads = st.lists(st.tuples(weights, places), min_size=1, max_size=6)


@given(articles=loads, group=lengths)
def test_supports_carry_all_weight_and_leave_no_moment(
    articles: list[tuple[float, float]], group: float
) -> None:
    heavy, at = zip(*articles, strict=True)
    tongue, axle = support_loads(heavy, at, group)
    assert tongue + axle == pytest.approx(sum(heavy))
    # About a point that is neither support, so that both reactions count.
    left_over = axle * (group - 1) + tongue * (0 - 1) - np.dot(heavy, np.subtract(at, 1))
    assert left_over == pytest.approx(0, abs=1e-6)


@given(articles=loads, group=lengths, weight=weights, distance=st.floats(0.01, 4.0))
def test_weight_ahead_of_the_axles_presses_on_the_tongue_and_behind_lifts_it(
    articles: list[tuple[float, float]], group: float, weight: float, distance: float
) -> None:
    heavy, at = (list(column) for column in zip(*articles, strict=True))
    before, _ = support_loads(heavy, at, group)

    def with_more_at(place: float) -> float:
        return support_loads([*heavy, weight], [*at, place], group)[0]

    assert with_more_at(group - distance) > before
    assert with_more_at(group + distance) < before
    assert with_more_at(group) == pytest.approx(before, abs=1e-6)


@pytest.mark.parametrize(
    ("position", "share"),
    [(0.0, 1.0), (3.99, 0.0025), (4.0, 0.0), (4.01, -0.0025), (8.0, -1.0)],
)
def test_share_on_tongue_at_just_ahead_of_and_just_behind_the_axles(
    position: float, share: float
) -> None:
    """Hand-calculated: 1 - position / 4 m."""
    assert share_on_tongue(position, 4.0) == pytest.approx(share)


@given(
    articles=loads,
    group=lengths,
    weight=st.floats(500.0, 50_000.0),
    target=st.floats(-0.2, 0.5),
)
def test_an_article_put_where_asked_gives_the_tongue_share_asked_for(
    articles: list[tuple[float, float]], group: float, weight: float, target: float
) -> None:
    heavy, at = (list(column) for column in zip(*articles, strict=True))
    place = position_for_tongue_share(target, weight, heavy, at, group)
    tongue, axle = support_loads([*heavy, weight], [*at, place], group)
    assert tongue / (tongue + axle) == pytest.approx(target, abs=1e-9)


@given(axle=weights, gross=weights, aside=st.floats(-0.5, 0.5), track=lengths)
def test_the_mirror_image_swaps_the_sides(
    axle: float, gross: float, aside: float, track: float
) -> None:
    left, right = side_loads(axle, gross, aside, track)
    assert side_loads(axle, gross, -aside, track) == pytest.approx((right, left))
    assert left + right == pytest.approx(axle)
    # Roll about the centre line: the wheels take all of it, the ball none.
    assert (left - right) * track / 2 == pytest.approx(gross * aside, abs=1e-6)


def test_a_centre_of_gravity_to_the_left_loads_the_left_wheels() -> None:
    """Hand-calculated: 4000/2 +/- 5000 * 0.1 / 2."""
    assert side_loads(4000.0, 5000.0, 0.1, 2.0) == pytest.approx((2250.0, 1750.0))


@given(tongue=weights, axle=weights, aside=st.floats(-0.5, 0.5), track=lengths, group=lengths)
def test_scales_give_back_the_centre_of_gravity_they_were_loaded_by(
    tongue: float, axle: float, aside: float, track: float, group: float
) -> None:
    gross = tongue + axle
    left, right = side_loads(axle, gross, aside, track)
    assert lateral_cg_from_scales(left, right, tongue, track) == pytest.approx(aside, abs=1e-9)
    cg = cg_from_scales(axle, tongue, group)
    assert support_loads([gross], [cg], group) == pytest.approx((tongue, axle))


@given(front=weights, rear=weights, wheelbase=lengths)
def test_axle_scales_of_a_machine_find_its_centre_of_gravity(
    front: float, rear: float, wheelbase: float
) -> None:
    # Independent: the two axles as point weights.
    assert cg_from_axle_weights(front, rear, wheelbase) == pytest.approx(
        centre_of_gravity([front, rear], [0.0, wheelbase]), abs=1e-12
    )


@given(
    weight=weights,
    wheelbase=lengths,
    ahead=st.floats(0.1, 0.9),
    height=st.floats(0.3, 2.0),
    radius=st.floats(0.1, 0.3),
    incline=st.floats(0.05, 0.6),
)
def test_tilting_finds_the_height_of_a_machine_drawn_on_paper(
    weight: float, wheelbase: float, ahead: float, height: float, radius: float, incline: float
) -> None:
    """Own construction: turn the machine about the lower axle, take moments there."""
    from_lower_axle = ahead * wheelbase
    level_load = weight * (1 - ahead)
    across = from_lower_axle * math.cos(incline) - (height - radius) * math.sin(incline)
    tilted_load = weight * (1 - across / (wheelbase * math.cos(incline)))
    found = cg_height_from_tilt(weight, radius, wheelbase, incline, tilted_load - level_load)
    assert found == pytest.approx(height, rel=1e-6)


@given(weight=weights, wheelbase=lengths, share=st.floats(0.1, 0.9), lead=places, group=lengths)
def test_turning_a_machine_equals_placing_its_axles_the_other_way_round(
    weight: float, wheelbase: float, share: float, lead: float, group: float
) -> None:
    axle_weights = [weight * share, weight * (1 - share)]
    on_deck = [lead, lead + wheelbase]
    nose_in, _ = support_loads(axle_weights, on_deck, group)
    tail_in, _ = support_loads(axle_weights[::-1], on_deck, group)
    assert tongue_change_when_turned(weight, wheelbase, share, group) == pytest.approx(
        tail_in - nose_in, abs=1e-6
    )


def test_nothing_that_weighs_anything_has_no_centre_of_gravity() -> None:
    assert math.isnan(centre_of_gravity([], []))
    assert math.isnan(centre_of_gravity([0.0], [3.0]))
    assert np.isnan(centre_of_gravity([np.array([0.0, 2.0])], [3.0])).tolist() == [True, False]


def test_weights_and_places_must_pair_up() -> None:
    with pytest.raises(ValueError, match="shorter"):
        centre_of_gravity([1.0, 2.0], [1.0])
