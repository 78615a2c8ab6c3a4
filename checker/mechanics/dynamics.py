"""Tongue weight under way (braking and grades), and deceleration of a stop."""

import numpy as np

from checker.mechanics.quantities import FOOT, as_number, quotient
from checker.units.arithmetic import Number

# 49 CFR 393.52 note (a) divides a deceleration in ft/s2 by this rounded gravity to get the
# braking force as a share of weight (CFR, 2015 annual edition).
_ROUNDED_GRAVITY = 32.2 * FOOT


def tongue_change_when_braking(
    weight: Number,
    deceleration_g: Number,
    cg_height: Number,
    ball_to_axle: Number,
    ball_height: Number,
    trailer_braked: Number,
) -> Number:
    """Tongue weight gained while the combination brakes.

    change = weight * deceleration_g * (cg_height - (1 - trailer_braked) * ball_height)
    / ball_to_axle. `trailer_braked` is 1 where the trailer stops itself and 0 where the ball
    holds it back; then the ball height counts too. Weight and result in N, deceleration in
    multiples of gravity, heights above ground and lengths in m. Source: statics, derived.
    """
    # A trailer that stops itself needs no ball height, so an unstated one must not spoil it.
    pushed_at = np.where(np.equal(trailer_braked, 1), 0.0, (1.0 - trailer_braked) * ball_height)
    return quotient(weight * deceleration_g * (cg_height - as_number(pushed_at)), ball_to_axle)


def tongue_on_grade(
    weight: Number,
    cg: Number,
    cg_height: Number,
    ball_height: Number,
    ball_to_axle: Number,
    grade: Number,
) -> Number:
    """Tongue weight on a grade, at right angles to the road.

    tongue = weight * (cos(slope) * (ball_to_axle - cg) - sin(slope) * (cg_height - ball_height))
    / ball_to_axle, with tan(slope) = grade, climbing positive, descending negative, the trailer
    brakes off. Weight and result in N, `cg` behind the ball and heights above the road in m,
    `grade` a ratio. Source: statics, derived.
    """
    slope = np.arctan(grade)
    lever = np.cos(slope) * (ball_to_axle - cg) - np.sin(slope) * (cg_height - ball_height)
    return quotient(weight * as_number(lever), ball_to_axle)


def mean_deceleration(speed: Number, distance: Number) -> Number:
    """Constant deceleration that stops from a speed within a distance.

    deceleration = speed^2 / (2 * distance). Speed in m/s, distance in m, result in m/s2. A
    measured distance includes the time to react, so the brakes did more than this.
    Source: kinematics, derived.
    """
    return quotient(speed * speed, 2.0 * distance)


def stopping_distance(speed: Number, deceleration: Number) -> Number:
    """Distance to stop at a constant deceleration, without reaction time.

    distance = speed^2 / (2 * deceleration). Speed in m/s, deceleration in m/s2, result in m.
    Source: kinematics, derived.
    """
    return quotient(speed * speed, 2.0 * deceleration)


def braking_share(deceleration: Number) -> Number:
    """Braking force as a share of the braked weight.

    share = deceleration / 32.2 ft/s2. Deceleration in m/s2, result a ratio.
    Source: 49 CFR 393.52 note (a), CFR, 2015 annual edition.
    """
    return deceleration / _ROUNDED_GRAVITY
