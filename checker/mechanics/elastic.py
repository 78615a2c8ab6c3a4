"""What each tiedown pulls while the trailer brakes, turns or bumps: tiedowns as springs.

Limit analysis (`restraint`) asks what can be held; this asks who carries it. Stiff and short
tiedowns take more than their share, and a tight one may be full while others still hang loose.

The article is rigid and moves little. A tiedown pulls pre-tension + stiffness * stretch, and
nothing once that is negative. Contacts push up and blocks push their way, likewise one way, as
springs a thousand times stiffer than the stiffest tiedown and without pre-load. Friction is left
out: tiedowns and blocks carry every sideways force, which makes their forces the largest, not
the likeliest. Pre-tension is what the tiedown is tightened to before the article settles.
Directions of pull stay as they are: where all tiedowns point at one upright line, nothing
resists the first bit of turning about it, and the article counts as not held.

The displacement is the one of least potential energy, found by Newton's method; the energy is
made of pieces of parabolas, so it ends after a few steps. Source: statics, derived.
"""

import math
from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from msgspec import Struct

from checker.mechanics.quantities import quotient
from checker.mechanics.restraint_body import (
    Array,
    Body,
    Vector,
    block_wrenches,
    contact_wrenches,
    lever,
    require_unit,
    tiedown_wrenches,
)

# How much stiffer than the stiffest tiedown the deck and the blocks are. Their give changes
# tensions by about this share's inverse; ten times more gains nothing that can be measured.
SUPPORT_STIFFNESS_RATIO = 1e3

# What is added to the stiffness in every direction, as a share of the stiffest tiedown's. It keeps
# each step solvable where nothing resists a motion, and leaves the balance itself untouched.
_ADDED_STIFFNESS_RATIO = 1e-9

# Residual, as a share of the weight, at which a balance is found and above which none is.
_FOUND = 1e-12
_NOT_HELD = 1e-6
# A tension up to this share of the weight is none: the tiedown hangs loose or just about.
_LOOSE = 1e-9
# Ten steps are many.
_MOST_STEPS = 50
# An article that has moved this far, m, is held by nothing; without this it would go on moving.
_LOST = 1e3


class Spring(Struct, frozen=True):
    """How one tiedown stretches: stiffness E * A / length in N/m, pre-tension in N."""

    stiffness: float
    pretension: float

    def __post_init__(self) -> None:
        if self.stiffness <= 0 or math.isinf(self.stiffness):
            raise ValueError(f"stiffness is finite and positive, not {self.stiffness:g}")
        if self.pretension < 0 or math.isinf(self.pretension):
            raise ValueError(f"pre-tension is finite and not negative, not {self.pretension:g}")


class Stretched(Struct, frozen=True):
    """The article where it comes to rest under a steady acceleration.

    `held`: something stops it; where nothing does, or a number is not stated, all else is NaN.
    `shift` of the centre of gravity in m, `turn` in rad about x, y and z (as the moments of
    force: arm crossed with force). `tensions`, `normals`, `pushes` in N in the order of the
    body's parts; `utilisations` tension over limit, `peak_utilisation` the largest of them and
    NaN where there is no tiedown. `slack`: names of the tiedowns that hang loose.
    `residual`: largest force or scaled moment left unbalanced, as a share of the weight.
    """

    held: bool
    shift: Vector
    turn: Vector
    tensions: tuple[float, ...]
    utilisations: tuple[float, ...]
    peak_utilisation: float
    slack: tuple[str, ...]
    normals: tuple[float, ...]
    pushes: tuple[float, ...]
    residual: float


def stretched(
    body: Body, springs: Sequence[Spring], direction: Vector, acceleration_g: float
) -> Stretched:
    """Tensions of all tiedowns under a steady acceleration in one direction.

    Minimise sum of force^2 / (2 * stiffness) over all springs, less the work of gravity and of
    acceleration_g * weight along the unit `direction` the article wants to move in, with
    force = max(0, pre-tension + stiffness * stretch). `springs` in the order of the body's
    tiedowns. Source: statics, derived.
    """
    require_unit(direction, "the acceleration")
    stiffness_of_tiedowns = np.array([spring.stiffness for spring in springs], dtype=float)
    pretensions = np.array([spring.pretension for spring in springs], dtype=float)
    if len(springs) != len(body.tiedowns):
        raise ValueError(f"{len(springs)} springs for {len(body.tiedowns)} tiedowns")
    stated = [*stiffness_of_tiedowns, *pretensions, *direction, acceleration_g]
    if not body.is_stated or any(map(math.isnan, stated)):
        return _not_held(body)

    wrenches = _unit_forces(body)
    supports = len(body.contacts) + len(body.blocks)
    # Without tiedowns any scale will do: then all springs are equally stiff supports.
    stiffest = stiffness_of_tiedowns.max(initial=0.0) or body.weight
    # In multiples of the weight all numbers stay near one.
    stiffnesses = (
        np.concatenate(
            [stiffness_of_tiedowns, np.full(supports, SUPPORT_STIFFNESS_RATIO * stiffest)]
        )
        / body.weight
    )
    preloads = np.concatenate([pretensions, np.zeros(supports)]) / body.weight
    load = np.zeros(6)
    load[:3] = acceleration_g * np.array(direction)
    load[2] -= 1.0
    added = _ADDED_STIFFNESS_RATIO * stiffest / body.weight

    moved = _settle(wrenches, stiffnesses, preloads, load, added)
    forces = np.maximum(0.0, preloads - stiffnesses * (moved @ wrenches))
    residual = float(np.abs(wrenches @ forces + load).max())
    if residual > _NOT_HELD:
        return _not_held(body)
    return _at_rest(body, moved, forces * body.weight, residual)


