"""Quick lashing guides of the CTU Code family: one table angle each, the worst mode of transport.

The guides print tonnes per lashing; here the same sums give the number of lashings a weight
needs, so that "none needed" is a plain zero. The printed tables were not readable: structure text
seen (MSC.1/Circ.1498 in a web edition), own calculations, the table angles from memory.

Each mode of transport is a pair (horizontal, vertical) of coefficients in multiples of gravity
(c, c_z) in the direction considered; the mode that needs most lashings governs. Editions differ
in modes, factors and equipment, never mix their answers. Weights and forces in N.
"""

import math
from collections.abc import Iterable, Sequence
from functools import reduce

import numpy as np

from checker.mechanics.quantities import as_number
from checker.mechanics.standards import en_12195_1
from checker.mechanics.standards.demand import force_not_held, number_needed
from checker.units.arithmetic import Number

Modes = Sequence[tuple[Number, Number]]

# Top-over tables hold from 75 to 90 degrees; straight lashings from 30 to 60 above the deck and
# in plan: each angle here is the worst of its range. Springs up to 45, half-loops upright.
TOP_OVER_ANGLE = math.radians(75.0)
STRAIGHT_ANGLE = math.radians(60.0)
SPRING_ANGLE = math.radians(45.0)
HALF_LOOP_ANGLE = math.radians(90.0)


def _most(numbers: Iterable[Number]) -> Number:
    return as_number(reduce(np.maximum, numbers))


def top_over_against_sliding(
    weight: Number, modes: Modes, friction: Number, pretension: Number, safety_factor: Number
) -> Number:
    """Number of top-over lashings a weight needs against sliding, exact.

    n = weight * f_s * max(0, c - mu * c_z) / (2 * mu * F_T * sin(75 deg)). Source: generator of
    the guides' tables, derived from EN 12195-1 5.4.2; values of the EN version from memory
    agree in two figures.
    """
    return _most(
        en_12195_1.friction_lashings_against_sliding(
            weight, horizontal, vertical, friction, pretension, TOP_OVER_ANGLE, safety_factor, 0.0
        )
        for horizontal, vertical in modes
    )


def top_over_against_tipping(
    weight: Number,
    modes: Modes,
    rows: Number,
    height_to_width: Number,
    pretension: Number,
    safety_factor: Number,
) -> Number:
    """Number of top-over lashings a section of equal rows needs against tipping, exact.

    n = weight * f_s * max(0, c * rows * height_to_width - c_z) / (2 * F_T * sin(75 deg)).
    Source: generator of the guides' tables, derived.
    """
    return _most(
        en_12195_1.friction_lashings_for_rows(
            weight,
            horizontal,
            vertical,
            rows,
            height_to_width,
            pretension,
            TOP_OVER_ANGLE,
            safety_factor,
        )
        for horizontal, vertical in modes
    )


def straight_against_sliding(
    weight: Number, modes: Modes, friction: Number, conversion: Number, securing_load: Number
) -> Number:
    """Number of straight lashings a weight needs against sliding, exact.

    n = weight * max(0, c - f_mu * mu * c_z) / (MSL * (cos(60 deg)^2 + f_mu * mu * sin(60 deg))).
    Source: generator of the guides' tables, derived; two values of the EN version from memory
    agree in two figures.
    """
    along = math.cos(STRAIGHT_ANGLE) ** 2
    down = math.sin(STRAIGHT_ANGLE)
    one = en_12195_1.direct_lashing_effect(securing_load, along, down, friction, conversion)
    return _most(
        number_needed(force_not_held(weight, horizontal, vertical, conversion * friction), one)
        for horizontal, vertical in modes
    )


def springs_against_sliding(
    weight: Number, modes: Modes, friction: Number, conversion: Number, securing_load: Number
) -> Number:
    """Number of spring lashings a weight needs against sliding, exact.

    n = weight * max(0, c - f_mu * mu * c_z) / (2 * MSL * (cos(45 deg) + f_mu * mu * sin(45 deg))).
    Source: generator of the guides' tables, from memory.
    """
    return _most(
        en_12195_1.springs_against_sliding(
            weight, horizontal, vertical, friction, conversion, securing_load, SPRING_ANGLE
        )
        for horizontal, vertical in modes
    )


def half_loop_pairs_against_sliding(
    weight: Number, modes: Modes, friction: Number, conversion: Number, securing_load: Number
) -> Number:
    """Number of pairs of half-loops a weight needs against sliding sideways, exact.

    n = weight * max(0, c - f_mu * mu * c_z) / (MSL * (1 + f_mu * mu)). Source: generator of the
    guides' tables, from memory.
    """
    return _most(
        en_12195_1.loop_pairs_against_sliding(
            weight, horizontal, vertical, friction, conversion, securing_load, HALF_LOOP_ANGLE
        )
        for horizontal, vertical in modes
    )
