"""Random numbers for formulas that take many rows at once."""

from collections.abc import Callable

import hypothesis.strategies as st
import numpy as np
from hypothesis import given, settings
from numpy.typing import NDArray

ROWS = 100


def law(test: Callable[..., None]) -> Callable[..., None]:
    """A law over several seeds, each of which makes a hundred rows."""
    return settings(max_examples=4)(given(seed=st.integers(0, 2**32))(test))


def random_column(
    rng: np.random.Generator, low: float, high: float, decimals: int
) -> NDArray[np.float64]:
    """A hundred numbers of a range, rounded.

    One in ten is the lowest, one in ten the highest, two in ten are whole: limits are met exactly
    and numbers are equal now and then.
    """
    values = rng.uniform(low, high, ROWS)
    share = rng.random(ROWS)
    whole = np.clip(np.round(values), low, high)
    values = np.select([share < 0.1, share < 0.2, share < 0.4], [low, high, whole], values)
    rounded: NDArray[np.float64] = np.round(values, decimals)
    return rounded
