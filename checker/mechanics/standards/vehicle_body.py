"""Strength of vehicle bodies (EN 12642) and of lashing points (EN 12640). All from memory."""

import math
from typing import NamedTuple

import numpy as np

from checker.mechanics.quantities import STANDARD_GRAVITY, as_number
from checker.units.arithmetic import RELATIVE_TOLERANCE, Number


class Wall(NamedTuple):
    """One wall of a body of one strength code: share of the payload it bears, and the most."""

    code: str
    wall: str
    share_of_payload: float
    at_most_kilonewtons: float


class LashingPoint(NamedTuple):
    """Strength of the lashing points of vehicles up to a gross mass."""

    up_to_tonnes: float
    kilonewtons: float


# EN 12642, from memory. The side of code L is that of a box body.
BODY_WALLS = (
    Wall("L", "front", 0.40, 50.0),
    Wall("L", "rear", 0.25, 31.0),
    Wall("L", "side", 0.30, math.inf),
    Wall("XL", "front", 0.50, math.inf),
    Wall("XL", "rear", 0.30, math.inf),
    Wall("XL", "side", 0.40, math.inf),
)

# EN 12640, from memory. It begins above 3.5 t.
LASHING_POINTS_ABOVE_TONNES = 3.5
LASHING_POINTS = (
    LashingPoint(7.5, 8.0),
    LashingPoint(12.0, 10.0),
    LashingPoint(math.inf, 20.0),
)

_WALLS = {(line.code, line.wall): line for line in BODY_WALLS}
_TONNE = 1000.0 * STANDARD_GRAVITY
_EDGES = _TONNE * np.array(
    [LASHING_POINTS_ABOVE_TONNES, *(line.up_to_tonnes for line in LASHING_POINTS)]
)
# Nothing known below the first edge, nor of a vehicle whose mass is not stated.
_POINT_STRENGTHS = 1000.0 * np.array(
    [math.nan, *(line.kilonewtons for line in LASHING_POINTS), math.nan]
)


def wall_strength(code: str, wall: str, payload: Number) -> Number:
    """Force spread over a wall that the body of a vehicle bears.

    min(share * payload, cap) of the body's strength `code` (L or XL) and `wall` (front, rear or
    side). `payload` as a weight and result in N. Source: EN 12642, from memory.
    """
    line = _WALLS[code, wall]
    return as_number(np.minimum(line.share_of_payload * payload, 1000.0 * line.at_most_kilonewtons))


def lashing_point_strength(gross_weight: Number) -> Number:
    """Strength each lashing point of a vehicle has, NaN up to 3.5 t, where the standard is silent.

    `gross_weight` the vehicle may have and result in N. Source: EN 12640, from memory.
    """
    # NaN sorts behind every number, the infinite last edge included.
    row = np.searchsorted(_EDGES, gross_weight * (1.0 - RELATIVE_TOLERANCE))
    return as_number(_POINT_STRENGTHS[row])
