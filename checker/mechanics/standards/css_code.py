"""IMO CSS Code, Annex 13: strength of lashings aboard ship, and restraint of a non-standard cargo.

Read in the consolidated web edition of 2024 unless a docstring says otherwise.
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from checker.mechanics.quantities import STANDARD_GRAVITY, as_number, quotient
from checker.units.arithmetic import Number


class SecuringLoad(NamedTuple):
    """One line of the table: the share of breaking strength that a device may be loaded to."""

    device: str
    share_of_breaking_strength: float


# CSS Code Annex 13 section 4 Table 1, text seen, in the order of the print. Its line for timber
# (0.3 kN/cm2 across the grain) is a pressure and not a share of a breaking strength.
SECURING_LOADS = (
    SecuringLoad("shackles, rings, deck eyes, turnbuckles of mild steel", 0.50),
    SecuringLoad("fibre rope", 0.33),
    SecuringLoad("web lashing", 0.50),
    SecuringLoad("wire rope, single use", 0.80),
    SecuringLoad("wire rope, re-usable", 0.30),
    SecuringLoad("steel band, single use", 0.70),
    SecuringLoad("chain", 0.50),
)

_SHARES = {line.device: line.share_of_breaking_strength for line in SECURING_LOADS}


class Effects(NamedTuple):
    """Share of a lashing's strength that holds a cargo across and along the ship."""

    across: Number
    along: Number


def maximum_securing_load(device: str, breaking_strength: Number) -> Number:
    """The load that a securing device may carry (MSL).

    MSL = share of the table * breaking_strength, N. Of devices in line the lowest governs.
    Source: CSS Code Annex 13 section 4 Table 1, text seen.
    """
    return _SHARES[device] * breaking_strength


def calculated_strength(securing_load: Number, divisor: Number) -> Number:
    """The strength of a lashing that a balance of forces may count (CS).

    CS = MSL / divisor, N; the divisor belongs to the method (basic or alternative) and covers
    uneven sharing. Source: CSS Code Annex 13, text seen through its worked examples.
    """
    return quotient(securing_load, divisor)


def outer_force(
    weight: Number, acceleration: Number, correction: Number, wind: Number, sea: Number
) -> Number:
    """Force on a cargo aboard ship in one direction.

    F = weight / g * acceleration * correction + wind + sea. `acceleration` from the code's tables
    in m/s2, `correction` for length and speed of the ship a ratio; weight, wind and sea-sloshing
    force and result in N. Source: CSS Code Annex 13 section 7.2, text seen in the worked example.
    """
    return weight / STANDARD_GRAVITY * acceleration * correction + wind + sea


def lashing_effects(friction: Number, angle: Number, plan_angle_from_across: Number) -> Effects:
    """Shares of a lashing's strength that hold a cargo (f-values).

    across = friction * sin(angle) + cos(angle) * cos(plan_angle_from_across), along the same with
    the sine of the plan angle. **The plan angle is counted from straight across the ship**; zero
    gives the f-value of the basic method. Angles in rad, the other above the deck. Source: CSS
    Code Annex 13 sections 7.2 (basic) and 7.3 (alternative), text seen.
    """
    pressed = friction * np.sin(angle)
    level = np.cos(angle)
    return Effects(
        across=as_number(pressed + level * np.cos(plan_angle_from_across)),
        along=as_number(pressed + level * np.sin(plan_angle_from_across)),
    )


def transverse_capacity(weight: Number, friction: Number, lashings: Sequence[Number]) -> Number:
    """Force across the ship that friction and the lashings of one side resist.

    friction * weight + sum of lashings, each counted as calculated strength * effect across. All
    forces in N. Source: CSS Code Annex 13 sections 7.2 and 7.3, text seen.
    """
    return sum(lashings, start=friction * weight)


def longitudinal_capacity(
    weight: Number,
    friction: Number,
    lashings: Sequence[Number],
    vertical_force: Number,
    vertical_share: Number,
) -> Number:
    """Force along the ship that friction and the lashings of one end resist.

    friction * (weight - vertical_share * vertical_force) + sum of lashings, each counted as
    calculated strength * effect along; `vertical_share` (f_z) is 1 before the text of 2020. All
    forces in N. Source: CSS Code Annex 13 section 7.3; f_z text seen, form from memory.
    """
    left_on_deck = weight - vertical_share * vertical_force
    return sum(lashings, start=friction * left_on_deck)


def righting_moment(
    weight: Number, lever: Number, lashing_moments: Sequence[Number], strength_share: Number
) -> Number:
    """Moment that resists tipping; it must be at least outer force * its height.

    lever * weight + strength_share * sum of lashing moments, each a calculated strength times its
    lever about the tipping axis; `lever` (b) of the weight in m, weight in N, moments in N*m.
    Source: CSS Code Annex 13 section 7.2 in the worked example, text seen; counting the lashings,
    and only a share of their strength in the alternative method, from memory.
    """
    return sum((strength_share * moment for moment in lashing_moments), start=lever * weight)
