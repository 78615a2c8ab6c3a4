"""The force or moment that an article's own weight and friction do not resist."""

import numpy as np

from checker.mechanics.quantities import as_number, quotient
from checker.units.arithmetic import Number, at_least


def _beyond(demand: Number, held: Number, weight: Number) -> Number:
    """(demand - held) * weight, and exactly 0 where both are equal within rounding."""
    enough = np.equal(at_least(as_number(held), as_number(demand)), 1)
    return as_number(np.where(enough, 0.0, (demand - held) * weight))


def force_not_held(
    weight: Number, coefficient: Number, vertical_coefficient: Number, friction: Number
) -> Number:
    """Horizontal force that friction under the article does not hold, never negative.

    force = max(0, (coefficient - friction * vertical_coefficient) * weight). `coefficient` is the
    horizontal acceleration (c) and `vertical_coefficient` the least downward one (c_z), both in
    multiples of gravity; `friction` the factor under the article; weight and result in N. A
    weight of 1 gives the need as a share of weight. Source: statics, derived; without c_z also
    in the insurers' container handbooks (GDV), text seen.
    """
    return _beyond(coefficient, friction * vertical_coefficient, weight)


def moment_not_held(
    weight: Number,
    coefficient: Number,
    vertical_coefficient: Number,
    cg_height: Number,
    lever: Number,
) -> Number:
    """Tilting moment that the article's weight does not hold, never negative.

    moment = max(0, (coefficient * cg_height - vertical_coefficient * lever) * weight). Height of
    the centre of gravity above the tilting edge (d) and its horizontal distance from that edge
    (b) in m, coefficients (c, c_z) in multiples of gravity, weight in N, result in N*m.
    Source: statics, derived.
    """
    return _beyond(coefficient * cg_height, vertical_coefficient * lever, weight)


def number_needed(not_held: Number, held_by_one: Number) -> Number:
    """How many equal lashings or blocks a force or moment needs, exact, not rounded up.

    number = not_held / held_by_one, both in N or both in N*m. Zero where nothing is left to hold;
    NaN where one of them holds nothing, because no number of them is then enough. Source:
    arithmetic.
    """
    # A hold that works the other way must not come out as a small number of lashings.
    useful = np.where(np.less(held_by_one, 0), np.nan, held_by_one)
    return as_number(np.where(np.equal(not_held, 0), 0.0, quotient(not_held, as_number(useful))))
