"""Solves many small linear programmes of one shape at once, by a dual simplex over arrays.

The programmes are those of `columns`. Slacks are always zero, so they may have any cost, and any
multipliers under which every contact can push are a valid start: those of an article that slides.
They are also those of a basis in which the contacts brake that article, with slacks for the rest. A
programme ends when all amounts are within their bounds. From this start one phase is enough, and it
takes some four to six exchanges.

Method: bounded dual simplex, C. Lemke; batches after N. Gurung and R. Ray, arXiv 1609.08114. No
kept library solves many small programmes at once on a processor.
"""

from typing import NamedTuple

import numpy as np

from checker.mechanics.restraint.arrays import Array, Truth, Whole
from checker.mechanics.restraint.columns import (
    ACCELERATION,
    EQUATIONS,
    GRAVITY,
    Columns,
    columns_of,
    products,
    sums,
    times,
)

# Tolerances: of an amount outside its bounds, and of an entry of a column that can be a pivot.
# Amounts and columns are near one.
_OUT_OF_BOUNDS = 1e-10
_PIVOT = 1e-9
# An entry of a column that can be a pivot before the first exchange.
_CRASH_PIVOT = 0.1
# Contacts that brake in the first basis: parallel forces at three points replace all others.
_BRAKING = 3
# Reduced costs that differ by about this count as equal. Of columns with equal ratios the one with
# the largest pivot enters, which loses the fewest digits.
_TOGETHER = 1e-11
# Programmes of this kind take four to six exchanges, at most 30 in trials. One that cycles ends
# here and is not settled.
_MOST_EXCHANGES = 100
# Finished programmes are removed from a batch when at most this share is unfinished, because
# removing them copies every column, and from a small batch never: an exchange costs the same.
_WORTH_REMOVING = 0.6
_SMALL = 100
# Programmes in a batch: so many that the calls of numpy cost little, and not so many that their
# arrays are far from the processor's cache.
_BATCH = 1_500

# Columns of `_Batch.rows` after the inverse.
_AMOUNT, _MOST, _NUMBER = 6, 7, 8


class Solved(NamedTuple):
    """The final states of n programmes.

    `basis` (6, n): the numbers of the basic columns, as in `columns_of`. `at_most` (singles, n):
    non-basic columns at their upper limit; the others are zero. `inverse` (6, 6, n) of the basic
    columns. `amounts` (6, n) of the basic columns, and their upper limits `most` (6, n).
    `multipliers` (6, n) of the equations: of a possible programme the dual values, else those that
    prove that nothing balances.

    `settled`: the programme has ended. `possible`: it is settled, and the amounts are within their
    bounds.
    """

    basis: Whole
    at_most: Truth
    inverse: Array
    amounts: Array
    most: Array
    multipliers: Array
    settled: Truth
    possible: Truth


def maximise(columns: Columns) -> Solved:
    """The states with the largest acceleration of every programme."""
    ended = _Ended.of(columns)
    # A programme that has ended takes part in further exchanges, without effect.
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        for begin in range(0, columns.count, _BATCH):
            places = _not_alone(np.arange(begin, min(begin + _BATCH, columns.count)))
            # Columns are only read, so those of all programmes need no copy.
            own = columns if len(places) == columns.count else columns.take(places)
            batch = _Batch(own, places)
            for _ in range(_MOST_EXCHANGES):
                going_on = np.flatnonzero(batch.going_on)
                if not len(going_on):
                    break
                count = len(batch.places)
                if len(going_on) <= _WORTH_REMOVING * count and count > _SMALL:
                    batch.write(ended)
                    batch.keep(_not_alone(going_on))
                batch.exchange()
            batch.write(ended)
    return _solved(columns, ended)


def load_on_basis(columns: Columns, at_most: Truth) -> Array:
    """The load (6, n) on the basis: gravity less the columns at their upper limits."""
    at_limit = np.where(at_most, columns.upper, 0.0)
    return GRAVITY - sums("jp,jkp->kp", at_limit, columns.units[: columns.singles])


def _short(amounts: Array, most: Array) -> Array:
    """How far each amount is outside its bounds; negative within."""
    found: Array = np.maximum(-amounts, amounts - most)
    return found


def _not_alone(rows: Whole) -> Whole:
    """The rows, a single one twice: for one programme numpy would add in another order."""
    return rows.repeat(2) if len(rows) == 1 else rows


