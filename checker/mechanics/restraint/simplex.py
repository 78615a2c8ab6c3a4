"""Solves many small linear programmes of the same size at once, by a batched primal simplex.

Every programme maximises the acceleration a, in multiples of gravity:

    maximise a,  with  columns @ amounts = gravity,  0 <= amounts <= upper

in six equations: three forces and three moments. Its columns are those of `Columns`: the
acceleration, single forces with an upper limit, and contacts, each a pyramid of `CONE_EDGES` edges
without an upper limit. Pricing does not visit each edge: three numbers of the multipliers give the
best edge of a pyramid in closed form.

Programmes are along the last axis of every array. All sums are over other axes, so the answer to a
programme does not depend on the others in the batch, not even by rounding; an audit in parts and a
single check agree.

Method: bounded primal simplex with the sum of infeasibilities as first phase, G. Dantzig; batches
after N. Gurung and R. Ray, arXiv 1609.08114. No kept library solves many small programmes at once
on a processor.
"""

from typing import NamedTuple

import numpy as np
from msgspec import Struct

from checker.mechanics.restraint.body import Array, Truth, Whole

# Coulomb's round cone is replaced by a pyramid inside it. With 16 edges friction is never
# overstated, exact along x, along y and every 22.5 degrees between, and at worst (midway)
# cos(pi/16) = 98.08 % of the true one.
CONE_EDGES = 16

_EDGE_ANGLE = 2.0 * np.pi / CONE_EDGES
# Exact zeros keep a symmetric body symmetric for the solver.
EDGE_X = np.round(np.cos(_EDGE_ANGLE * np.arange(CONE_EDGES)), 15)
EDGE_Y = np.round(np.sin(_EDGE_ANGLE * np.arange(CONE_EDGES)), 15)

EQUATIONS = 6
GRAVITY = np.array([0.0, 0.0, 1.0, 0.0, 0.0, 0.0])[:, np.newaxis]
"""The load that the forces must balance, in multiples of the weight."""

ACCELERATION = 0
"""The column of the acceleration, and its number in a basis."""

# Tolerances: of bounds, of gains, and of exchange rates. Amounts and columns are near one.
_OUT_OF_BOUNDS = 1e-10
_GAIN = 1e-10
_RATE = 1e-9
# Of columns that block at the same point (within this), the largest rate loses fewest digits.
_TOGETHER = 1e-11
# Programmes of this kind take about ten exchanges, the most seen is 30. One that cycles ends here
# and is not settled.
_MOST_EXCHANGES = 100
# Ended programmes stay in the batch until this share is left, as removing them copies every column.
_WORTH_TAKING_OUT = 0.8
# Programmes in a batch: as many as fit in the cache of the processor.
_BATCH = 2_048


class Columns(Struct, frozen=True):
    """The columns of n programmes.

    `frames` (1 + singles + 3 * contacts, 6, n): the acceleration's column; those of single forces;
    then per contact its push up, and friction * 1 N along x, and along y (all contacts each).
    `upper` (1 + singles, n): upper limits of the acceleration and of each single force. An equation
    that need not hold is zero in every column.
    """

    frames: Array
    upper: Array

    @property
    def singles(self) -> int:
        """Number of columns with an upper limit, including the acceleration."""
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
        """The given programmes."""
        return Columns(self.frames.take(rows, axis=2), self.upper.take(rows, axis=1))


class State(NamedTuple):
    """The simplex state of n programmes: a basic solution of each.

    `basis` (6, n): the columns whose amounts are between their bounds: 0 the acceleration, then
    single forces, then contacts with `CONE_EDGES` edges each, then the slack of each of the
    six equations. `sense` (1 + singles, n): -1 if a column outside the basis is at its upper limit,
    1 if it is at zero. `inverse` (6, 6, n) of the basis' columns. `amounts` (6, n) of the basis,
    and their upper limits `most` (6, n).
    """

    basis: Whole
    sense: Array
    inverse: Array
    amounts: Array
    most: Array

    def take(self, rows: Whole) -> "State":
        """The given programmes."""
        return State(
            self.basis.take(rows, axis=-1),
            self.sense.take(rows, axis=-1),
            self.inverse.take(rows, axis=-1),
            self.amounts.take(rows, axis=-1),
            self.most.take(rows, axis=-1),
        )


class Solved(NamedTuple):
    """The results of n programmes.

    `possible`: some amounts meet every equation. `settled`: no exchange improves the result; if
    False, the state is not reliable.
    """

    state: State
    possible: Truth
    settled: Truth


def nothing_carried(columns: Columns) -> State:
    """The state with all forces zero, in which the slack of the equations balances gravity."""
    count = columns.count
    first = columns.singles + CONE_EDGES * columns.contacts
    return State(
        np.repeat(np.arange(first, first + EQUATIONS)[:, np.newaxis], count, axis=1),
        np.ones((columns.singles, count)),
        np.repeat(np.eye(EQUATIONS)[:, :, np.newaxis], count, axis=2),
        np.repeat(GRAVITY, count, axis=1),
        np.zeros((EQUATIONS, count)),
    )


