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

The displacement is the one of least potential energy, found by Newton's method; the energy is
piecewise quadratic, so a few steps are enough. Source: statics, derived.
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from msgspec import Struct

from checker.mechanics.quantities import quotient
from checker.mechanics.restraint.bodies import Bodies, in_turn, require
from checker.mechanics.restraint.body import Array, Truth, Vector, Whole, require_unit
from checker.mechanics.restraint.simplex import EQUATIONS, GRAVITY, sums, times

# Stiffness of deck and blocks relative to the stiffest tiedown. Their deformation changes tensions
# by about the inverse of this; a value ten times larger makes no measurable difference.
SUPPORT_STIFFNESS_RATIO = 1e3

# Stiffness added in every direction, as a share of the stiffest tiedown's. It keeps each step
# solvable if nothing resists a motion, and does not change the balance.
_ADDED_STIFFNESS_RATIO = 1e-9

# Largest residual of a balance, as a share of the weight.
_FOUND = 1e-12
_NOT_HELD = 1e-6
# A tiedown with a tension up to this share of the weight counts as loose.
_LOOSE = 1e-9
# Usually fewer than ten steps are needed.
_MOST_STEPS = 50
# An article that has moved this far, in m, counts as not held; else the search would not end.
_LOST = 1e3
# Tolerance of the search for the first tiedown at its limit, as a share of the limit or in g.
_CLOSE = 1e-10
_MOST_GUESSES = 60
# Bodies computed at a time, to limit memory use.
_BODIES_IN_TURN = 512


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


