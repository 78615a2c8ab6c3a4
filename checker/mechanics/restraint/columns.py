"""The columns of the linear programmes: what each unknown adds to the six equations.

Every programme finds the largest acceleration a, in multiples of gravity:

    maximise a,  with  columns @ amounts = gravity,  0 <= amounts <= upper

in six equations: three forces and three moments. The columns are the acceleration, single forces
with an upper limit, and contacts, each a pyramid of `CONE_EDGES` edges without a limit, or one
edge if no contact has friction. The edges of a contact are sums of three forces, and only these
are stored and multiplied.

Programmes are along the last axis of every array. All sums are over other axes, so a programme has
the same solution to the last bit in any batch, and an audit agrees with a single check.
"""

from functools import cache, cached_property

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
# Every edge as a sum of the upward push, and friction along x and along y.
_EDGES = np.stack([np.ones(CONE_EDGES), EDGE_X, EDGE_Y], axis=1)

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


class Columns(Struct, frozen=True, dict=True):
    """The columns of n programmes.

    They are numbered: the acceleration; the single forces; the first of the `edges` of every
    contact, then the next; the slacks of the six equations. `units` (units, 6, n): the
    acceleration; the single forces; the upward pushes of all contacts; their frictions along x,
    then along y. `upper` (1 + single forces, n): the upper limits of the first columns. An equation
    that is left out is zero in every unit.
    """

    units: Array
    upper: Array
    edges: int

    @cached_property
    def singles(self) -> int:
        """Number of columns with an upper limit, the acceleration included."""
        return len(self.upper)

    @cached_property
    def contacts(self) -> int:
        """Number of contacts."""
        return (len(self.units) - self.singles) // 3

    @cached_property
    def first_slack(self) -> int:
        """Number of the first slack: how many other columns there are."""
        return self.singles + self.contacts * self.edges

    @property
    def count(self) -> int:
        """Number of programmes."""
        return len(self.upper[0])

    def take(self, rows: Whole) -> "Columns":
        """The columns of the given programmes."""
        units, upper = self.units.take(rows, axis=-1), self.upper.take(rows, axis=-1)
        return Columns(units, upper, self.edges)

    @cached_property
    def places(self) -> Whole:
        """Places (3, 6, n) in `units` of the first unit and of those a column may have besides."""
        besides = np.arange(3).reshape(3, 1, 1) * self.contacts
        equations = np.arange(EQUATIONS).reshape(-1, 1)
        found: Whole = (besides * EQUATIONS + equations) * self.count + np.arange(self.count)
        return found


def toward(forces: Forces, directions: Array, most: float) -> Columns:
    """The programmes of bodies accelerated in unit directions (3, n), up to `most` g.

    A direction of zeros is for a body at rest.
    """
    # Without friction all edges are the same.
    edges = CONE_EDGES if forces.contacts[1:].any() else 1
    contacts = forces.contacts.reshape(3 * len(forces.contacts[0]), EQUATIONS, len(directions[0]))
    acceleration = np.zeros((1, EQUATIONS, len(directions[0])))
    acceleration[0, :3] = directions
    own = np.where(directions.any(axis=0), most, 0.0)
    return Columns(
        np.concatenate([acceleration, forces.singles, contacts]),
        np.concatenate([own[np.newaxis], forces.limits]),
        edges,
    )


@cache
def _made_of(singles: int, contacts: int, edges: int) -> tuple[Whole, Array]:
    """The first unit of every column, and the shares (3, columns) of the units it is made of."""
    first_slack = singles + edges * contacts
    units = np.zeros(first_slack + EQUATIONS, dtype=np.int64)
    units[:singles] = np.arange(singles)
    units[singles:first_slack] = singles + np.tile(np.arange(contacts), edges)
    shares = np.zeros((3, first_slack + EQUATIONS))
    shares[0, :singles] = 1.0
    shares[:, singles:first_slack] = _EDGES[:edges].repeat(contacts, axis=0).T
    return units, shares


def columns_of(columns: Columns, numbers: Whole) -> Array:
    """Some columns (6, ..., n) of each programme, by their numbers (..., n); zeros for a slack."""
    units, shares = _made_of(columns.singles, columns.contacts, columns.edges)
    places = columns.places.reshape(3, EQUATIONS, *[1] * (numbers.ndim - 1), columns.count)
    places = places + units.take(numbers) * (EQUATIONS * columns.count)
    parts = columns.units.reshape(-1).take(places)
    return sums("uk...p,u...p->k...p", parts, shares.take(numbers, axis=1))


def products(columns: Columns, multipliers: Array, out: Array | None = None) -> Array:
    """Multipliers (6, n) times every column but the slacks, (columns, n)."""
    singles, edges = columns.singles, columns.edges
    found = np.empty((columns.first_slack, columns.count)) if out is None else out
    units = sums("kp,jkp->jp", multipliers, columns.units)
    found[:singles] = units[:singles]
    if columns.contacts:
        by_edge = found[singles:].reshape(edges, -1)
        np.einsum("ei,ip->ep", _EDGES[:edges], units[singles:].reshape(3, -1), out=by_edge)
    return found


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
