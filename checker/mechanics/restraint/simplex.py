"""Solves many small linear programmes of one shape at once, by a primal simplex over arrays.

The programmes are those of `columns`. Each goes through two phases: from any start to amounts
within their bounds, then to the largest acceleration.

Method: bounded primal simplex with the sum of infeasibilities as first phase, G. Dantzig; batches
after N. Gurung and R. Ray, arXiv 1609.08114. No kept library solves many small programmes at once
on a processor.
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from checker.mechanics.restraint.arrays import Array, Truth, Whole
from checker.mechanics.restraint.columns import (
    ACCELERATION,
    CONE_EDGES,
    EDGE_X,
    EDGE_Y,
    EQUATIONS,
    GRAVITY,
    Columns,
    best_edges,
    products,
    sums,
    times,
)

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

# The friction of a column that is no edge of a contact.
_NO_EDGE = CONE_EDGES
_FRICTION_X, _FRICTION_Y = np.append(EDGE_X, 0.0), np.append(EDGE_Y, 0.0)


class State(NamedTuple):
    """The current vertex of n programmes.

    `basis` (6, n): the numbers of the basic columns, as in `columns_of`. `at_most` (1 + singles,
    n): non-basic columns at their upper limit; the others are zero. `inverse` (6, 6, n) of the
    basic columns. `amounts` (6, n) of the basic columns, and their upper limits `most` (6, n).
    """

    basis: Whole
    at_most: Truth
    inverse: Array
    amounts: Array
    most: Array

    def take(self, rows: Whole) -> "State":
        """The states of the given programmes."""
        return State(
            self.basis.take(rows, axis=-1),
            self.at_most.take(rows, axis=-1),
            self.inverse.take(rows, axis=-1),
            self.amounts.take(rows, axis=-1),
            self.most.take(rows, axis=-1),
        )

    def where(self, is_own: Truth, other: "State") -> "State":
        """For each programme this state where `is_own`, else the other."""
        return State(
            np.where(is_own, self.basis, other.basis),
            np.where(is_own, self.at_most, other.at_most),
            np.where(is_own, self.inverse, other.inverse),
            np.where(is_own, self.amounts, other.amounts),
            np.where(is_own, self.most, other.most),
        )

    @property
    def out(self) -> Truth:
        """True for programmes with an amount outside its bounds."""
        below, above = _outside(self.amounts, self.most)
        found: Truth = np.logical_or.reduce(below | above, axis=0)
        return found


def joined(states: Sequence[State]) -> State:
    """The states of several groups of programmes, in order."""
    return State(
        np.concatenate([state.basis for state in states], axis=-1),
        np.concatenate([state.at_most for state in states], axis=-1),
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
        np.zeros((columns.singles, count), dtype=bool),
        np.repeat(np.eye(EQUATIONS)[:, :, np.newaxis], count, axis=2),
        np.repeat(GRAVITY, count, axis=1),
        np.zeros((EQUATIONS, count)),
    )


def multipliers_of(state: State, aims: Array) -> Array:
    """Multipliers (6, n) of the equations if the basic columns have the costs `aims` (6, n)."""
    return sums("kp,kip->ip", aims, state.inverse)


def maximise(columns: Columns, start: State) -> Solved:
    """The states with the largest acceleration of every programme, found from `start`.

    Amounts of the start may be outside their bounds; the first phase brings them inside. A
    programme that takes too many exchanges is not `settled`.
    """
    count = columns.count
    state = start.take(np.arange(count))
    out = state.out
    # An amount that does not change never stops an exchange.
    with np.errstate(divide="ignore", invalid="ignore"):
        settled = ~out | _run(columns, state, np.flatnonzero(out), first_phase=True)
        out = state.out
        inside = settled & ~out
        settled &= out | _run(columns, state, np.flatnonzero(inside), first_phase=False)
    # An amount that rounding has moved outside its bounds is no answer.
    settled &= state.out == out
    if not settled.all():
        state = state.where(settled, start)
    return Solved(state, settled & ~out, settled)


def _run(columns: Columns, state: State, rows: Whole, *, first_phase: bool) -> Truth:
    """Exchange columns of some programmes until none gains anything; changes their states.

    The first phase ends when every amount is within its bounds. True for programmes that ended.
    """
    ended = np.zeros(columns.count, dtype=bool)
    for begin in range(0, len(rows), _BATCH):
        some = _not_alone(rows[begin : begin + _BATCH])
        # Columns are only read, so those of all programmes need no copy.
        own = columns if len(rows) == len(some) == columns.count else columns.take(some)
        batch = _Batch(own, state.take(some), some)
        for exchanges in range(_MOST_EXCHANGES + 1):
            entering = batch.entering(first_phase=first_phase)
            going_on = np.flatnonzero(entering.gain > _GAIN)
            is_last = exchanges == _MOST_EXCHANGES or not len(going_on)
            if is_last or len(going_on) <= _WORTH_REMOVING * len(batch.rows):
                done = np.flatnonzero(entering.gain <= _GAIN)
                batch.write(done, state)
                ended[batch.rows[done]] = True
                if is_last:
                    break
                going_on = _not_alone(going_on)
                batch.keep(going_on)
                entering = entering.take(going_on)
            batch.exchange(entering, first_phase=first_phase)
    return ended


def _not_alone(rows: Whole) -> Whole:
    """The rows, a single one twice: for one programme numpy would add in another order."""
    return rows.repeat(2) if len(rows) == 1 else rows


class _Entering(NamedTuple):
    """The column to enter each basis.

    Its `number`, the index of its frame, of a contact also the edge, and the gain.
    """

    number: Whole
    frame: Whole
    edge: Whole
    gain: Array

    def take(self, rows: Whole) -> "_Entering":
        """Those of the given programmes."""
        return _Entering(self.number[rows], self.frame[rows], self.edge[rows], self.gain[rows])


class _Batch:
    """Programmes that exchange columns together, as arrays that are changed in place.

    `sense` of each frame: 1 if it is zero and can grow; -1 if it is at its upper limit; 0 if it is
    basic or its limit is zero. That of contacts is 1, because other edges may still enter; the last
    row is that of the slacks, which never enter.

    An exchange of few programmes costs what its calls of numpy cost, so every programme takes part
    in each, finished ones with a change of zero, and arrays are indexed flat.
    """

    def __init__(self, columns: Columns, state: State, rows: Whole) -> None:
        """Take over the arrays of the programmes; `rows` are their indices elsewhere."""
        self.singles, self.contacts = columns.singles, columns.contacts
        self.slack = self.singles + self.contacts
        numbers = np.arange(self.singles + CONE_EDGES * self.contacts + EQUATIONS)
        edges = self.singles + (numbers - self.singles) // CONE_EDGES
        self.frame_of = np.where(numbers < self.singles, numbers, np.minimum(edges, self.slack))
        self.number_of = np.searchsorted(self.frame_of, np.arange(self.slack))
        self.rows, self.frames, self.state = rows, columns.frames, state
        self.upper = np.full((self.slack, columns.count), np.inf)
        self.upper[: self.singles] = columns.upper
        self.sense = np.ones((self.slack + 1, columns.count))
        self.sense[: self.singles] -= 2.0 * state.at_most
        self.sense[:-1][self.upper <= 0.0] = 0.0
        basic = np.where(state.basis < self.singles, state.basis, self.slack)
        np.put_along_axis(self.sense, basic, 0.0, axis=0)
        self._count()

    def _count(self) -> None:
        """Compute the flat indices of every programme."""
        self.count = len(self.rows)
        self.each = np.arange(self.count)
        self.six = np.arange(EQUATIONS)[:, np.newaxis] * self.count + self.each

    def keep(self, which: Whole) -> None:
        """Remove all programmes but these."""
        self.rows = self.rows.take(which)
        self.frames = self.frames.take(which, axis=-1)
        self.upper = self.upper.take(which, axis=-1)
        self.sense = self.sense.take(which, axis=-1)
        self.state = self.state.take(which)
        self._count()

    def write(self, which: Whole, state: State) -> None:
        """Write the states of some of the programmes to their rows of `state`."""
        rows = self.rows[which]
        own = self.state._replace(at_most=self.sense[: self.singles] < 0.0)
        for whole, part in zip(state, own, strict=True):
            whole[..., rows] = part.take(which, axis=-1)

    def entering(self, *, first_phase: bool) -> _Entering:
        """The column with the largest gain of each programme.

        In the first phase of what brings the amounts within their bounds; nothing gains if they
        are.
        """
        basis, inverse = self.state.basis, self.state.inverse
        if first_phase:
            below, above = _outside(self.state.amounts, self.state.most)
            aims = above.astype(float) - below
        else:
            aims = np.where(basis == ACCELERATION, -1.0, 0.0)
        found = products(self.frames, self.singles, sums("kp,kip->ip", aims, inverse))
        if not first_phase:
            found[ACCELERATION] += 1.0
        every = found[: self.slack] * self.sense[:-1]
        frame = every.argmax(axis=0)
        place = frame * self.count + self.each
        gain = every.reshape(-1).take(place)
        if first_phase:
            gain *= (aims != 0.0).any(axis=0)
        # The products of friction along x and along y follow those of all upward pushes.
        place += self.contacts * self.count
        along_x = found.reshape(-1).take(place)
        place += self.contacts * self.count
        best = best_edges(along_x, found.reshape(-1).take(place))
        edge = np.where(frame < self.singles, _NO_EDGE, best)
        return _Entering(self.number_of.take(frame) + edge % CONE_EDGES, frame, edge, gain)

    def exchange(self, entering: _Entering, *, first_phase: bool) -> None:
        """Change the amounts until the first bound, then cross over or swap a column.

        The entering column crosses over if it reaches its own other bound first. Finished
        programmes stay as they are.
        """
        basis, _, inverse, amounts, most = self.state
        count, each = self.count, self.each
        entered = entering.frame * count + each
        room, sense = self.upper.reshape(-1).take(entered), self.sense.reshape(-1).take(entered)
        change = times(inverse, self._columns(entering))
        rate = change * -sense
        stop = _first_stop(amounts, most, rate, first_phase=first_phase)
        way = np.minimum(room, stop.way)
        # Without any stop, rounding has spoilt the inverse: such a programme does not settle.
        moves = (entering.gain > _GAIN) & (way < np.inf)
        swaps = moves & (stop.way < room)
        way = np.where(moves, way, 0.0)
        amounts += way * rate

        leaving = stop.leaving * count + each
        gone, ends_at_most = basis.reshape(-1).take(leaving), stop.at_most.reshape(-1).take(leaving)
        left = np.where(swaps, self.frame_of.take(gone), self.slack) * count + each
        _put(self.sense, left, np.where(ends_at_most, -1.0, 1.0))
        crossed = np.where(moves, -sense, sense)
        basic = np.where(entering.edge == _NO_EDGE, 0.0, 1.0)
        _put(self.sense, entered, np.where(swaps, basic, crossed))
        _put(basis, leaving, np.where(swaps, entering.number, gone))
        amount = np.where(sense < 0.0, room - way, way)
        _put(amounts, leaving, np.where(swaps, amount, amounts.reshape(-1).take(leaving)))
        _put(most, leaving, np.where(swaps, room, most.reshape(-1).take(leaving)))
        # A programme without a swap keeps its inverse: its change is zero, its pivot one.
        pivot = np.where(swaps, change.reshape(-1).take(leaving), 1.0)
        row_place = stop.leaving * (EQUATIONS * count) + self.six
        row = inverse.reshape(-1).take(row_place) / pivot
        change *= swaps
        inverse -= change[:, np.newaxis] * row
        _put(inverse, row_place, row)

    def _columns(self, entering: _Entering) -> Array:
        """The entering column (6, n) of each programme."""
        frames, contacts = self.frames.reshape(-1), self.contacts * EQUATIONS * self.count
        place = entering.frame * (EQUATIONS * self.count) + self.six
        column: Array = frames.take(place)
        # What lies there for a column that is no edge counts zero times.
        place += contacts
        column += _FRICTION_X.take(entering.edge) * frames.take(place)
        place += contacts
        column += _FRICTION_Y.take(entering.edge) * frames.take(place)
        return column


class _Stop(NamedTuple):
    """What ends each exchange: the `way` to it, and the index of the amount that stops it.

    `at_most` (6, n): whether a stopping amount ends at its upper limit.
    """

    way: Array
    leaving: Whole
    at_most: Truth


def _first_stop(amounts: Array, most: Array, rate: Array, *, first_phase: bool) -> _Stop:
    """The first basic amount to reach a bound as all change at the given rates (6, n).

    In the first phase an amount outside its bounds stops the exchange when it is inside again, and
    does not stop it while it moves farther out.
    """
    rising = rate > 0.0
    if first_phase:
        below, above = _outside(amounts, most)
        top = np.where(below, 0.0, np.where(above, np.inf, most))
        bottom = np.where(above, most, np.where(below, -np.inf, 0.0))
        left = np.where(rising, top - amounts, amounts - bottom)
        at_most = np.where(rising, ~below, above)
    else:
        left, at_most = np.where(rising, most - amounts, amounts), rising
    speed = np.abs(rate)
    ways = np.where(speed > _RATE, np.maximum(left / speed, 0.0), np.inf)
    shortest = ways.min(axis=0)
    leaving = np.where(ways <= shortest + _TOGETHER, speed, -1.0).argmax(axis=0)
    return _Stop(shortest, leaving, at_most)


def _outside(amounts: Array, most: Array) -> tuple[Truth, Truth]:
    """Which amounts are below zero, and which above their upper limit."""
    return amounts < -_OUT_OF_BOUNDS, amounts > most + _OUT_OF_BOUNDS


def _put(array: Array | Whole, place: Whole, values: Array | Whole) -> None:
    """Set entries by their flat index."""
    array.reshape(-1)[place] = values
