"""EN 12195-1:2010, lashing forces: stability, blocking, lashings over and from the article.

The body of the standard was not readable. Where a form of the German insurers' handbook
restates a balance of DIN EN 12195-1:2011 (the same text) that is said; clause numbers of section
5.4 and 5.5 are those the handbook lists (GDV Ladungssicherungshandbuch 4.1.1, text seen), 5.2
and 5.3 are from memory. Two things are left out on purpose: direct lashing combined with blocking
against tilting (5.5.3.3), which the handbook urges not to use, and every formula of the 2003
edition, which has its own module.

Arguments that all of them share: `coefficient` (c) and `vertical_coefficient` (c_z) in multiples
of gravity, in the direction considered; `friction` (mu) and its `conversion` (f_mu) for direct
lashing; `safety_factor` (f_s) of friction lashing; `angle` between lashing and deck and
`plan_angle` between lashing, seen from above, and the direction considered, in rad.
"""

from typing import NamedTuple

import numpy as np

from checker.mechanics.quantities import as_number
from checker.mechanics.standards.demand import force_not_held, moment_not_held, number_needed
from checker.units.arithmetic import RELATIVE_TOLERANCE, Number, at_least, more_than


class OpposedForces(NamedTuple):
    """Forces in two lashings that pull against each other, N."""

    loaded: Number
    slack: Number


def stable_against_tilting(
    lever: Number, cg_height: Number, coefficient: Number, vertical_coefficient: Number
) -> Number:
    """1 where an article does not tilt without lashings, 0 where it does; equality tilts.

    lever / cg_height > coefficient / vertical_coefficient, multiplied out. `lever` (b) from the
    centre of gravity to the tilting edge and `cg_height` (d) above it in m. Source: EN 12195-1
    5.2, from memory; the same rule on a German training page, secondary copy.
    """
    return more_than(as_number(lever * vertical_coefficient), as_number(coefficient * cg_height))


def stable_against_sliding(
    friction: Number, coefficient: Number, vertical_coefficient: Number
) -> Number:
    """1 where an article does not slide without lashings, 0 where it does; equality holds.

    friction * vertical_coefficient >= coefficient, ratios. Source: EN 12195-1 5.2, from memory.
    """
    return at_least(as_number(friction * vertical_coefficient), as_number(coefficient))


def blocking_capacity_needed(
    weight: Number, coefficient: Number, vertical_coefficient: Number, friction: Number
) -> Number:
    """Strength a blocking must have to hold an article without lashings.

    BC = max(0, (c - mu * c_z) * weight), N. Source: EN 12195-1 5.3, clause from memory; derived
    from GDV Ladungssicherungshandbuch, form 1a, without lashings.
    """
    return force_not_held(weight, coefficient, vertical_coefficient, friction)


def friction_lashing_effect(friction: Number, pretension: Number, angle: Number) -> Number:
    """Horizontal force that one lashing over the article holds by pressing it down.

    R = 2 * mu * F_T * sin(angle): two legs, each at the full `pretension` (F_T); no safety
    factor. Forces in N. Source: EN 12195-1 5.4.2 as in GDV Ladungssicherungshandbuch, form 1a,
    text seen.
    """
    return as_number(2.0 * friction * pretension * np.sin(angle))


def friction_lashings_against_sliding(
    weight: Number,
    coefficient: Number,
    vertical_coefficient: Number,
    friction: Number,
    pretension: Number,
    angle: Number,
    safety_factor: Number,
    blocking_capacity: Number,
) -> Number:
    """Number of lashings over an article that keep it from sliding, exact.

    n = max(0, (c - mu * c_z) * weight - BC) * f_s / (2 * mu * F_T * sin(angle)). The safety
    factor divides the lashings' effect only, never the blocking (BC) or the article's own
    friction. Forces in N; NaN where a lashing presses nothing down and something is left to
    hold. Source: EN 12195-1 5.4.2 as in GDV Ladungssicherungshandbuch, form 1a, text seen.
    """
    not_held = force_not_held(weight, coefficient, vertical_coefficient, friction)
    left_for_lashings = as_number(np.maximum(0.0, not_held - blocking_capacity))
    return number_needed(
        left_for_lashings * safety_factor, friction_lashing_effect(friction, pretension, angle)
    )


