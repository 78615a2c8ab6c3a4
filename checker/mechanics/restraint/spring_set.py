"""Articles on springs that push or pull one way: stiffness, forces and the displacement at rest.

The displacement at rest is the one of least potential energy, found by Newton's method; the energy
is piecewise quadratic, so a few steps are enough. Six displacements of an article: three of the
shift of its centre of gravity, three turns times lever (m). Source: statics, derived.
"""

import numpy as np
from msgspec import Struct

from checker.mechanics.restraint.arrays import Array, Whole, require
from checker.mechanics.restraint.bodies import Bodies
from checker.mechanics.restraint.columns import EQUATIONS, GRAVITY, sums, times

# Stiffness of deck and blocks relative to the stiffest tiedown. Their deformation changes tensions
# by about the inverse of this; a value ten times larger makes no measurable difference.
SUPPORT_STIFFNESS_RATIO = 1e3

# Stiffness added in every direction, as a share of the stiffest tiedown's. It keeps each step
# solvable if nothing resists a motion, and does not change the balance.
_ADDED_STIFFNESS_RATIO = 1e-9

NOT_HELD_RESIDUAL = 1e-6
"""An article with a residual above this share of the weight does not come to rest."""

# Residual at which the search for the displacement ends, as a share of the weight.
_FOUND = 1e-12
# Usually fewer than ten steps are needed.
_MOST_STEPS = 50
# An article that has moved this far, in m, counts as not held; else the search would not end.
_LOST = 1e3


class Springs(Struct, frozen=True):
    """The stiffness and pre-tension of the tiedowns of n bodies, both (tiedowns, n).

    `stiffnesses` E * A / length in N/m; `pretensions` in N. Raises ValueError if a stated number is
    impossible.
    """

    stiffnesses: Array
    pretensions: Array

    def __post_init__(self) -> None:
        stiff, drawn = self.stiffnesses, self.pretensions
        require(stiff > 0, stiff, "stiffnesses are finite and positive")
        require(drawn >= 0, drawn, "pre-tensions are finite and not negative")

    def take(self, rows: Whole) -> "Springs":
        """The springs of the given bodies."""
        return Springs(self.stiffnesses[:, rows], self.pretensions[:, rows])


class SpringSet(Struct, frozen=True):
    """All springs of n bodies, tiedowns first; forces in multiples of the weight.

    `wrenches` (springs, 6, n); `limits` (tiedowns, n); `added` (n): added stiffness.
    """

    wrenches: Array
    stiffnesses: Array
    preloads: Array
    limits: Array
    added: Array

    def take(self, rows: Whole) -> "SpringSet":
        """The springs of the given bodies."""
        return SpringSet(
            *(
                part.take(rows, axis=-1)
                for part in (
                    self.wrenches,
                    self.stiffnesses,
                    self.preloads,
                    self.limits,
                    self.added,
                )
            )
        )

    def signed(self, moved: Array) -> Array:
        """Forces (springs, n) after six displacements (6, n), negative where a spring is loose."""
        return self.preloads - self.stiffnesses * times(self.wrenches, moved)

    def wrench(self, forces: Array) -> Array:
        """The total wrench (6, n) of forces (springs, n) on the articles."""
        return sums("mip,mp->ip", self.wrenches, forces)

    def give(self, signed: Array, loads: Array) -> Array:
        """Displacements (6, n) under loads (6, n), with the given springs active.

        NaN if the resistance cannot be distinguished from rounding.
        """
        acting = np.where(signed > 0.0, self.stiffnesses, 0.0)[:, np.newaxis] * self.wrenches
        stiffness = sums("mip,mjp->ijp", acting, self.wrenches)
        stiffness[range(EQUATIONS), range(EQUATIONS)] += self.added
        return _solve(stiffness, loads)

    def settle(self, loads: Array, moved: Array) -> tuple[Array, Array, Array]:
        """Displacements of least energy, the forces there, and the residuals.

        Starts from the displacements `moved`. Where the residual exceeds `NOT_HELD_RESIDUAL` the
        article does not come to rest.
        """
        moved = moved.copy()
        rows = np.arange(loads.shape[1])
        springs, steady = self, loads
        for _ in range(_MOST_STEPS):
            here = moved[:, rows]
            signed = springs.signed(here)
            unbalanced = springs.wrench(np.maximum(signed, 0.0)) + steady
            going_on = np.flatnonzero(
                (np.abs(unbalanced).max(axis=0) > _FOUND) & (np.abs(here).max(axis=0) <= _LOST)
            )
            if not len(going_on):
                break
            if len(going_on) < len(rows):
                rows, springs, steady = rows[going_on], springs.take(going_on), steady[:, going_on]
                here, signed = here[:, going_on], signed[:, going_on]
                unbalanced = unbalanced[:, going_on]
            step = springs.give(signed, unbalanced)
            along = times(springs.wrenches, step)
            full = signed - springs.stiffnesses * along
            # If the same springs are active at its end, a full step gives the balance.
            bent = np.flatnonzero(((full > 0.0) != (signed > 0.0)).any(axis=0))
            length = np.ones(len(rows))
            length[bent] = _step_length(
                signed[:, bent],
                along[:, bent],
                springs.stiffnesses[:, bent],
                (step * steady).sum(axis=0)[bent],
            )
            moved[:, rows] = here + step * length
        forces = np.maximum(self.signed(moved), 0.0)
        left = self.wrench(forces) + loads
        return moved, forces, np.abs(left).max(axis=0)


