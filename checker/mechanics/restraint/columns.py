"""The columns of the linear programmes: what each unknown adds to the six equations.

Every programme finds the largest acceleration a, in multiples of gravity:

    maximise a,  with  columns @ amounts = gravity,  0 <= amounts <= upper

in six equations: three forces and three moments. The columns are the acceleration, single forces
with an upper limit, and contacts, each a pyramid of `CONE_EDGES` edges without a limit, or one
edge if no contact has friction.

Programmes are along the last axis of every array. All sums are over other axes, so a programme has
the same solution to the last bit in any batch, and an audit agrees with a single check.
"""

import numpy as np
from msgspec import Struct

from checker.mechanics.restraint.arrays import Array, Whole

# Coulomb's round cone is replaced by a pyramid inside it, so friction is never overstated. With 16
# edges it is exact along x, along y and at every 22.5 degrees between, and least midway between two
# edges: cos(pi/16) = 98.08 % of the true value.
CONE_EDGES = 16

_EDGE_ANGLE = 2.0 * np.pi / CONE_EDGES
# Exact zeros keep a symmetric body symmetric for the solver too.
EDGE_X = np.round(np.cos(_EDGE_ANGLE * np.arange(CONE_EDGES)), 15)
EDGE_Y = np.round(np.sin(_EDGE_ANGLE * np.arange(CONE_EDGES)), 15)

EQUATIONS = 6
GRAVITY = np.array([0.0, 0.0, 1.0, 0.0, 0.0, 0.0])[:, np.newaxis]
"""The load that the forces must balance, in multiples of the weight."""

ACCELERATION = 0
"""Index of the column of the acceleration."""


class Forces(Struct, frozen=True):
    """The unit forces on n bodies, in multiples of the weight.

    `singles` (singles, 6, n) and their upper limits (singles, n). `contacts` (3, contacts, 6, n):
    the upward push of every contact, its friction coefficient times 1 N along x, and the same
    along y.
    """

    singles: Array
    limits: Array
    contacts: Array

    def take(self, rows: Whole) -> "Forces":
        """The forces on the given bodies."""
        parts = (self.singles, self.limits, self.contacts)
        return Forces(*(part.take(rows, axis=-1) for part in parts))


class Columns(Struct, frozen=True):
    """The columns of n programmes.

    `every` (columns, 6, n): the acceleration; the single forces; the `edges` of each contact;
    the slacks of the six equations. `upper` (1 + single forces, n): the upper limits of the first
    of them. An equation that is left out is zero in every column.
    """

    every: Array
    upper: Array
    edges: int

    @property
    def singles(self) -> int:
        """Number of columns with an upper limit, the acceleration included."""
        return len(self.upper)

    @property
    def first_slack(self) -> int:
        """Number of the first slack: how many other columns there are."""
        return len(self.every) - EQUATIONS

    @property
    def count(self) -> int:
        """Number of programmes."""
        return len(self.upper[0])

    def take(self, rows: Whole) -> "Columns":
        """The columns of the given programmes."""
        every, upper = self.every.take(rows, axis=-1), self.upper.take(rows, axis=-1)
        return Columns(every, upper, self.edges)


def toward(forces: Forces, directions: Array, most: float) -> Columns:
    """The programmes of bodies accelerated in unit directions (3, n), up to `most` g.

    A direction of zeros is for a body at rest.
    """
    singles, contacts = 1 + len(forces.singles), len(forces.contacts[0])
    # Without friction all edges are the same.
    edges = CONE_EDGES if forces.contacts[1:].any() else 1
    first_slack, count = singles + edges * contacts, len(directions[0])
    every = np.zeros((first_slack + EQUATIONS, EQUATIONS, count))
    every[ACCELERATION, :3] = directions
    every[1:singles] = forces.singles
    up, along_x, along_y = forces.contacts[:, :, np.newaxis]
    cones = every[singles:first_slack].reshape(contacts, edges, EQUATIONS, count)
    np.multiply(EDGE_X[:edges, np.newaxis, np.newaxis], along_x, out=cones)
    cones += EDGE_Y[:edges, np.newaxis, np.newaxis] * along_y
    cones += up
    every[range(first_slack, len(every)), range(EQUATIONS)] = 1.0
    own = np.where(directions.any(axis=0), most, 0.0)
    return Columns(every, np.concatenate([own[np.newaxis], forces.limits]), edges)


def columns_of(columns: Columns, numbers: Whole) -> Array:
    """Some columns (6, ..., n) of each programme, by their numbers (..., n)."""
    count = columns.count
    equations = np.arange(EQUATIONS).reshape(-1, *[1] * numbers.ndim) * count
    place = numbers * (EQUATIONS * count) + np.arange(count)
    found: Array = columns.every.reshape(-1).take(equations + place)
    return found


def products(columns: Columns, multipliers: Array, out: Array | None = None) -> Array:
    """Multipliers (6, n) times every column but the slacks, (columns, n)."""
    return sums("kp,jkp->jp", multipliers, columns.every[:-EQUATIONS], out)


def gains(columns: Columns, multipliers: Array, aim: float) -> Array:
    """The gain of the objective for a unit more of each column (reduced costs), (columns, n).

    The objective is `aim` times the acceleration.
    """
    every = -products(columns, multipliers)
    every[ACCELERATION] += aim
    return every


def times(matrix: Array, vector: Array) -> Array:
    """Matrix (m, 6, n) times vector (6, n) of each programme."""
    return sums("ikp,kp->ip", matrix, vector)


def sums(subscripts: str, left: Array, right: Array, out: Array | None = None) -> Array:
    """An einsum of two arrays with programmes along the last axis, written to `out` if given.

    The same to the last bit for any number of programmes.
    """
    if left.shape[-1] == 1:
        # For a single programme numpy would add in another order.
        return sums(subscripts, left.repeat(2, axis=-1), right.repeat(2, axis=-1))[..., :1]
    found: Array = np.einsum(subscripts, left, right, out=out)
    return found