@lru_cache(maxsize=16)
def _unit_forces(body: Body) -> Array:
    """Forces and moments from 1 N in each tiedown, contact and block, one column for each.

    Cached, because the same body is solved at many accelerations.
    """
    parts = [tiedown_wrenches(body), contact_wrenches(body)[2], block_wrenches(body)]
    return np.hstack(parts)


def _settle(
    wrenches: Array, stiffnesses: Array, preloads: Array, load: Array, added: float
) -> Array:
    """Six displacements of least energy: shift of the centre of gravity, turn times lever (m)."""
    moved = np.zeros(6)
    for _ in range(_MOST_STEPS):
        signed = preloads - stiffnesses * (moved @ wrenches)
        unbalanced = wrenches @ np.maximum(signed, 0.0) + load
        if np.abs(unbalanced).max() <= _FOUND or np.abs(moved).max() > _LOST:
            break
        acting = wrenches[:, signed > 0.0]
        stiffness = (acting * stiffnesses[signed > 0.0]) @ acting.T + added * np.eye(6)
        try:
            step = np.linalg.solve(stiffness, unbalanced)
        except np.linalg.LinAlgError:
            # Springs too soft to be told from none: nothing stops the article.
            return np.full(6, 2.0 * _LOST)
        along = step @ wrenches
        moved = moved + step * _step_length(signed, along, stiffnesses, float(step @ load))
    return moved


def _step_length(signed: Array, along: Array, stiffnesses: Array, steady: float) -> float:
    """How far along one step the energy falls: where the force along the step has died down.

    That force falls in straight pieces, with a bend wherever a spring goes slack or takes hold.
    """
    change = -stiffnesses * along

    def force(length: float) -> float:
        return float(along @ np.maximum(signed + length * change, 0.0)) + steady

    moving = change != 0.0
    bends = -signed[moving] / change[moving]
    near = 0.0
    for far in [*np.sort(bends[bends > 0.0]), np.inf]:
        # Beyond the last bend the force is one straight line, which any two points give.
        end = float(far) if far < np.inf else near + 1.0
        if far == np.inf or force(end) <= 0.0:
            break
        near = end
    drop = force(near) - force(end)
    # Where it never falls nothing stops the article; any length does then.
    return near + (end - near) * force(near) / drop if drop > 0.0 else end


def _at_rest(body: Body, moved: Array, forces: Array, residual: float) -> Stretched:
    tiedowns, contacts = len(body.tiedowns), len(body.contacts)
    tensions, normals, pushes = np.split(forces, [tiedowns, tiedowns + contacts])
    limits = np.array([tiedown.limit for tiedown in body.tiedowns], dtype=float)
    utilisations = np.asarray(quotient(tensions, limits))
    shift_x, shift_y, shift_z, turn_x, turn_y, turn_z = (float(value) for value in moved)
    scale = lever(body)
    return Stretched(
        held=True,
        shift=(shift_x, shift_y, shift_z),
        turn=(turn_x / scale, turn_y / scale, turn_z / scale),
        tensions=tuple(map(float, tensions)),
        utilisations=tuple(map(float, utilisations)),
        peak_utilisation=float(utilisations.max()) if tiedowns else math.nan,
        slack=tuple(
            tiedown.name
            for tiedown, tension in zip(body.tiedowns, tensions, strict=True)
            if tension <= _LOOSE * body.weight
        ),
        normals=tuple(map(float, normals)),
        pushes=tuple(map(float, pushes)),
        residual=residual,
    )


def _not_held(body: Body) -> Stretched:
    nowhere = (math.nan, math.nan, math.nan)
    per_tiedown = (math.nan,) * len(body.tiedowns)
    return Stretched(
        held=False,
        shift=nowhere,
        turn=nowhere,
        tensions=per_tiedown,
        utilisations=per_tiedown,
        peak_utilisation=math.nan,
        slack=(),
        normals=(math.nan,) * len(body.contacts),
        pushes=(math.nan,) * len(body.blocks),
        residual=math.nan,
    )
