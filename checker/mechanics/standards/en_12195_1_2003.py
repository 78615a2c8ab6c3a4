"""EN 12195-1:2003, friction lashing against sliding: for comparison with older plans only.

Replaced by the 2010 edition. Its formula against tilting could give endless or negative numbers
and is left out on purpose (Jagelcak 2007 and Kaps, text seen).
"""

import numpy as np

from checker.mechanics.quantities import as_number
from checker.mechanics.standards.demand import force_not_held, number_needed
from checker.units.arithmetic import Number


def friction_lashings_against_sliding(
    weight: Number,
    coefficient: Number,
    vertical_coefficient: Number,
    sliding_friction: Number,
    pretension: Number,
    angle: Number,
    transmission: Number,
) -> Number:
    """Number of lashings over an article that keep it from sliding, exact.

    n = max(0, (c - mu_D * c_z) * weight) / (k * mu_D * F_T * sin(angle)). `sliding_friction`
    (mu_D) is lower than static friction; `transmission` (k) says how much of the tension reaches
    the far side, 2 being all of it; `angle` above the deck in rad, forces in N. Source:
    EN 12195-1:2003; its factors as compared by the IRU Academy (November 2010), text seen; the
    formula itself is known from secondary texts only.
    """
    return number_needed(
        force_not_held(weight, coefficient, vertical_coefficient, sliding_friction),
        as_number(transmission * sliding_friction * pretension * np.sin(angle)),
    )
