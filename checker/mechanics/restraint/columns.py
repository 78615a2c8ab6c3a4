"""The columns of the linear programmes: what each unknown adds to the six equations.

Every programme finds the largest acceleration a, in multiples of gravity:

    maximise a,  with  columns @ amounts = gravity,  0 <= amounts <= upper

in six equations: three forces and three moments. The columns are the acceleration, single forces
with an upper limit, and contacts, each a pyramid of `CONE_EDGES` edges without a limit. The edges
of a pyramid are not priced one by one: three products with the multipliers give the largest gain of
any edge in closed form.

Programmes are along the last axis of every array. All sums are over other axes, so a programme has
the same solution to the last bit in any batch, and an audit agrees with a single check.
"""

import numpy as np
from msgspec import Struct

from checker.mechanics.restraint.arrays import Array, Truth, Whole

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
"""Index of the column of the acceleration, in `frames` and in a basis."""


class Columns(Struct, frozen=True):
    """The columns of n programmes.

    `frames` (1 + singles + 3 * contacts, 6, n): the acceleration; the single forces; then the
    upward push of every contact, its friction coefficient times 1 N along x, and the same along y.
    `upper` (1 + singles, n): upper limits of the acceleration and the single forces. An equation
    that is left out is zero in every column.
    """

    frames: Array
    upper: Array

    @property
    def singles(self) -> int:
        """Number of columns with an upper limit, the acceleration included."""
        return len(self.upper)

    @property
    def contacts(self) -> int:
        """Number of contacts."""
        return (len(self.frames) - len(self.upper)) // 3

    @property
    def count(self) -> int:
        """Number of programmes."""
        return len(self.frames[0, 0])

    def take(self, rows: Whole) -> "Columns":
        """The columns of the given programmes."""
        return Columns(self.frames.take(rows, axis=2), self.upper.take(rows, axis=1))


def columns_of(columns: Columns, numbers: Whole) -> Array:
    """Some columns (6, ..., n) of each programme, by their numbers (..., n).

    0 is the acceleration, then come the single forces, then `CONE_EDGES` edges of each contact,
    then the slacks of the six equations.
    """
    singles, contacts, count = columns.singles, columns.contacts, columns.count
    flat = columns.frames.reshape(-1)
    contact, edge = np.divmod(numbers - singles, CONE_EDGES)
    is_edge = (contact >= 0) & (contact < contacts)
    frame = np.where(is_edge, singles + contact, np.minimum(numbers, singles - 1))
    equations = np.arange(EQUATIONS).reshape(-1, *[1] * numbers.ndim)
    place = (frame * EQUATIONS + equations) * count + np.arange(count)
    column: Array = flat.take(place)
    if contacts:
        # The frames of friction along x and along y follow those of all upward pushes.
        place += np.where(is_edge, contacts * EQUATIONS * count, 0)
        column += np.where(is_edge, EDGE_X.take(edge), 0.0) * flat.take(place)
        place += np.where(is_edge, contacts * EQUATIONS * count, 0)
        column += np.where(is_edge, EDGE_Y.take(edge), 0.0) * flat.take(place)
    slack = numbers - (singles + CONE_EDGES * contacts)
    return np.where(slack >= 0, slack == equations, column)


def products(frames: Array, singles: int, multipliers: Array) -> Array:
    """Multipliers (6, n) times every frame, contacts along the edges with the largest product.

    As many rows as there are frames: those of friction follow as they are.
    """
    found = sums("kp,jkp->jp", multipliers, frames)
    contacts = (len(frames) - singles) // 3
    if contacts:
        along_x, along_y = np.abs(found[singles + contacts :]).reshape(2, contacts, -1)
        # The edges are symmetric, so those of an eighth of the circle are enough.
        more, less = np.maximum(along_x, along_y), np.minimum(along_x, along_y)
        friction = np.maximum(more, EDGE_X[1] * more + EDGE_Y[1] * less)
        np.maximum(friction, EDGE_X[2] * (more + less), out=friction)
        found[singles : singles + contacts] += friction
    return found


def best_edges(along_x: Array, along_y: Array) -> Whole:
    """The edges with the largest product, from the products of friction along x and along y."""
    turns = np.rint(np.arctan2(along_y, along_x) * (1.0 / _EDGE_ANGLE))
    edges: Whole = turns.astype(np.int64) % CONE_EDGES
    return edges


def gains(columns: Columns, multipliers: Array, aims: Truth) -> Array:
    """The gain of the objective for a unit more of each column (reduced costs).

    (1 + singles + contacts, n), contacts along the edges with the largest gain; `aims` (n): the
    objective is the acceleration.
    """
    every = products(columns.frames, columns.singles, -multipliers)
    every[ACCELERATION] += aims
    return every[: columns.singles + columns.contacts]


def times(matrix: Array, vector: Array) -> Array:
    """Matrix (m, 6, n) times vector (6, n) of each programme."""
    return sums("ikp,kp->ip", matrix, vector)


def sums(subscripts: str, left: Array, right: Array) -> Array:
    """An einsum of two arrays with programmes along the last axis.

    The same to the last bit for any number of programmes.
    """
    if left.shape[-1] == 1:
        # For a single programme numpy would add in another order.
        return sums(subscripts, left.repeat(2, axis=-1), right.repeat(2, axis=-1))[..., :1]
    found: Array = np.einsum(subscripts, left, right)
    return found