def friction_lashings_against_tilting(
    weight: Number,
    coefficient: Number,
    vertical_coefficient: Number,
    cg_height: Number,
    lever: Number,
    lashing_lever: Number,
    pretension: Number,
    angle: Number,
    safety_factor: Number,
) -> Number:
    """Number of lashings over an article that keep it from tilting, exact.

    n = max(0, c * d - c_z * b) * weight * f_s / (w * F_T * sin(angle)). The far leg pulls down
    at `lashing_lever` (w) from the tilting edge, the near leg at about none. Sideways the
    standard asks for the larger number of two cases, each with its own c and F_T. Forces in N,
    lengths in m. Source: EN 12195-1 5.4.3.1, derived; matches memory of the standard.
    """
    righting_moment = as_number(lashing_lever * pretension * np.sin(angle))
    return number_needed(
        moment_not_held(weight, coefficient, vertical_coefficient, cg_height, lever)
        * safety_factor,
        righting_moment,
    )


def friction_lashings_for_rows(
    weight: Number,
    coefficient: Number,
    vertical_coefficient: Number,
    rows: Number,
    height_to_width: Number,
    pretension: Number,
    angle: Number,
    safety_factor: Number,
) -> Number:
    """Number of lashings over rows standing free side by side that keep them from tilting, exact.

    n = max(0, c * rows * height_to_width - c_z) * weight * f_s / (2 * F_T * sin(angle)). Weight,
    height and width (H / B) are those of the whole section of equal rows, centre of gravity in
    the middle; one row is an article by itself. Forces in N. Source: EN 12195-1 5.4.3.2, derived.
    """
    # A row is 1 / rows of the width, half of which is its lever against half the height.
    not_held = moment_not_held(
        weight, coefficient, vertical_coefficient, rows * height_to_width, 1.0
    )
    return number_needed(not_held * safety_factor, as_number(2.0 * pretension * np.sin(angle)))


def direct_lashing_effect(
    force: Number, along: Number, down: Number, friction: Number, conversion: Number
) -> Number:
    """Horizontal force one lashing from the article holds, pulling and pressing.

    F_R * (along + f_mu * mu * down), none where the lashing does not tighten when the article
    moves (along not above zero). `along` and `down` are its direction cosines against the
    movement and towards the deck, those of both legs added for a half-loop round it (5.5.4.2,
    from memory); `force` (F_R, at most LC) and result in N. Source: EN 12195-1
    5.5.2 and 5.5.3.1 as in GDV Ladungssicherungshandbuch, form 1b, text seen.
    """
    pulls = force * (along + conversion * friction * down)
    # A lashing square to the movement has a cosine of rounding errors, not of nothing.
    slackens = np.less_equal(along, RELATIVE_TOLERANCE)
    return as_number(np.where(slackens, 0.0, pulls))


def direct_lashing_force_against_sliding(
    weight: Number,
    coefficient: Number,
    vertical_coefficient: Number,
    friction: Number,
    conversion: Number,
    angle: Number,
    plan_angle: Number,
    lashings: Number,
) -> Number:
    """Force each of several equal direct lashings must hold against sliding.

    F_R = max(0, c - f_mu * mu * c_z) * weight
    / (lashings * (cos(angle) * cos(plan_angle) + f_mu * mu * sin(angle))). `lashings` counts only
    those that tighten in this direction; forces in N, NaN where they do not tighten. Source:
    EN 12195-1 5.5.2 and 5.5.3.1 as in GDV Ladungssicherungshandbuch, form 1b, text seen.
    """
    along = as_number(np.cos(angle) * np.cos(plan_angle))
    down = as_number(np.sin(angle))
    return number_needed(
        force_not_held(weight, coefficient, vertical_coefficient, conversion * friction),
        lashings * direct_lashing_effect(1.0, along, down, friction, conversion),
    )


def direct_lashing_righting_moment(
    force: Number, angle: Number, plan_angle: Number, lashing_lever: Number, height: Number
) -> Number:
    """Moment one lashing from the article holds against tilting, never negative.

    F_R * (w * sin(angle) + h * cos(angle) * cos(plan_angle)). `lashing_lever` (w) is the distance
    of the attachment from the tilting edge and `height` (h) its height above it, in m; force in
    N, result in N*m. A lashing that would help the article over goes slack and holds nothing.
    Source: EN 12195-1 5.5.3.2; each moment in GDV Ladungssicherungshandbuch 4.1.2, text seen.
    """
    lever = lashing_lever * np.sin(angle) + height * np.cos(angle) * np.cos(plan_angle)
    return as_number(force * np.maximum(0.0, lever))


