"""What a chock holds, by hand, and that it never holds more as it gets lower."""

import math

import numpy as np
import pytest

from checker.mechanics.chocks import chock_push


def test_a_chock_at_half_the_radius() -> None:
    """By hand: slope sqrt(2 * 2 * 1 - 1) / 1 = sqrt(3), so a push of 1000 N lifts 577 N of it."""
    assert chock_push(1000.0, 1.0, 2.0, 1e6) == pytest.approx(1000 - 1000 / math.sqrt(3))


def test_a_light_wheel_climbs_before_the_chock_gives_way() -> None:
    """By hand: it climbs at sqrt(3) * 200 N, which lifts all 200 N of it off the deck."""
    assert chock_push(1000.0, 1.0, 2.0, 200.0) == pytest.approx(200 * math.sqrt(3) - 200)


def test_no_wheel_climbs_a_chock_as_high_as_its_centre() -> None:
    assert chock_push(1000.0, 2.0, 2.0, 1.0) == chock_push(1000.0, 3.0, 2.0, 1.0) == 1000.0


def test_a_chock_below_three_tenths_of_the_radius_adds_nothing() -> None:
    """By hand: the slope is 1 at r (1 - sqrt(1/2)) = 0.2929 r."""
    assert chock_push(1000.0, 0.2928, 1.0, 1e6) == 0.0
    assert chock_push(1000.0, 0.2930, 1.0, 1e6) > 0.0


def test_higher_heavier_and_stronger_never_hold_less() -> None:
    heights = np.linspace(0.01, 1.5, 60)
    pushes = chock_push(1000.0, heights, 1.0, 700.0)
    assert (np.diff(pushes) >= 0).all()
    assert (np.diff(chock_push(1000.0, 0.6, 1.0, np.linspace(0.0, 2000.0, 60))) >= 0).all()
    assert (np.diff(chock_push(np.linspace(0.0, 2000.0, 60), 0.6, 1.0, 700.0)) >= 0).all()


@pytest.mark.parametrize("missing", range(4))
def test_what_is_not_stated_is_not_known(missing: int) -> None:
    figures = [1000.0, 1.0, 2.0, 500.0]
    figures[missing] = math.nan
    assert math.isnan(float(chock_push(*figures)))
