"""Solves many small linear programmes of one shape at once, by a primal simplex over arrays.

Every programme finds the largest acceleration a, in multiples of gravity:

    maximise a,  with  columns @ amounts = gravity,  0 <= amounts <= upper

in six equations: three forces and three moments. The columns are the acceleration, single forces
with an upper limit, and contacts, each a pyramid of `CONE_EDGES` edges without a limit. The edges
of a pyramid are not priced one by one: three products with the multipliers give the edge with the
largest gain in closed form.

Programmes are along the last axis of every array. All sums are over other axes, so a programme has
the same solution to the last bit in any batch, and an audit agrees with a single check.

Method: bounded primal simplex with the sum of infeasibilities as first phase, G. Dantzig; batches
after N. Gurung and R. Ray, arXiv 1609.08114. No kept library solves many small programmes at once
on a processor.
"""

from collections.abc import Sequence
from typing import NamedTuple

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

# Tolerances: of an amount outside its bounds, of the gain of an exchange, and of a rate of change
# that counts as zero. Amounts and columns are near one.
_OUT_OF_BOUNDS = 1e-10
_GAIN = 1e-10
_RATE = 1e-9
# If several amounts stop an exchange at the same point (within this), the one with the largest rate
# leaves the basis, which loses the fewest digits.
_TOGETHER = 1e-11
# Programmes of this kind take about ten exchanges, at most 30 in trials. One that cycles ends here
# and is not settled.
_MOST_EXCHANGES = 100
# Finished programmes are removed from a batch when at most this share is unfinished, because
# removing them copies every column.
_WORTH_REMOVING = 0.8
# Programmes in a batch: as many as fit the processor's cache.
_BATCH = 2_048


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


class State(NamedTuple):
    """The current vertex of n programmes.

    `basis` (6, n): the numbers of the basic columns: 0 the acceleration, then single forces, then
    contacts with `CONE_EDGES` edges each, then the slacks of the six equations. `sense`
    (1 + singles, n): -1 if a non-basic column is at its upper limit, else 1. `inverse` (6, 6, n) of
    the basic columns. `amounts` (6, n) of the basic columns, and their upper limits `most` (6, n).
    """

    basis: Whole
    sense: Array
    inverse: Array
    amounts: Array
    most: Array

    def take(self, rows: Whole) -> "State":
        """The states of the given programmes."""
        return State(
            self.basis.take(rows, axis=-1),
            self.sense.take(rows, axis=-1),
            self.inverse.take(rows, axis=-1),
            self.amounts.take(rows, axis=-1),
            self.most.take(rows, axis=-1),
        )

    def where(self, is_own: Truth, other: "State") -> "State":
        """For each programme this state where `is_own`, else the other."""
        return State(
            np.where(is_own, self.basis, other.basis),
            np.where(is_own, self.sense, other.sense),
            np.where(is_own, self.inverse, other.inverse),
            np.where(is_own, self.amounts, other.amounts),
            np.where(is_own, self.most, other.most),
        )


def joined(states: Sequence[State]) -> State:
    """The states of several groups of programmes, in order."""
    return State(
        np.concatenate([state.basis for state in states], axis=-1),
        np.concatenate([state.sense for state in states], axis=-1),
        np.concatenate([state.inverse for state in states], axis=-1),
        np.concatenate([state.amounts for state in states], axis=-1),
        np.concatenate([state.most for state in states], axis=-1),
    )


class Solved(NamedTuple):
    """The final states of n programmes.

    `settled`: no exchange gains anything; if not, the state is that of the start. `possible`: the
    programme is settled, and some amounts satisfy every equation.
    """

    state: State
    possible: Truth
    settled: Truth


def nothing_carried(columns: Columns) -> State:
    """The state in which every force is zero and the slacks carry gravity."""
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
    """The states with the largest acceleration of every programme, found from `start`.

    Amounts of the start may be outside their bounds; the first phase brings them inside. A
    programme that takes too many exchanges is not `settled`.
    """
    count = columns.count
    state = start.take(np.arange(count))
    solved = Solved(state, np.zeros(count, dtype=bool), np.zeros(count, dtype=bool))
    for begin in range(0, count, _BATCH):
        rows = np.arange(begin, min(begin + _BATCH, count))
        _run(columns.take(rows), start.take(rows), rows, solved)
    return solved


