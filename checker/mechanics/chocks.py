"""What a wheel chock holds: a wheel that pushes against it may climb it."""

import numpy as np

from checker.mechanics.quantities import as_number
from checker.units.arithmetic import Number


def chock_push(strength: Number, height: Number, radius: Number, on_wheel: Number) -> Number:
    """The push along the deck, in N, that a chock adds to what friction holds; 0 if it is too low.

    `strength` is the push that the chock itself withstands along the deck and `on_wheel` the weight
    on its wheel, both in N; `height` of the chock and `radius` of the wheel (from the deck to the
    centre) in m. The top edge of a chock that is lower than the centre pushes at the wheel's
    centre, so it lifts the wheel with push / slope, slope = sqrt(2 r h - h^2) / (r - h), which
    climbs where that is all of its weight. What it lifts no longer rubs: counted as if friction
    were 1, as no deck rubs more. So a chock below 1 - sqrt(1/2) = 0.29 of the radius adds nothing.
    Source: statics of a wheel at a step.
    """
    height, radius = np.asarray(height, dtype=float), np.asarray(radius, dtype=float)
    below = np.maximum(radius - height, 0.0)
    reach = np.sqrt(np.maximum(radius**2 - below**2, 0.0))
    with np.errstate(divide="ignore"):
        slope = np.where(below > 0.0, reach / below, np.inf)
    at_most = np.minimum(strength, np.where(np.isinf(slope), np.inf, slope * on_wheel))
    counted = at_most * np.where(slope > 1.0, 1.0 - 1.0 / np.maximum(slope, 1.0), 0.0)
    return as_number(np.where(np.isnan(height + radius + on_wheel), np.nan, counted))