def maximise(columns: Columns, start: State) -> Solved:
    """The largest acceleration of every programme, starting from `start`.

    Amounts of the start may be out of bounds; the first phase corrects that. A programme that takes
    too many exchanges is not `settled`.
    """
    count = columns.count
    # Every programme that settles overwrites its start with its result.
    state = start.take(np.arange(count))
    solved = Solved(state, np.zeros(count, dtype=bool), np.zeros(count, dtype=bool))
    for begin in range(0, count, _BATCH):
        rows = np.arange(begin, min(begin + _BATCH, count))
        _run(columns.take(rows), start.take(rows), rows, solved)
    return solved


def columns_of(columns: Columns, numbers: Whole) -> Array:
    """The columns (6, n) by their numbers, one for each programme; numbers as in `State.basis`."""
    singles, contacts, count = columns.singles, columns.contacts, columns.count
    contact, edge = np.divmod(numbers - singles, CONE_EDGES)
    is_edge = (contact >= 0) & (contact < contacts)
    frame = np.where(is_edge, singles + contact, np.minimum(numbers, singles - 1))
    place = np.arange(EQUATIONS)[:, np.newaxis] * count + np.arange(count)
    place += frame * (EQUATIONS * count)
    flat = columns.frames.reshape(-1)
    column: Array = flat.take(place)
    if is_edge.any():
        # From the push up of a contact to its friction along x, and on to the one along y.
        place += np.where(is_edge, contacts * EQUATIONS * count, 0)
        column += np.where(is_edge, EDGE_X.take(edge), 0.0) * flat.take(place)
        place += np.where(is_edge, contacts * EQUATIONS * count, 0)
        column += np.where(is_edge, EDGE_Y.take(edge), 0.0) * flat.take(place)
    equation = numbers - (singles + CONE_EDGES * contacts)
    left_over = np.flatnonzero(equation >= 0)
    if len(left_over):
        column[:, left_over] = np.eye(EQUATIONS)[:, equation[left_over]]
    return column


class Gains(NamedTuple):
    """The gain of the objective per unit of each column (reduced costs).

    `every` (1 + singles + contacts, n): the acceleration, single forces, then contacts along their
    best `edges` (contacts, n).
    """

    every: Array
    edges: Whole


def gains(columns: Columns, multipliers: Array, aims: Truth) -> Gains:
    """Gains of every column with multipliers (6, n); `aims` (n): objective of the acceleration."""
    singles, contacts = columns.singles, columns.contacts
    found = -sums("kp,jkp->jp", multipliers, columns.frames)
    found[ACCELERATION] += aims
    along_x, along_y = (
        found[singles + contacts : -contacts or None],
        found[singles + 2 * contacts :],
    )
    turns = np.rint(np.arctan2(along_y, along_x) * (1.0 / _EDGE_ANGLE))
    edges = turns.astype(np.int64) % CONE_EDGES
    every = found[: singles + contacts]
    every[singles:] += along_x * EDGE_X.take(edges) + along_y * EDGE_Y.take(edges)
    return Gains(every, edges)


def times(matrix: Array, vector: Array) -> Array:
    """Matrix (m, 6, n) times vector (6, n) of each programme."""
    return sums("ikp,kp->ip", matrix, vector)


def multipliers_of(state: State, aims: Array) -> Array:
    """The dual values of the equations (6, n) for objective values `aims` (6, n) of the basis."""
    return sums("kp,kip->ip", aims, state.inverse)


def sums(subscripts: str, left: Array, right: Array) -> Array:
    """Sums of products for each programme, with programmes along the last axis."""
    if left.shape[-1] == 1:
        # Else a single programme would be summed in another order than in a batch.
        return sums(subscripts, left.repeat(2, axis=-1), right.repeat(2, axis=-1))[..., :1]
    found: Array = np.einsum(subscripts, left, right)
    return found


def _run(columns: Columns, state: State, rows: Whole, solved: Solved) -> None:
    """Exchange columns of a batch until all programmes end; write results to `rows` of `solved`."""
    for _ in range(_MOST_EXCHANGES):
        exchange = _choose(columns, state)
        going_on = np.flatnonzero(exchange.gain > _GAIN)
        if len(going_on) <= _WORTH_TAKING_OUT * len(rows):
            _write_ends(rows, state, exchange, solved)
            if not len(going_on):
                return
            rows, columns = rows[going_on], columns.take(going_on)
            state = state.take(going_on)
            exchange = exchange.take(going_on)
        _carry_out(columns, state, exchange)
    _write_ends(rows, state, _choose(columns, state), solved)


def _write_ends(rows: Whole, state: State, exchange: "_Exchange", solved: Solved) -> None:
    done = np.flatnonzero(exchange.gain <= _GAIN)
    ended = rows[done]
    for whole, part in zip(solved.state, state, strict=True):
        whole[..., ended] = part.take(done, axis=-1)
    solved.possible[ended] = ~exchange.out[done]
    solved.settled[ended] = True