def columns_of(columns: Columns, numbers: Whole) -> Array:
    """One column (6, n) of each programme, by its number as in `State.basis`."""
    singles, contacts, count = columns.singles, columns.contacts, columns.count
    contact, edge = np.divmod(numbers - singles, CONE_EDGES)
    is_edge = (contact >= 0) & (contact < contacts)
    frame = np.where(is_edge, singles + contact, np.minimum(numbers, singles - 1))
    place = np.arange(EQUATIONS)[:, np.newaxis] * count + np.arange(count)
    place += frame * (EQUATIONS * count)
    flat = columns.frames.reshape(-1)
    column: Array = flat.take(place)
    if is_edge.any():
        # The frames of friction along x and along y follow those of all upward pushes.
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
    """The gain of the objective for a unit more of each column (reduced costs).

    `every` (1 + singles + contacts, n): the acceleration, single forces, then contacts along the
    edges with the largest gain, `edges` (contacts, n).
    """

    every: Array
    edges: Whole


def gains(columns: Columns, multipliers: Array, aims: Truth) -> Gains:
    """Gains under multipliers (6, n); `aims` (n): the objective is the acceleration."""
    singles, contacts = columns.singles, columns.contacts
    found = -sums("kp,jkp->jp", multipliers, columns.frames)
    found[ACCELERATION] += aims
    along_x, along_y = np.split(found[singles + contacts :], 2)
    turns = np.rint(np.arctan2(along_y, along_x) * (1.0 / _EDGE_ANGLE))
    edges = turns.astype(np.int64) % CONE_EDGES
    every = found[: singles + contacts]
    every[singles:] += along_x * EDGE_X.take(edges) + along_y * EDGE_Y.take(edges)
    return Gains(every, edges)


def times(matrix: Array, vector: Array) -> Array:
    """Matrix (m, 6, n) times vector (6, n) of each programme."""
    return sums("ikp,kp->ip", matrix, vector)


def multipliers_of(state: State, aims: Array) -> Array:
    """Multipliers (6, n) of the equations if the basic columns have the costs `aims` (6, n)."""
    return sums("kp,kip->ip", aims, state.inverse)


def sums(subscripts: str, left: Array, right: Array) -> Array:
    """An einsum of two arrays with programmes along the last axis.

    The same to the last bit for any number of programmes.
    """
    if left.shape[-1] == 1:
        # For a single programme numpy would add in another order.
        return sums(subscripts, left.repeat(2, axis=-1), right.repeat(2, axis=-1))[..., :1]
    found: Array = np.einsum(subscripts, left, right)
    return found


def _run(columns: Columns, state: State, rows: Whole, solved: Solved) -> None:
    """Exchange columns of a batch until all are finished; write them to `rows` of `solved`."""
    for _ in range(_MOST_EXCHANGES):
        exchange = _choose(columns, state)
        going_on = np.flatnonzero(exchange.gain > _GAIN)
        if len(going_on) <= _WORTH_REMOVING * len(rows):
            _write_finished(rows, state, exchange, solved)
            if not len(going_on):
                return
            rows, columns = rows[going_on], columns.take(going_on)
            state = state.take(going_on)
            exchange = exchange.take(going_on)
        _carry_out(columns, state, exchange)
    _write_finished(rows, state, _choose(columns, state), solved)


def _write_finished(rows: Whole, state: State, exchange: "_Exchange", solved: Solved) -> None:
    done = np.flatnonzero(exchange.gain <= _GAIN)
    ended = rows[done]
    for whole, part in zip(solved.state, state, strict=True):
        whole[..., ended] = part.take(done, axis=-1)
    solved.possible[ended] = ~exchange.out[done]
    solved.settled[ended] = True


