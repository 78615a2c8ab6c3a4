"""Australia, NTC Load Restraint Guide 2018: direct restraint and tie-down.

The guide's body was not readable. Its lashing capacities have a rating basis of their own: a
chain's is half its breaking strength, while other countries rate the same chain otherwise.
"""

import numpy as np

from checker.mechanics.quantities import as_number, quotient
from checker.mechanics.standards.demand import force_not_held, number_needed
from checker.units.arithmetic import Number


def angle_effect(distance: Number, lashing_length: Number) -> Number:
    """Share of a direct lashing's pull that works in one direction (AE).

    AE = distance along that direction / lashing length, both in m. The guide's tables want it
    rounded down to their columns, its own sums do not round. Source: guide pp. 281-282 through
    industry training (HVIA) and a regulator's case study (NHVR), text seen.
    """
    return quotient(distance, lashing_length)


def lashing_capacity_needed(
    weight: Number, coefficient: Number, effect: Number, lashings: Number
) -> Number:
    """Lashing capacity that each of several equal direct lashings needs in one direction.

    LC = coefficient * weight / (lashings * effect), friction left out. `coefficient` in multiples
    of gravity, `effect` as `angle_effect`, `lashings` those that act in this direction; forces in
    N. Source: guide Tables 10 and 11, pp. 281-282, through industry training (HVIA) and a
    regulator's case study (NHVR), text seen.
    """
    return number_needed(coefficient * weight, lashings * effect)


def tie_downs_needed(
    weight: Number, coefficient: Number, friction: Number, pretension: Number, angle: Number
) -> Number:
    """Number of lashings over a load that keep it from sliding, exact.

    n = weight * max(0, coefficient - friction) / (2 * friction * pretension * sin(angle)), no
    safety factor. `angle` above the deck in rad, forces in N. Source: guide's tie-down form, from
    memory.
    """
    return number_needed(
        force_not_held(weight, coefficient, 1.0, friction),
        as_number(2.0 * friction * pretension * np.sin(angle)),
    )
