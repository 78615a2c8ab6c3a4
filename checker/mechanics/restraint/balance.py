"""The balance of tied-down articles as linear programmes, solved together, each with a proof.

Unknowns, all in multiples of the weight: the acceleration, one tension per tiedown, one push per
block, the friction generators of each contact. Six equations require that they balance gravity.
Every answer comes with a balance that reaches it and an upper bound. If the two differ, HiGHS
solves the programme again.
"""

from typing import NamedTuple

import numpy as np

from checker.mechanics.restraint import second_opinion
from checker.mechanics.restraint.arrays import Array, Truth, Whole
from checker.mechanics.restraint.bodies import Bodies
from checker.mechanics.restraint.columns import (
    ACCELERATION,
    CONE_EDGES,
    EDGE_X,
    EDGE_Y,
    EQUATIONS,
    GRAVITY,
    Columns,
    columns_of,
    gains,
    times,
)
from checker.mechanics.restraint.simplex import Solved, State, maximise, multipliers_of

# Largest residual of an answer, as a share of the weight, and largest gap to its bound, in g: well
# above rounding, well below anything that matters to a load.
_MOST_RESIDUAL = 1e-9
_MOST_GAP = 1e-8
# A basis that is nearly singular in a new direction cannot be a start.
_SMALLEST_PIVOT = 1e-6
# Margin by which the proof that nothing balances must hold.
_CLEARLY = 1e-9


class Balances(NamedTuple):
    """The largest accelerations of n programmes, in g, each with its proof.

    `amounts` (columns, n): every force at that acceleration, in multiples of the weight, numbered
    as in `columns_of`. `residuals`: the largest of the six sums that should be zero. `bounds`:
    upper bounds of the acceleration, computed from `multipliers` (6, n), the dual values of the
    equations. `state`: the state to start similar programmes from; for programmes that HiGHS
    solved, the state they started from.
    """

    accelerations: Array
    amounts: Array
    residuals: Array
    bounds: Array
    multipliers: Array
    state: State

    def take(self, rows: Whole) -> "Balances":
        """The balances of the given programmes."""
        return Balances(
            self.accelerations[rows],
            self.amounts.take(rows, axis=-1),
            self.residuals[rows],
            self.bounds[rows],
            self.multipliers.take(rows, axis=-1),
            self.state.take(rows),
        )


def columns_at_rest(bodies: Bodies) -> Columns:
    """The columns of bodies at rest; every number of the bodies must be stated."""
    along_x, along_y, up = bodies.contact_wrenches()
    frictions = bodies.contacts.frictions[:, np.newaxis]
    singles = [bodies.tiedown_wrenches(), bodies.block_wrenches()]
    nothing = np.zeros((1, EQUATIONS, bodies.count))
    most = np.concatenate([bodies.tiedowns.limits, bodies.blocks.strengths])
    return Columns(
        np.concatenate([nothing, *singles, up, frictions * along_x, frictions * along_y]),
        np.concatenate([nothing[:, 0], most / bodies.weights]),
    )


def toward(columns: Columns, directions: Array, most: float) -> Columns:
    """The columns of the same bodies accelerated in unit directions (3, n), up to `most` g."""
    frames, upper = columns.frames.copy(), columns.upper.copy()
    frames[ACCELERATION, :3] = directions
    upper[ACCELERATION] = most
    return Columns(frames, upper)


def balanced_at_rest(columns: Columns, start: State) -> tuple[Truth, State]:
    """True for programmes in which gravity alone can be balanced, and their states."""
    solved = maximise(columns, start)
    impossible = solved.settled & ~solved.possible
    unsure = ~solved.settled
    unsure[impossible] = ~_nothing_balances(
        columns.take(np.flatnonzero(impossible)), solved.state.take(np.flatnonzero(impossible))
    )
    held = solved.possible
    for row in np.flatnonzero(unsure).tolist():
        held[row] = second_opinion.ask(dense(columns, row), _most(columns)[:, row]) is not None
    return held, solved.state.where(~unsure, start) if unsure.any() else solved.state


def largest(columns: Columns, start: State) -> Balances:
    """The largest acceleration of every programme, with proof; NaN if nothing balances."""
    solved = maximise(columns, start)
    found = _proved(columns, solved)
    sure = solved.possible & (found.residuals <= _MOST_RESIDUAL)
    sure &= found.bounds - found.accelerations <= _MOST_GAP
    if sure.all():
        return found
    for row in np.flatnonzero(~sure).tolist():
        every, most = dense(columns, row), _most(columns)[:, row]
        answer = second_opinion.ask(every, most)
        if answer is None:
            found.accelerations[row] = np.nan
            continue
        amounts, multipliers = answer
        found.amounts[:, row] = amounts
        found.accelerations[row] = amounts[ACCELERATION]
        found.multipliers[:, row] = multipliers
        found.residuals[row] = np.abs(every @ amounts - GRAVITY[:, 0]).max()
        found.bounds[row] = bounds(columns.take(np.array([row])), multipliers[:, np.newaxis])[0]
    return found._replace(state=found.state.where(sure, start))