class _Exchange(NamedTuple):
    """The column to enter each basis: its number, its index among gains, and its gain.

    `out`: True if the programme is still out of bounds (first phase).
    """

    number: Whole
    entering: Whole
    gain: Array
    out: Truth

    def take(self, rows: Whole) -> "_Exchange":
        """The exchanges of the given programmes."""
        return _Exchange(self.number[rows], self.entering[rows], self.gain[rows], self.out[rows])


def _choose(columns: Columns, state: State) -> _Exchange:
    singles = columns.singles
    below = state.amounts < -_OUT_OF_BOUNDS
    above = state.amounts > state.most + _OUT_OF_BOUNDS
    out: Truth = np.logical_or.reduce(below | above, axis=0)
    aims = (state.basis == ACCELERATION).astype(float)
    if out.any():
        aims = np.where(out, below.astype(float) - above, aims)
    multipliers = multipliers_of(state, aims)
    every, edges = gains(columns, multipliers, ~out)
    every[:singles] *= state.sense
    every[:singles][columns.upper <= 0.0] = 0.0
    if out.any():
        # A column of the basis beyond its limit would gain by returning; it must not enter.
        place, programme = np.nonzero(above)
        number = state.basis[place, programme]
        every[number[number < singles], programme[number < singles]] = 0.0
    entering = every.argmax(axis=0)
    each = np.arange(columns.count)
    contact = np.maximum(entering - singles, 0)
    edge = edges[contact, each] if columns.contacts else contact
    number = np.where(entering < singles, entering, singles + CONE_EDGES * contact + edge)
    return _Exchange(number, entering, every[entering, each], out)


def _carry_out(columns: Columns, state: State, exchange: _Exchange) -> None:
    """Increase the chosen columns as far as bounds allow, and swap each with the blocking column.

    A programme that has ended does not change.
    """
    basis, sense, inverse, amounts, most = state
    singles, each = columns.singles, np.arange(columns.count)
    single = np.minimum(exchange.entering, singles - 1)
    is_single = exchange.entering < singles
    room = np.where(is_single, columns.upper[single, each], np.inf)
    from_most = is_single & (sense[single, each] < 0.0)
    change = times(inverse, columns_of(columns, exchange.number))
    rate = np.where(from_most, change, -change)

    rising, falling = rate > _RATE, rate < -_RATE
    if exchange.out.any():
        # An amount out of bounds blocks when it returns to its bound, and never while it moves
        # farther out.
        below, above = amounts < -_OUT_OF_BOUNDS, amounts > most + _OUT_OF_BOUNDS
        end = np.where(rising, np.where(below, 0.0, most), np.where(above, most, 0.0))
        stops = (rising & ~above) | (falling & ~below)
        at_most = np.where(rising, ~below, above)
    else:
        end = np.where(rising, most, 0.0)
        stops = rising | falling
        at_most = rising
    ways = np.full_like(rate, np.inf)
    np.divide(end - amounts, rate, out=ways, where=stops)
    np.maximum(ways, 0.0, out=ways)
    shortest = ways.min(axis=0)
    leaving = np.where(ways <= shortest + _TOGETHER, np.abs(rate), -1.0).argmax(axis=0)

    way = np.minimum(room, shortest)
    # Nothing blocks only if rounding has corrupted the inverse: the programme does not settle.
    stays = np.isinf(way) | (exchange.gain <= _GAIN)
    way[stays] = 0.0
    crosses = (room <= shortest) & ~stays
    amounts += way * rate
    crossed = np.flatnonzero(crosses)
    sense[single[crossed], crossed] *= -1.0

    swapped = np.flatnonzero(~crosses & ~stays)
    out = leaving[swapped]
    gone = basis[out, swapped]
    bounded = np.flatnonzero(gone < singles)
    sense[gone[bounded], swapped[bounded]] = np.where(
        at_most[out[bounded], swapped[bounded]], -1.0, 1.0
    )
    basis[out, swapped] = exchange.number[swapped]
    amounts[out, swapped] = np.where(from_most, room - way, way)[swapped]
    most[out, swapped] = room[swapped]
    taken_in = swapped[is_single[swapped]]
    sense[single[taken_in], taken_in] = 1.0
    _pivot(inverse, change, leaving, swapped)


def _pivot(inverse: Array, change: Array, leaving: Whole, swapped: Whole) -> None:
    """Update the inverse for programmes in which a column was swapped."""
    if len(swapped) < len(leaving):
        part = inverse[:, :, swapped]
        _pivot(part, change[:, swapped], leaving[swapped], np.arange(len(swapped)))
        inverse[:, :, swapped] = part
        return
    row = inverse[leaving, :, swapped].T / change[leaving, swapped]
    inverse -= change[:, np.newaxis] * row
    inverse[leaving, :, swapped] = row.T