def leg_righting_moment(
    pretension: Number, down: Number, along: Number, lever: Number, height: Number
) -> Number:
    """Moment against tilting of one leg of a lashing over an article; negative where it helps it.

    F_T * (down * lever + along * height). `down` and `along` are the leg's direction cosines
    towards the deck and against the tilting, `lever` its distance from the tilting edge and
    `height` its height above it in m; force in N, result in N*m. Two legs equally steep, the near
    one over the edge, leave F_T * w * sin(angle), as in EN 12195-1 5.4.3.1. Source: statics,
    derived.
    """
    return as_number(pretension * (down * lever + along * height))


def direct_lashing_force_against_tilting(
    weight: Number,
    coefficient: Number,
    vertical_coefficient: Number,
    cg_height: Number,
    lever: Number,
    angle: Number,
    plan_angle: Number,
    lashing_lever: Number,
    height: Number,
    lashings: Number,
) -> Number:
    """Force each of several equal direct lashings must hold against tilting.

    F_R = max(0, c * d - c_z * b) * weight
    / (lashings * (w * sin(angle) + h * cos(angle) * cos(plan_angle))). Blocking is not counted.
    Forces in N, lengths in m. Source: EN 12195-1 5.5.3.2; each moment in GDV
    Ladungssicherungshandbuch 4.1.2, text seen.
    """
    one = direct_lashing_righting_moment(1.0, angle, plan_angle, lashing_lever, height)
    return number_needed(
        moment_not_held(weight, coefficient, vertical_coefficient, cg_height, lever),
        lashings * one,
    )


def loop_pairs_against_sliding(
    weight: Number,
    coefficient: Number,
    vertical_coefficient: Number,
    friction: Number,
    conversion: Number,
    lashing_capacity: Number,
    angle: Number,
) -> Number:
    """Number of pairs of half-loops that keep an article from sliding sideways, exact.

    n = max(0, c - f_mu * mu * c_z) * weight / (LC * (1 + cos(angle) + f_mu * mu * sin(angle))).
    Forces in N. Source: EN 12195-1 5.5.4.2, from memory.
    """
    pressed = conversion * friction * np.sin(angle)
    return number_needed(
        force_not_held(weight, coefficient, vertical_coefficient, conversion * friction),
        as_number(lashing_capacity * (1.0 + np.cos(angle) + pressed)),
    )


def springs_against_sliding(
    weight: Number,
    coefficient: Number,
    vertical_coefficient: Number,
    friction: Number,
    conversion: Number,
    lashing_capacity: Number,
    angle: Number,
) -> Number:
    """Number of spring lashings (slings round an article's end) that keep it from sliding, exact.

    n = max(0, c - f_mu * mu * c_z) * weight / (2 * LC * (cos(angle) + f_mu * mu * sin(angle))).
    Forces in N. Meant for angles up to 45 degrees. Source: EN 12195-1 5.5.5.2, from memory.
    """
    pressed = conversion * friction * np.sin(angle)
    return number_needed(
        force_not_held(weight, coefficient, vertical_coefficient, conversion * friction),
        as_number(2.0 * lashing_capacity * (np.cos(angle) + pressed)),
    )


def opposed_lashings(pretension: Number, force: Number) -> OpposedForces:
    """Forces in two equal direct lashings that pull against each other, under an outer force.

    loaded = max(pretension + force / 2, force), slack = max(pretension - force / 2, 0): they
    share the force (N, not negative) until the one goes slack; then the other has it all. A
    pretension above half of LC overloads the loaded one (GDV Ladungssicherungshandbuch 3.4.2,
    text seen).
    Source: statics of two equal springs, derived.
    """
    return OpposedForces(
        loaded=as_number(np.maximum(pretension + force / 2.0, force)),
        slack=as_number(np.maximum(pretension - force / 2.0, 0.0)),
    )


def inclination_for_test(
    coefficient: Number, vertical_coefficient: Number, resistance: Number
) -> Number:
    """Angle to which a loaded deck must be tilted to replace an acceleration in a test.

    angle = asin((c - gamma * c_z) / sqrt(1 + gamma^2)) + atan(gamma), the solution of
    sin(angle) - gamma * cos(angle) = c - gamma * c_z. `resistance` (gamma) is the smaller of the
    friction factor and b / d; result in rad, NaN where no tilt is as hard as the acceleration.
    Source: EN 12195-1 Annex D and CTU Code Annex 7 Appendix 5, idea from memory; formula derived.
    """
    gamma = np.asarray(resistance)
    sine = (coefficient - gamma * vertical_coefficient) / np.sqrt(1.0 + gamma * gamma)
    possible = np.where(np.abs(sine) <= 1.0, sine, np.nan)
    return as_number(np.arcsin(possible) + np.arctan(gamma))