def bounds(columns: Columns, multipliers: Array) -> Array:
    """Upper bounds of the acceleration in g, from any multipliers (6, n) (weak duality).

    Any multipliers give a valid bound, so an inexact solution cannot make it too low; those of the
    solution give the lowest.

    bound = gravity part + sum over unknowns of (reduced cost) * (upper limit).
    A contact has no stated limit, but the vertical equation gives one: it cannot push harder than
    gravity, the acceleration and all downward pulls together.
    """
    every = gains(columns, multipliers, np.ones(columns.count, dtype=bool))
    at_gravity: Array = (multipliers * GRAVITY).sum(axis=0)
    return at_gravity + _at_their_most(columns, every)


def dense(columns: Columns, row: int) -> Array:
    """All columns (6, columns) of one programme, including every edge of every contact."""
    singles, contacts = columns.singles, columns.contacts
    frames = columns.frames[:, :, row]
    up, along_x, along_y = frames[singles:].reshape(3, contacts, 1, EQUATIONS)
    edges = up + EDGE_X[:, np.newaxis] * along_x + EDGE_Y[:, np.newaxis] * along_y
    every: Array = np.concatenate([frames[:singles], edges.reshape(-1, EQUATIONS)]).T
    return every


def turned(state: State, rest: State, columns: Columns) -> State:
    """The same basis for another direction of the acceleration.

    `columns` has the new direction. If the basis is not valid for it, the state is that at rest.
    """
    in_basis = state.basis == ACCELERATION
    change = times(state.inverse, columns.frames[ACCELERATION])
    pivot = np.where(in_basis, change, 0.0).sum(axis=0)
    is_in = in_basis.any(axis=0)
    goes_on = ~is_in | (np.abs(pivot) > _SMALLEST_PIVOT)
    pivot = np.where(is_in & goes_on, pivot, 1.0)
    row = np.where(in_basis[:, np.newaxis], state.inverse, 0.0).sum(axis=0) / pivot
    others = np.where(in_basis, 0.0, change)
    inverse = state.inverse - others[:, np.newaxis] * row
    inverse = np.where(in_basis[:, np.newaxis], row, inverse)
    turned_state = state._replace(inverse=inverse)
    amounts = times(inverse, _left_to_basis(columns, turned_state))
    return turned_state._replace(amounts=amounts).where(goes_on, rest)


def _most(columns: Columns) -> Array:
    """The upper limit of every amount, (columns, n); infinite for contacts."""
    edges = np.full((CONE_EDGES * columns.contacts, columns.count), np.inf)
    return np.concatenate([columns.upper, edges])


def _left_to_basis(columns: Columns, state: State) -> Array:
    """The load on the basis: gravity less the columns at their upper limits."""
    left = np.repeat(GRAVITY, columns.count, axis=1)
    for frame, most, at_most in zip(columns.frames, columns.upper, state.at_most, strict=False):
        if at_most.any():
            left -= np.where(at_most, most, 0.0) * frame
    return left


def _proved(columns: Columns, solved: Solved) -> Balances:
    """The amounts of a solution, recomputed from the columns, and their bound."""
    state, count = solved.state, columns.count
    left = _left_to_basis(columns, state)
    basis = columns_of(columns, state.basis)
    inside = state.amounts + times(state.inverse, left - times(basis, state.amounts))
    # Rounding may put an amount outside its bounds, so reported amounts are clipped.
    inside = np.clip(inside, 0.0, state.most)
    first_left_over = columns.singles + CONE_EDGES * columns.contacts
    amounts = np.zeros((first_left_over + EQUATIONS, count))
    amounts[: columns.singles] = np.where(state.at_most, columns.upper, 0.0)
    amounts[state.basis, np.arange(count)] = inside
    multipliers = multipliers_of(state, (state.basis == ACCELERATION).astype(float))
    return Balances(
        accelerations=amounts[ACCELERATION].copy(),
        amounts=amounts[:first_left_over],
        residuals=np.abs(left - times(basis, inside)).max(axis=0),
        bounds=bounds(columns, multipliers),
        multipliers=multipliers,
        state=state,
    )


def _nothing_balances(columns: Columns, state: State) -> Truth:
    """True if the multipliers prove that nothing balances (lemma of Farkas)."""
    if not columns.count:
        return np.zeros(0, dtype=bool)
    wanted = (state.amounts < 0.0).astype(float) - (state.amounts > state.most)
    multipliers = multipliers_of(state, wanted)
    every = gains(columns, multipliers, np.zeros(columns.count, dtype=bool))
    reach = (multipliers * GRAVITY).sum(axis=0) + _at_their_most(columns, every)
    proved: Truth = reach < -_CLEARLY
    return proved


def _at_their_most(columns: Columns, every: Array) -> Array:
    """Sum over all columns with a gain of gain times upper limit, (n)."""
    singles = columns.singles
    left = np.maximum(every, 0.0)
    pulls_down = np.abs(columns.frames[1:singles, 2]) * columns.upper[1:]
    hardest_push = 1.0 + columns.upper[ACCELERATION] + pulls_down.sum(axis=0)
    singly: Array = (left[:singles] * columns.upper).sum(axis=0)
    pushed: Array = left[singles:].sum(axis=0) * hardest_push
    return singly + pushed
