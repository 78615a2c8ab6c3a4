"""IMO/ILO/UNECE CTU Code, Annex 7: tight stow, timber battens and dunnage bags."""

import numpy as np

from checker.mechanics.quantities import as_number, quotient
from checker.mechanics.standards.demand import force_not_held
from checker.units.arithmetic import Number

# The printed rule is in kN, centimetres and metres: n * w^2 * h / (28 * L).
_BATTEN_STRENGTH = 1000.0 * 100.0**3 / 28.0  # N/m2


def tight_stow_restraint(
    weight: Number,
    vertical_coefficient: Number,
    friction: Number,
    wall_coefficient: Number,
    payload: Number,
    added_securing: Number,
) -> Number:
    """Horizontal force that restrains a cargo stowed tight against a wall.

    wall_coefficient * payload + friction * vertical_coefficient * weight + added_securing, to be
    at least c * weight. `wall_coefficient` (r) is the share of the unit's `payload` its wall
    bears; weight, payload and forces in N. Without a wall (0) it is the balance of battens or
    other bracing. Source: CTU Code Annex 7 section 4.2, secondary copy (trade article); battens
    Appendix 4, text seen (UNECE web edition, version comparison).
    """
    return wall_coefficient * payload + friction * vertical_coefficient * weight + added_securing


def batten_strength(
    battens: Number, thickness: Number, height: Number, free_length: Number
) -> Number:
    """Force that transverse timber battens bear before they break.

    F = n * w^2 * h / (28 * L) in kN with w and h in cm and L in m as printed; here `thickness`
    (w, along the force), `height` (h) and `free_length` (L) in m and the result in N. Source:
    CTU Code Annex 7 Appendix 4 section 1, formula from memory; the number printed with it agrees
    (UNECE web edition, version comparison, text seen).
    """
    section = thickness * thickness * height
    return _BATTEN_STRENGTH * battens * quotient(section, free_length)


def dunnage_bag_force_from_sliding(
    weight: Number,
    coefficient: Number,
    vertical_coefficient: Number,
    friction: Number,
    conversion: Number,
) -> Number:
    """Force a sliding cargo puts on the dunnage bag beside it.

    F = max(0, (c - conversion * mu * c_z) * weight), N; `conversion` makes sliding friction of
    the static factor. Source: CTU Code Annex 7 Appendix 4, text seen (UNECE web edition, version
    comparison).
    """
    return force_not_held(weight, coefficient, vertical_coefficient, conversion * friction)


def dunnage_bag_force_from_tipping(
    weight: Number,
    coefficient: Number,
    vertical_coefficient: Number,
    base: Number,
    height: Number,
) -> Number:
    """Force a tipping cargo puts on the dunnage bag beside it.

    F = max(0, (c - base / height * c_z) * weight), N; `base` and `height` of one package in m.
    Source: CTU Code Annex 7 Appendix 4, text seen (UNECE web edition, version comparison).
    """
    return as_number(
        np.maximum(0.0, (coefficient - quotient(base, height) * vertical_coefficient) * weight)
    )
