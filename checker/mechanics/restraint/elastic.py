"""The tension of each tiedown while the trailer brakes, turns or bumps: tiedowns as springs.

Limit analysis (`held_set`) finds the acceleration that can be held; this finds how tiedowns share
the load. Stiff and short ones carry more, and a tight one may be full while others are still loose.

The article is rigid and moves little. A tiedown pulls pre-tension + stiffness * stretch, or
nothing if that is negative. Contacts and blocks push in one direction only, as
springs a thousand times stiffer than the stiffest tiedown and without pre-load. Friction is left
out: tiedowns and blocks carry every sideways force, which makes their forces the largest, not
the likeliest. Pre-tension is the tension before the article settles.
Directions of pull are constant: if all tiedowns point at one vertical line, nothing resists the
start of a rotation about it, and the article counts as not held.

`spring_set` finds the displacement at rest, `first_full` the acceleration that fills the first
tiedown. Source: statics, derived.
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from checker.mechanics.quantities import quotient
from checker.mechanics.restraint.arrays import Array, Truth, Vector, Whole, require_unit
from checker.mechanics.restraint.bodies import Bodies, distinct, in_turn
from checker.mechanics.restraint.columns import EQUATIONS
from checker.mechanics.restraint.first_full import first_full
from checker.mechanics.restraint.spring_set import (
    NOT_HELD_RESIDUAL,
    Springs,
    inertia_loads,
    spring_set,
)

# A tiedown with a tension up to this share of the weight counts as loose.
_LOOSE = 1e-9
# Bodies computed at a time, to limit memory use.
_BODIES_IN_TURN = 512


class Settled(NamedTuple):
    """The positions and forces of n articles at rest under a steady acceleration.

    `stated`: every number is stated. `held`: the article comes to rest; if not, or if a number is
    not stated, all other values are NaN. `names` of the tiedowns, and which are `loose`,
    (tiedowns, n).
    `shifts` of the centre of gravity in m and `turns` in rad about x, y and z (as the moments of
    force: arm crossed with force), (3, n). `tensions`, `normals`, `pushes` in N, (parts, n);
    `utilisations` tension over limit. `residuals`: largest unbalanced force or scaled moment,
    as a share of the weight.
    """

    stated: Truth
    held: Truth
    names: tuple[str, ...]
    loose: Truth
    shifts: Array
    turns: Array
    tensions: Array
    utilisations: Array
    normals: Array
    pushes: Array
    residuals: Array

    def take(self, rows: Whole) -> "Settled":
        """Those of the given articles."""
        arrays = {name: part for name, part in self._asdict().items() if name != "names"}
        return self._replace(**{name: part.take(rows, axis=-1) for name, part in arrays.items()})


class StretchedTiedowns:
    """n bodies with elastic tiedowns, without friction.

    Raises ValueError if the numbers of springs and tiedowns differ.
    """

    def __init__(self, bodies: Bodies, springs: Springs) -> None:
        if springs.stiffnesses.shape != bodies.tiedowns.limits.shape:
            raise ValueError(
                f"{len(springs.stiffnesses)} springs for {len(bodies.tiedowns.limits)} tiedowns"
            )
        self._bodies = bodies = bodies.frictionless()
        unknown = np.isnan(springs.stiffnesses) | np.isnan(springs.pretensions)
        self._stated = bodies.stated & ~unknown.any(axis=0)
        self._numbers = np.concatenate([bodies.numbers, springs.stiffnesses, springs.pretensions])
        self._springs = spring_set(bodies, springs)

    def under(self, directions: Sequence[Vector], accelerations_g: float | Array) -> Settled:
        """The articles at rest under accelerations in unit directions: one of each for all, or (n).

        Minimise sum of force^2 / (2 * stiffness) over all springs, less the work of gravity and of
        the inertia force, with
        force = max(0, pre-tension + stiffness * stretch). Source: statics, derived.
        """
        for direction in directions:
            require_unit(direction)
        bodies, count = self._bodies, self._bodies.count
        ways = np.broadcast_to(np.array(directions).T, (3, count))
        accelerations = np.broadcast_to(accelerations_g, count)
        stated: Truth = self._stated & ~np.isnan(accelerations)
        rows = np.flatnonzero(stated)
        springs = self._springs.take(rows)
        loads = inertia_loads(ways[:, rows], accelerations[rows])
        moved, forces, residuals = springs.settle(loads, np.zeros((EQUATIONS, len(rows))))
        stays = residuals <= NOT_HELD_RESIDUAL
        rows, forces = rows[stays], forces[:, stays]
        tiedowns, contacts = len(bodies.tiedowns.names), len(bodies.contacts.names)

        def everywhere(values: Array) -> Array:
            every = np.full((*values.shape[:-1], count), np.nan)
            every[..., rows] = values
            return every

        tensions, normals, pushes = np.split(
            everywhere(forces * bodies.weights[rows]), [tiedowns, tiedowns + contacts]
        )
        held = np.zeros(count, dtype=bool)
        held[rows] = True
        return Settled(
            stated=stated,
            held=held,
            names=bodies.tiedowns.names,
            loose=tensions <= _LOOSE * bodies.weights,
            shifts=everywhere(moved[:3, stays]),
            turns=everywhere(moved[3:, stays] / bodies.levers[rows]),
            tensions=tensions,
            utilisations=np.asarray(quotient(tensions, bodies.tiedowns.limits)),
            normals=normals,
            pushes=pushes,
            residuals=everywhere(residuals[stays]),
        )

    def first_full(self, directions: Sequence[Vector], most: Array) -> Array:
        """Largest accelerations in g, (directions, n), at which no tiedown is over its limit.

        At most `most` (directions, n) g, the result of limit analysis without friction, which no
        sharing of the load can exceed. Zero if a tiedown is over its limit at rest, such as a light
        strap that is tightened too much. NaN if a number is not stated or there is no tiedown.

        Tensions are piecewise linear in the acceleration, so the search extrapolates the current
        piece, and halves the interval if that makes no progress. Bodies with equal numbers are
        computed once.
        """
        answers = np.full(most.shape, np.nan)
        if self._bodies.tiedowns.names:
            ways, stated = np.array(directions).T, np.flatnonzero(self._stated)
            first, back = distinct(np.concatenate([self._numbers, most])[:, stated])
            for rows in in_turn(stated[first], _BODIES_IN_TURN):
                answers[:, rows] = self._first_full(rows, ways, most[:, rows])
            answers[:, stated] = answers[:, stated[first][back]]
        return answers

    def _first_full(self, rows: Whole, ways: Array, most: Array) -> Array:
        springs, count = self._springs.take(rows), len(rows)
        gravity_alone = inertia_loads(np.zeros((3, count)), np.zeros(count))
        at_rest = springs.settle(gravity_alone, np.zeros((EQUATIONS, count)))[0]
        way, row = np.nonzero(~np.isnan(most))
        answers = np.full(most.shape, np.nan)
        answers[way, row] = first_full(
            springs.take(row), ways[:, way], most[way, row], at_rest[:, row]
        )
        return answers
