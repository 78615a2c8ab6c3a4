"""Which way a tiedown pulls, and how hard it must pull to do its work."""

from collections.abc import Sequence

import numpy as np

from checker.mechanics.quantities import as_number, quotient
from checker.units.arithmetic import Number

Direction = tuple[Number, Number, Number]


def direction_cosines(
    from_point: Sequence[Number], to_point: Sequence[Number]
) -> tuple[Direction, Number]:
    """Direction from one point to another, and the distance between them.

    cosine = (to - from) / distance for x (rearward), y (left) and z (up). Points and distance in
    m, cosines ratios; NaN cosines where both points are the same. Source: geometry.
    """
    along_x, along_y, along_z = (
        end - start for start, end in zip(from_point, to_point, strict=True)
    )
    # hypot keeps lengths of any size; a sum of squares does not.
    distance = as_number(np.hypot(np.hypot(along_x, along_y), along_z))
    return (
        quotient(along_x, distance),
        quotient(along_y, distance),
        quotient(along_z, distance),
    ), distance


def angle_above_deck(direction: Direction) -> Number:
    """Angle between a tiedown and the deck, never negative.

    angle = atan2(|z|, sqrt(x^2 + y^2)). Direction cosines in, rad out, 0 to pi/2; which end is
    up makes no difference. Source: geometry.
    """
    along_x, along_y, along_z = direction
    return as_number(np.arctan2(np.abs(along_z), np.hypot(along_x, along_y)))


def plan_angle(direction: Direction) -> Number:
    """Angle, seen from above, between a tiedown and the trailer's long axis.

    angle = atan2(|y|, |x|). Direction cosines in, rad out: 0 pulls straight along the trailer,
    pi/2 straight across it. Source: geometry.
    """
    along_x, along_y, _ = direction
    return as_number(np.arctan2(np.abs(along_y), np.abs(along_x)))


def tension_for_vertical(force: Number, angle: Number) -> Number:
    """Tension at which one tiedown pulls down with a wanted force.

    tension = force / sin(angle). Forces in N, `angle` above the deck in rad; NaN for a tiedown
    flat on the deck. Source: statics, derived.
    """
    return quotient(force, as_number(np.sin(angle)))


def tension_for_horizontal(force: Number, angle: Number, plan_angle_from_force: Number) -> Number:
    """Tension at which one tiedown pulls along a horizontal direction with a wanted force.

    tension = force / (cos(angle) * cos(plan_angle_from_force)). Forces in N; `angle` above the
    deck and `plan_angle_from_force` between tiedown and wanted direction seen from above, both
    in rad. Source: statics, derived.
    """
    return quotient(force, as_number(np.cos(angle) * np.cos(plan_angle_from_force)))