class _Batch:
    """Programmes that exchange columns together, as arrays that are changed in place.

    `rows` (7, 9, n): for each equation the row of the inverse of the basic columns, the amount, its
    upper limit, and the number of the column. The last row is for programmes that have ended.
    `sense` of each single column: 1 if it is zero and can grow; -1 if it is at its upper limit; 0
    if it is basic or its limit is zero. `reduced` (columns, n): the reduced costs, at least
    `_TOGETHER`. Both have a row more, for all other columns.

    An exchange of few programmes costs what its calls of numpy cost, so every programme takes part
    in each, and arrays are indexed flat. One of many costs what its new arrays cost, so the largest
    ones are used again.
    """

    def __init__(self, columns: Columns, places: Whole) -> None:
        """Start; `places` are the indices of the programmes elsewhere."""
        self.places, self.columns = places, columns
        singles, count = columns.singles, columns.count
        self.costs, every = _start(columns)
        self.sense = np.zeros((singles + 1, count))
        self.sense[:-1] = np.where(every[:singles] > 0.0, -1.0, 1.0) * (columns.upper > 0.0)
        self.reduced = np.empty((columns.first_slack + 1, count))
        np.abs(every, out=self.reduced[:-1])
        np.maximum(self.reduced, _TOGETHER, out=self.reduced)
        self.upper = np.concatenate([columns.upper, np.full((1, count), np.inf)])
        self.rows = np.zeros((EQUATIONS + 1, _NUMBER + 1, count))
        self.rows[range(EQUATIONS), range(EQUATIONS)] = 1.0
        self.rows[:-1, _AMOUNT] = load_on_basis(columns, self.sense[:-1] < 0.0)
        self.rows[:, _NUMBER] = columns.first_slack + np.arange(EQUATIONS + 1)[:, np.newaxis]
        self.going_on = np.ones(count, dtype=bool)
        self._begin()
        self._crash(every)
        self._find_farthest()

    def _crash(self, every: Array) -> None:
        """Bring the acceleration and the edges that brake a sliding article into the basis.

        `every`: the gains of all columns. Those of the columns that enter are zero, so that no
        multiplier and no gain changes.
        """
        columns, cost = self.columns, np.abs(every)
        singles, contacts, count = columns.singles, columns.contacts, columns.count
        edge = cost[singles:].reshape(columns.edges, contacts, count)[:, :_BRAKING].argmin(axis=0)
        brakes = singles + edge * contacts + np.arange(len(edge))[:, np.newaxis]
        numbers = np.concatenate([np.full((1, count), ACCELERATION), brakes])
        for number, column in zip(
            numbers, columns_of(columns, numbers).swapaxes(0, 1), strict=True
        ):
            change = times(self.rows[:-1, :EQUATIONS], column)
            pivots = np.abs(change) * (self.rows[:-1, _NUMBER] >= columns.first_slack)
            self.leaving = pivots.argmax(axis=0)
            possible = pivots.max(axis=0) > _CRASH_PIVOT
            possible &= cost.reshape(-1).take(number * count + self.each) <= _TOGETHER
            row = self.rows.reshape(-1).take(self.leaving * self.row.size + self.row)
            self._swap(row, change, number, possible)

    def _begin(self) -> None:
        """Make what depends on the number of programmes."""
        self.each = np.arange(len(self.places))
        self.row = np.arange(_NUMBER + 1)[:, np.newaxis] * len(self.places) + self.each
        self.pivots = np.empty((self.columns.first_slack, len(self.places)))
        self.quotients = np.empty_like(self.pivots)

    def keep(self, which: Whole) -> None:
        """Remove all programmes but these."""
        self.columns = self.columns.take(which)
        for name in ("places", "costs", "sense", "reduced", "upper", "rows", "going_on"):
            setattr(self, name, getattr(self, name).take(which, axis=-1))
        self._begin()
        self._find_farthest()

    def write(self, ended: "_Ended") -> None:
        """Write the states of programmes that have ended."""
        done = np.flatnonzero(~self.going_on)
        places = self.places[done]
        ended.rows[..., places] = self.rows[:-1].take(done, axis=-1)
        ended.sense[:, places] = self.sense[:-1].take(done, axis=-1)
        ended.costs[:, places] = self.costs.take(done, axis=-1)
        ended.settled[places] = True

    def exchange(self) -> None:
        """Bring the amount that is farthest outside its bounds to that bound.

        The column whose reduced cost becomes zero first enters; without such a column the programme
        has ended. Programmes that have ended write to the last rows only.
        """
        count, each, columns = len(self.places), self.each, self.columns
        pivots, quotients, going_on = self.pivots, self.quotients, self.going_on
        row = self.rows.reshape(-1).take(self.leaving * self.row.size + self.row)
        side = np.copysign(1.0, row[_AMOUNT])
        products(columns, side * row[:EQUATIONS], pivots)
        pivots[: columns.singles] *= self.sense[:-1]
        np.subtract(pivots, _PIVOT, out=quotients)
        quotients /= self.reduced[:-1]
        number = quotients.argmax(axis=0)
        chosen = number * count + each
        pivot = pivots.reshape(-1).take(chosen)
        going_on &= pivot > _PIVOT
        ratio = self.reduced.reshape(-1).take(chosen) / pivot
        pivots *= ratio
        self.reduced[:-1] -= pivots
        np.maximum(self.reduced, _TOGETHER, out=self.reduced)

        change = times(self.rows[:-1, :EQUATIONS], columns_of(columns, number))
        row[_AMOUNT] = side * self.farthest
        gone = self._swap(row, change, number, going_on)
        sense = self.sense.reshape(-1)
        sense[np.minimum(gone, columns.singles) * count + each] = -side
        self.sense[-1] = 0.0
        reduced = self.reduced.reshape(-1)
        reduced[np.minimum(gone, columns.first_slack) * count + each] = ratio
        self._find_farthest()

    def _swap(self, row: Array, change: Array, number: Whole, possible: Truth) -> Whole:
        """Let columns enter the basis where that is possible; the numbers of those that leave.

        `row`: the rows of those that leave, with the amounts by which they change. `change`: of the
        basic amounts, for one unit of the columns that enter.
        """
        count, each, columns = len(self.places), self.each, self.columns
        change *= possible
        scale = change.reshape(-1).take(self.leaving * count + each)
        row[:_MOST] /= np.where(possible, scale, 1.0)
        self.rows[:-1, :_MOST] -= change[:, np.newaxis] * row[:_MOST]

        gone = np.where(possible, row[_NUMBER], columns.first_slack).astype(np.int64)
        number = np.where(possible, number, columns.first_slack)
        entered = np.minimum(number, columns.singles) * count + each
        row[_MOST] = self.upper.reshape(-1).take(entered)
        is_full = self.sense.reshape(-1).take(entered) < 0.0
        row[_AMOUNT] += np.where(is_full, row[_MOST], 0.0)
        row[_NUMBER] = number
        place = np.where(possible, self.leaving, EQUATIONS) * self.row.size + self.row
        self.rows.reshape(-1)[place] = row
        self.sense.reshape(-1)[entered] = 0.0
        return gone

    def _find_farthest(self) -> None:
        """Find the amount farthest outside its bounds; a programme without one has ended."""
        short = _short(self.rows[:-1, _AMOUNT], self.rows[:-1, _MOST])
        self.leaving = short.argmax(axis=0)
        self.farthest = short.reshape(-1).take(self.leaving * len(self.places) + self.each)
        self.going_on &= self.farthest > _OUT_OF_BOUNDS