def spring_set(bodies: Bodies, springs: Springs) -> SpringSet:
    """Tiedowns, contacts and blocks of the bodies as springs."""
    supports = len(bodies.contacts.names) + len(bodies.blocks.names)
    # Without tiedowns any scale is valid, as all springs are then equally stiff supports.
    stiffest = springs.stiffnesses.max(axis=0, initial=0.0)
    stiffest = np.where(stiffest == 0.0, bodies.weights, stiffest)
    support = np.repeat(SUPPORT_STIFFNESS_RATIO * stiffest[np.newaxis], supports, axis=0)
    # In multiples of the weight all numbers stay near one.
    return SpringSet(
        np.concatenate(
            [bodies.tiedown_wrenches(), bodies.contact_wrenches()[2], bodies.block_wrenches()]
        ),
        np.concatenate([springs.stiffnesses, support]) / bodies.weights,
        np.concatenate([springs.pretensions, np.zeros_like(support)]) / bodies.weights,
        bodies.tiedowns.limits / bodies.weights,
        _ADDED_STIFFNESS_RATIO * stiffest / bodies.weights,
    )


def inertia_loads(directions: Array, accelerations: Array) -> Array:
    """The wrench of gravity and the acceleration on each article, (6, n)."""
    loads = np.repeat(-GRAVITY, len(accelerations), axis=1)
    loads[:3] += accelerations * directions
    return loads


def _solve(matrix: Array, right: Array) -> Array:
    """Solve n symmetric systems (6, 6, n) by elimination; overwrites the matrices.

    Ten times as fast as numpy, which calls LAPACK for each system.
    """
    solution = right.copy()
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        for pivot in range(EQUATIONS - 1):
            factors = matrix[pivot + 1 :, pivot] / matrix[pivot, pivot]
            matrix[pivot + 1 :, pivot + 1 :] -= factors[:, np.newaxis] * matrix[pivot, pivot + 1 :]
            solution[pivot + 1 :] -= factors * solution[pivot]
        for pivot in reversed(range(EQUATIONS)):
            solution[pivot] /= matrix[pivot, pivot]
            solution[:pivot] -= matrix[:pivot, pivot] * solution[pivot]
    return solution


def _step_length(signed: Array, along: Array, stiffnesses: Array, steady: Array) -> Array:
    """The length along each step at which the energy is least, where the force along it is zero.

    That force is piecewise linear, with a bend wherever a spring becomes slack or tight.
    """
    change = -stiffnesses * along

    def force(lengths: Array) -> Array:
        total = steady.copy()
        for share, start, slope in zip(along, signed, change, strict=True):
            total += share * np.maximum(start + lengths * slope, 0.0)
        return total

    bends = np.full_like(change, np.inf)
    np.divide(-signed, change, out=bends, where=change != 0.0)
    bends[bends <= 0.0] = np.inf
    bends.sort(axis=0)
    near, far = np.zeros_like(steady), np.full_like(steady, np.inf)
    searching = np.ones(len(steady), dtype=bool)
    for bend in bends:
        if not searching.any():
            break
        falls = force(np.where(np.isinf(bend), 0.0, bend)) > 0.0
        passed = searching & np.isfinite(bend) & falls
        searching &= passed
        far = np.where(passed, np.inf, np.where(np.isinf(far), bend, far))
        near = np.where(passed, bend, near)
    # Beyond the last bend the force is linear, so any two points define it.
    end = np.where(np.isinf(far), near + 1.0, far)
    at_near = force(near)
    drop = at_near - force(end)
    # If the force never falls, nothing stops the article, and any length is valid.
    share = np.ones_like(drop)
    np.divide(at_near, drop, out=share, where=drop > 0.0)
    return near + (end - near) * share
