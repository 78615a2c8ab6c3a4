"""VDI 2700 part 2, securing forces: pretension of lashings over the article."""

import numpy as np

from checker.mechanics.quantities import as_number
from checker.mechanics.standards.demand import force_not_held, number_needed
from checker.units.arithmetic import Number


def pretension_needed(
    weight: Number,
    coefficient: Number,
    sliding_friction: Number,
    angle: Number,
    transmission: Number,
) -> Number:
    """Pretension that all lashings over an article need together to keep it from sliding.

    F_V = max(0, c - mu_D) * weight / (mu_D * sin(angle) * k). `coefficient` (c) in multiples of
    gravity, `sliding_friction` (mu_D) and `transmission` (k, 2 where all of the tension reaches
    the far side) ratios, `angle` above the deck in rad, forces in N. Source: VDI 2700 part 2,
    from memory.
    """
    return number_needed(
        force_not_held(weight, coefficient, 1.0, sliding_friction),
        as_number(sliding_friction * np.sin(angle) * transmission),
    )
