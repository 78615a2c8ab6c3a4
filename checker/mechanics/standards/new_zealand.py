"""New Zealand, Truck Loading Code: strength of the tiedowns on a rigid load.

Strength here is rated strength, not pretension; the code rates chain and wire at their breaking
force and webbing at half of it (NZTA basic criteria, text seen).
"""

from checker.mechanics.quantities import quotient
from checker.units.arithmetic import Number


def strength_needed_per_tiedown(
    weight: Number, strength_over_weight: Number, tiedowns: Number
) -> Number:
    """Rated strength each of several equal tiedowns needs.

    strength_over_weight * weight / tiedowns; the multiple falls with the height of the headboard.
    Weight and strength in N. Source: Truck Loading Code (2014), Figure 3, secondary copy (article
    restating it).
    """
    return quotient(strength_over_weight * weight, tiedowns)