class StretchedTiedowns:
    """n bodies with elastic tiedowns, without friction.

    Raises ValueError if the numbers of springs and tiedowns differ.
    """

    def __init__(self, bodies: Bodies, springs: Springs) -> None:
        if springs.stiffnesses.shape != bodies.tiedowns.limits.shape:
            raise ValueError(
                f"{len(springs.stiffnesses)} springs for {len(bodies.tiedowns.limits)} tiedowns"
            )
        self._bodies = bodies
        unknown = np.isnan(springs.stiffnesses) | np.isnan(springs.pretensions)
        self._stated = bodies.stated & ~unknown.any(axis=0)
        self._springs = _springs(bodies, springs)

    def under(self, directions: Array, accelerations: Array) -> Settled:
        """The articles at rest under accelerations (n) g in unit directions (3, n).

        Minimise sum of force^2 / (2 * stiffness) over all springs, less the work of gravity and of
        the inertia force, with
        force = max(0, pre-tension + stiffness * stretch). Source: statics, derived.
        """
        for direction in np.unique(directions, axis=1).T:
            require_unit((direction[0], direction[1], direction[2]), "the acceleration")
        bodies, count = self._bodies, self._bodies.count
        stated = self._stated & ~np.isnan(accelerations)
        rows = np.flatnonzero(stated)
        springs = self._springs.take(rows)
        loads = _loads(directions[:, rows], accelerations[rows])
        moved, forces, residuals = springs.settle(loads, np.zeros((EQUATIONS, len(rows))))
        stays = residuals <= _NOT_HELD
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
        piece, and halves the interval if that makes no progress.
        """
        answers = np.full(most.shape, np.nan)
        if self._bodies.tiedowns.names:
            ways = np.array(directions).T
            for rows in in_turn(np.flatnonzero(self._stated), _BODIES_IN_TURN):
                answers[:, rows] = self._first_full(rows, ways, most[:, rows])
        return answers

    def _first_full(self, rows: Whole, ways: Array, most: Array) -> Array:
        springs, count = self._springs.take(rows), len(rows)
        loads = np.repeat(-GRAVITY, count, axis=1)
        at_rest = springs.settle(loads, np.zeros((EQUATIONS, count)))[0]
        way, row = np.nonzero(~np.isnan(most))
        answers = np.full(most.shape, np.nan)
        answers[way, row] = _first_full(
            springs.take(row), ways[:, way], most[way, row], at_rest[:, row]
        )
        return answers


class _Springs(Struct, frozen=True):
    """All springs of n bodies, tiedowns first; forces in multiples of the weight.

    `wrenches` (springs, 6, n); `limits` (tiedowns, n); `added` (n): added stiffness.
    """

    wrenches: Array
    stiffnesses: Array
    preloads: Array
    limits: Array
    added: Array

    def take(self, rows: Whole) -> "_Springs":
        return _Springs(
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

        Starts from the displacements `moved`: three of the shift of the centre of gravity, three
        turns times lever (m).
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


def _springs(bodies: Bodies, springs: Springs) -> _Springs:
    supports = len(bodies.contacts.names) + len(bodies.blocks.names)
    # Without tiedowns any scale is valid, as all springs are then equally stiff supports.
    stiffest = springs.stiffnesses.max(axis=0, initial=0.0)
    stiffest = np.where(stiffest == 0.0, bodies.weights, stiffest)
    support = np.repeat(SUPPORT_STIFFNESS_RATIO * stiffest[np.newaxis], supports, axis=0)
    # In multiples of the weight all numbers stay near one.
    return _Springs(
        np.concatenate(
            [bodies.tiedown_wrenches(), bodies.contact_wrenches()[2], bodies.block_wrenches()]
        ),
        np.concatenate([springs.stiffnesses, support]) / bodies.weights,
        np.concatenate([springs.pretensions, np.zeros_like(support)]) / bodies.weights,
        bodies.tiedowns.limits / bodies.weights,
        _ADDED_STIFFNESS_RATIO * stiffest / bodies.weights,
    )


def _loads(directions: Array, accelerations: Array) -> Array:
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


def _first_full(springs: _Springs, directions: Array, most: Array, moved: Array) -> Array:
    """The accelerations at which the first tiedown reaches its limit, in g, up to `most`.

    `moved`: the displacements at rest.
    """
    answers, high = np.zeros_like(most), most.copy()
    rows, asked = np.arange(len(most)), np.zeros_like(most)
    low = np.zeros_like(most)
    untried: Truth = np.ones(len(most), dtype=bool)
    for guess in range(_MOST_GUESSES):
        moved, forces, residuals = springs.settle(_loads(directions, asked), moved)
        over = _over(springs, forces, residuals)
        within = over <= _CLOSE
        low, high = np.where(within, asked, low), np.where(within, high, asked)
        untried &= within
        answers[rows] = low
        full = (np.abs(over) <= _CLOSE) & (asked > 0.0)
        going_on = np.flatnonzero(~full & (high - low > _CLOSE))
        if not len(going_on):
            break
        # A position at which nothing holds cannot be a start.
        moved = np.where(np.isinf(over), 0.0, moved)
        rows, directions, springs = rows[going_on], directions[:, going_on], springs.take(going_on)
        untried, moved = untried[going_on], moved[:, going_on]
        low, high, asked = low[going_on], high[going_on], asked[going_on]
        middle = (low + high) / 2.0
        asked = middle if guess % 3 == 2 else _end_of_piece(springs, directions, asked, moved)
        asked = np.where((asked >= high) & untried, high, asked)
        asked = np.where((asked > low) & ((asked < high) | untried), asked, middle)
    return answers


def _over(springs: _Springs, forces: Array, residuals: Array) -> Array:
    """Largest excess of a tension over its limit, as a share of it; infinite if nothing holds."""
    limits = springs.limits
    shares = np.full_like(limits, np.inf)
    np.divide(forces[: len(limits)], limits, out=shares, where=limits > 0.0)
    return np.where(residuals <= _NOT_HELD, shares.max(axis=0) - 1.0, np.inf)


def _end_of_piece(springs: _Springs, directions: Array, asked: Array, moved: Array) -> Array:
    """Accelerations at which the first tiedown reaches its limit, by linear extrapolation."""
    signed = springs.signed(moved)
    give = springs.give(signed, _loads(directions, np.ones_like(asked)) + GRAVITY)
    count = len(springs.limits)
    rates = np.where(signed > 0.0, -springs.stiffnesses * times(springs.wrenches, give), 0.0)[
        :count
    ]
    ways = np.full_like(rates, np.inf)
    np.divide(springs.limits - np.maximum(signed[:count], 0.0), rates, out=ways, where=rates > 0.0)
    shortest: Array = ways.min(axis=0)
    return asked + shortest