class _Exchange(NamedTuple):
    """The column to enter each basis: its number, its index among gains, its gain.

    `out`: the programme is outside its bounds (first phase).
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
        # A basic column above its limit seems to gain in the first phase, but is basic already.
        place, programme = np.nonzero(above)
        number = state.basis[place, programme]
        every[number[number < singles], programme[number < singles]] = 0.0
    entering = every.argmax(axis=0)
    each = np.arange(columns.count)
    contact = np.maximum(entering - singles, 0)
    edge = edges[contact, each] if columns.contacts else contact
    number = np.where(entering < singles, entering, singles + CONE_EDGES * contact + edge)
    return _Exchange(number, entering, every[entering, each], out)


class _Stop(NamedTuple):
    """What ends each exchange: the `way` to it, and the index of the amount that stops it.

    `at_most` (6, n): whether a stopping amount ends at its upper limit.
    """

    way: Array
    leaving: Whole
    at_most: Truth


def _first_stop(state: State, rate: Array, *, first_phase: bool) -> _Stop:
    """The first basic amount to reach a bound as all change at the given rates (6, n).

    In the first phase an amount outside its bounds stops the exchange when it is inside again, and
    does not stop it while it moves farther out.
    """
    amounts, most = state.amounts, state.most
    rising, falling = rate > _RATE, rate < -_RATE
    if first_phase:
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
    return _Stop(shortest, leaving, at_most)


def _carry_out(columns: Columns, state: State, exchange: _Exchange) -> None:
    """Change the amounts until the first bound, then cross over or swap a column.

    The entering column crosses over if it reaches its own other bound first. Finished programmes
    stay as they are.
    """
    basis, sense, inverse, amounts, most = state
    singles, each = columns.singles, np.arange(columns.count)
    single = np.minimum(exchange.entering, singles - 1)
    is_single = exchange.entering < singles
    room = np.where(is_single, columns.upper[single, each], np.inf)
    from_most = is_single & (sense[single, each] < 0.0)
    change = times(inverse, columns_of(columns, exchange.number))
    rate = np.where(from_most, change, -change)
    stop = _first_stop(state, rate, first_phase=bool(exchange.out.any()))

    way = np.minimum(room, stop.way)
    # Without any stop, rounding has spoilt the inverse: such a programme does not settle.
    stays = np.isinf(way) | (exchange.gain <= _GAIN)
    way[stays] = 0.0
    crosses = (room <= stop.way) & ~stays
    amounts += way * rate
    crossed = np.flatnonzero(crosses)
    sense[single[crossed], crossed] *= -1.0

    swapped = np.flatnonzero(~crosses & ~stays)
    out = stop.leaving[swapped]
    gone = basis[out, swapped]
    bounded = np.flatnonzero(gone < singles)
    sense[gone[bounded], swapped[bounded]] = np.where(
        stop.at_most[out[bounded], swapped[bounded]], -1.0, 1.0
    )
    basis[out, swapped] = exchange.number[swapped]
    amounts[out, swapped] = np.where(from_most, room - way, way)[swapped]
    most[out, swapped] = room[swapped]
    entered = swapped[is_single[swapped]]
    sense[single[entered], entered] = 1.0
    _pivot(inverse, change, stop.leaving, swapped)


def _pivot(inverse: Array, change: Array, leaving: Whole, swapped: Whole) -> None:
    """Update the inverse of the programmes in which a column was swapped."""
    count = len(leaving)
    flat = inverse.reshape(-1)
    place = (leaving * EQUATIONS + np.arange(EQUATIONS)[:, np.newaxis]) * count + np.arange(count)
    pivot = np.ones(count)
    pivot[swapped] = change[leaving[swapped], swapped]
    row = flat.take(place) / pivot
    if len(swapped) < count:
        stays = np.ones(count, dtype=bool)
        stays[swapped] = False
        change[:, stays] = 0.0
        place, new = place[:, swapped], row[:, swapped]
    else:
        new = row
    # Row by row, so that temporary arrays fit the processor's cache.
    for equation in range(EQUATIONS):
        inverse[equation] -= change[equation] * row
    flat[place] = new