class _Ended(NamedTuple):
    """The `rows`, the `sense` and the `costs` of the slacks of programmes that are `settled`."""

    rows: Array
    sense: Array
    costs: Array
    settled: Truth

    @staticmethod
    def of(columns: Columns) -> "_Ended":
        """Room for every programme."""
        count = columns.count
        return _Ended(
            np.zeros((EQUATIONS, _NUMBER + 1, count)),
            np.zeros((columns.singles, count)),
            np.zeros((EQUATIONS, count)),
            np.zeros(count, dtype=bool),
        )


def _solved(columns: Columns, ended: _Ended) -> Solved:
    """The programmes with their multipliers."""
    rows, each = ended.rows, np.arange(columns.count)
    inverse, amounts, most = rows[:, :EQUATIONS], rows[:, _AMOUNT], rows[:, _MOST]
    basis = rows[:, _NUMBER].astype(np.int64)
    short = _short(amounts, most)
    farthest = short.argmax(axis=0)
    possible = ended.settled & (short[farthest, each] <= _OUT_OF_BOUNDS)
    slack = basis - columns.first_slack
    costs = np.where(slack >= 0, ended.costs[slack % EQUATIONS, each], basis == ACCELERATION)
    # Nothing can bring the amount that is farthest outside its bounds inside.
    stuck = np.arange(EQUATIONS)[:, np.newaxis] == farthest
    costs = np.where(possible, costs, stuck * np.copysign(1.0, -amounts))
    return Solved(
        basis=basis,
        at_most=ended.sense < 0.0,
        inverse=inverse,
        amounts=amounts,
        most=most,
        multipliers=sums("kp,kip->ip", costs, inverse),
        settled=ended.settled,
        possible=possible,
    )


def _start(columns: Columns) -> tuple[Array, Array]:
    """The multipliers to start from, which are the costs of the slacks, and every column's gain.

    They are those of an article that slides in the direction of the acceleration, and rises fast
    enough that every contact can push.
    """
    singles = columns.singles
    motion = columns.units[ACCELERATION]
    every = products(columns, motion)
    rise = -every[singles:].min(axis=0, initial=0.0)
    every[:singles] += rise * columns.units[:singles, 2]
    every[singles:] += rise
    every *= -1.0
    every[ACCELERATION] += 1.0
    return motion + GRAVITY * rise, every
