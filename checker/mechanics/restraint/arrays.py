"""The array types of this room, and refusals of impossible numbers."""

import math
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

Vector: TypeAlias = tuple[float, float, float]
Array: TypeAlias = NDArray[np.float64]
Truth: TypeAlias = NDArray[np.bool_]
Whole: TypeAlias = NDArray[np.int64]

# Tolerance for the length of a stated direction, enough for one typed with seven digits.
_UNIT_LENGTH_TOLERANCE = 1e-6


def require(is_right: Truth, values: Array, what: str) -> None:
    """Raise ValueError for an impossible number; NaN means not stated and is accepted."""
    wrong = ~(is_right & np.isfinite(values)) & ~np.isnan(values)
    if wrong.any():
        raise ValueError(f"{what}, not {values[wrong][0]:g}")


def require_units(directions: Array, whose: str) -> None:
    """Raise ValueError if one of the directions (parts, 3, n) is stated and not of length 1."""
    lengths = np.sqrt((directions * directions).sum(axis=1))
    require(np.abs(lengths - 1.0) <= _UNIT_LENGTH_TOLERANCE, lengths, f"{whose} have length 1")


def require_unit(direction: Vector) -> None:
    """Raise ValueError for a direction of acceleration that is not of length 1."""
    length = math.hypot(*direction)
    if not abs(length - 1.0) <= _UNIT_LENGTH_TOLERANCE:
        raise ValueError(f"direction of the acceleration has length 1, not {length:g}")
