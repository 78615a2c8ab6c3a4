"""Many small linear programmes of one shape at once: a primal simplex that pivots all together.

Every programme asks for the largest acceleration a, in multiples of gravity:

    maximise a,  with  columns @ amounts = gravity,  0 <= amounts <= upper

in six equations: three forces and three moments. Its columns are those of `Columns`: the
acceleration, single forces that have a most, and contacts, each a pyramid of `CONE_EDGES` edges
without a most. A pyramid is not priced edge by edge: three numbers of the multipliers give its most
promising edge in closed form.

Programmes run along the last axis of every array. All sums run over other axes, so the answer to
one programme is the same to the bit whichever programmes stand beside it; an audit in parts and a
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
# Exact zeros keep a body that is symmetric symmetric for the solver too.
EDGE_X = np.round(np.cos(_EDGE_ANGLE * np.arange(CONE_EDGES)), 15)
EDGE_Y = np.round(np.sin(_EDGE_ANGLE * np.arange(CONE_EDGES)), 15)

EQUATIONS = 6
GRAVITY = np.array([0.0, 0.0, 1.0, 0.0, 0.0, 0.0])[:, np.newaxis]
"""What the forces have to balance, in multiples of the weight."""

ACCELERATION = 0
"""The column of the acceleration, and its number in a basis."""

# How far an amount may be out of its bounds, how little an exchange may gain, and how small an
# exchange rate counts as none; amounts and columns are near one.
_OUT_OF_BOUNDS = 1e-10
_GAIN = 1e-10
_RATE = 1e-9
# Of what stops an exchange at the same point (within this), the largest rate loses fewest digits.
_TOGETHER = 1e-11
# Programmes of this kind take some ten exchanges, the worst seen 30. One that goes round in circles
# ends here and counts as not settled.
_MOST_EXCHANGES = 100
# Programmes that have ended stay among the others until this share is left: to take them out copies
# every column.
_WORTH_TAKING_OUT = 0.8
# Programmes worked on together: as many as the processor's cache holds.
_BATCH = 2_048


class Columns(Struct, frozen=True):
    """The columns of n programmes.

    `frames` (1 + singles + 3 * contacts, 6, n): the acceleration's column; those of single forces;
    then per contact its push up, and friction * 1 N along x, and along y (all contacts each).
    `upper` (1 + singles, n): the most of the acceleration and of each single force. An equation
    that need not hold is zero in every column.
    """

    frames: Array
    upper: Array

    @property
    def singles(self) -> int:
        """How many columns have a most, the acceleration among them."""
        return len(self.upper)

    @property
    def contacts(self) -> int:
        """How many contacts there are."""
        return (len(self.frames) - len(self.upper)) // 3

    @property
    def count(self) -> int:
        """How many programmes there are."""
        return len(self.frames[0, 0])

    def take(self, rows: Whole) -> "Columns":
        """Some of the programmes."""
        return Columns(self.frames.take(rows, axis=2), self.upper.take(rows, axis=1))


class State(NamedTuple):
    """Where n programmes stand: a corner of what is possible each.

    `basis` (6, n): the columns whose amounts are between their bounds: 0 the acceleration, then
    single forces, then contacts with `CONE_EDGES` edges each, then what is left over in each of the
    six equations. `sense` (1 + singles, n): -1 where a column outside the basis is at its most, 1
    where it is at zero. `inverse` (6, 6, n) of the basis' columns. `amounts` (6, n) of the basis,
    and the `most` (6, n) that they may be.
    """

    basis: Whole
    sense: Array
    inverse: Array
    amounts: Array
    most: Array

    def take(self, rows: Whole) -> "State":
        """Some of the programmes."""
        return State(
            self.basis.take(rows, axis=-1),
            self.sense.take(rows, axis=-1),
            self.inverse.take(rows, axis=-1),
            self.amounts.take(rows, axis=-1),
            self.most.take(rows, axis=-1),
        )


class Solved(NamedTuple):
    """The end of n programmes.

    `possible`: some amounts meet every equation. `settled`: no exchange gains anything; where not,
    the state is none to rely on.
    """

    state: State
    possible: Truth
    settled: Truth


def nothing_carried(columns: Columns) -> State:
    """The state in which every force is zero and gravity is left over."""
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
    """Largest acceleration of every programme, going on from `start`.

    Amounts of the start may be out of their bounds: they are brought back first. A programme that
    takes too many exchanges is not `settled`.
    """
    count = columns.count
    # Every programme that settles writes its own end over its start.
    state = start.take(np.arange(count))
    solved = Solved(state, np.zeros(count, dtype=bool), np.zeros(count, dtype=bool))
    for begin in range(0, count, _BATCH):
        rows = np.arange(begin, min(begin + _BATCH, count))
        _run(columns.take(rows), start.take(rows), rows, solved)
    return solved


def columns_of(columns: Columns, numbers: Whole) -> Array:
    """The column (6, n) with a number of its own in each programme, as `State.basis` has it."""
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
    """What a little more of each column adds to the aim.

    `every` (1 + singles + contacts, n): the acceleration, single forces, then contacts along their
    best `edges` (contacts, n).
    """

    every: Array
    edges: Whole


def gains(columns: Columns, multipliers: Array, aims: Truth) -> Gains:
    """Gains of every column under multipliers (6, n); `aims` (n) at the acceleration or not."""
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
    """What each equation is worth (6, n) where one unit of the basis is worth `aims` (6, n)."""
    return sums("kp,kip->ip", aims, state.inverse)


def sums(subscripts: str, left: Array, right: Array) -> Array:
    """Sums of products of each programme by itself, programmes along the last axis."""
    if left.shape[-1] == 1:
        # A single programme would be added up in another order than the same one among others.
        return sums(subscripts, left.repeat(2, axis=-1), right.repeat(2, axis=-1))[..., :1]
    found: Array = np.einsum(subscripts, left, right)
    return found


def _run(columns: Columns, state: State, rows: Whole, solved: Solved) -> None:
    """Exchange columns of a batch until all have ended; the ends go to `rows` of `solved`."""
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
    """The column to take into each basis: its number, its place among gains, what it gains.

    `out`: whether the programme is out of bounds and on its way back.
    """

    number: Whole
    entering: Whole
    gain: Array
    out: Truth

    def take(self, rows: Whole) -> "_Exchange":
        """Those of some of the programmes."""
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
        # A column of the basis beyond its most would gain by coming back: it is no column to take.
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
    """Take the chosen columns in as far as bounds allow, and out what stops them.

    A programme that has ended stays as it is.
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
        # What is out of its bounds stops the exchange where it is back, and not at all on its way
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
    # Nothing stops it only where rounding has spoilt the inverse: it stays, and does not settle.
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
    """Bring the inverse up to date where a column was swapped."""
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
    # Row by row: what is written between fits the processor's cache.
    for equation in range(EQUATIONS):
        inverse[equation] -= change[equation] * row
    flat[place] = new
