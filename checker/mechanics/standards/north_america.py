"""Canada, NSC Standard 10: working load limits counted together, and the least number of tiedowns.

The shape of the least number is that of the United States rule as well (49 CFR 393.110); the
figures are arguments.
"""

import numpy as np

from checker.mechanics.quantities import as_number, quotient
from checker.units.arithmetic import Number, at_least, both, steps_up


def counted_working_load_limit(
    working_load_limit: Number, ends_on_vehicle: Number, share_per_end: Number
) -> Number:
    """What one tiedown adds to the working load limits of all.

    share_per_end * ends_on_vehicle * working_load_limit: a strap over the article has two ends on
    the vehicle, a tiedown from the article one. Limits in N. Source: NSC Standard 10 (June 2013),
    minimum strength, secondary copy (strap supplier); section 10 from memory.
    """
    return share_per_end * ends_on_vehicle * working_load_limit


def fewest_tiedowns(
    length: Number,
    weight: Number,
    blocked_in_front: Number,
    short_length: Number,
    light_weight: Number,
    step_length: Number,
) -> Number:
    """Least number of tiedowns for an article, by its length and weight; a whole number.

    Not blocked: 2, and 1 more per further step or part of one beyond the first; 1 less where it
    is both short and light. Blocked in front: 1 per step or part of one. A length or weight equal
    to its limit is within it. Lengths in m, weights in N, `blocked_in_front` 1 or 0. Source: NSC
    Standard 10 section 22, content from memory.
    """
    steps = as_number(np.maximum(1.0, steps_up(quotient(length, step_length))))
    short_and_light = both(
        at_least(as_number(short_length), as_number(length)),
        at_least(as_number(light_weight), as_number(weight)),
    )
    unblocked = 1.0 + steps - short_and_light
    either_way = np.where(np.equal(blocked_in_front, 0), unblocked, np.nan)
    return as_number(np.where(np.equal(blocked_in_front, 1), steps, either_way))
