"""The balance of tied-down articles as linear programmes, solved together, each with a proof.

Unknowns, all in multiples of the weight: the acceleration, one tension per tiedown, one push per
block, the friction generators of each contact. Six equations require that they balance gravity.
Every answer comes with a balance that reaches it and an upper bound. If the two differ, HiGHS
solves the programme again.
"""

from typing import NamedTuple

import numpy as np

from checker.mechanics.restraint import second_opinion
from checker.mechanics.restraint.arrays import Array, Truth
from checker.mechanics.restraint.bodies import Bodies
from checker.mechanics.restraint.columns import (
    ACCELERATION,
    EQUATIONS,
    GRAVITY,
    Columns,
    Forces,
    columns_of,
    gains,
    times,
)
from checker.mechanics.restraint.simplex import Solved, load_on_basis, maximise

# Largest residual of an answer, as a share of the weight, and largest gap to its bound, in g: well
# above rounding, well below anything that matters to a load.
_MOST_RESIDUAL = 1e-9
_MOST_GAP = 1e-8
# A rate of change that counts as zero.
_STILL = 1e-12
# How far the ends of an answer can be from it, in g.
_FARTHEST = 100.0
_ON_AND_BACK = np.array([[1.0], [-1.0]])
# Margin by which the proof that nothing balances must hold.
_CLEARLY = 1e-9


class Balances(NamedTuple):
    """The largest accelerations of n programmes, in g, each with its proof.

    `amounts` (columns, n): every force at that acceleration, in multiples of the weight, numbered
    as in `columns_of`. `residuals`: the largest of the six sums that should be zero. `bounds`:
    upper bounds of the acceleration, computed from `multipliers` (6, n), the dual values of the
    equations. `ends` (2, 2, n): horizontal accelerations to the left and right of the answer, on
    the line that bounds what is held; everything between them is held.
    """

    accelerations: Array
    amounts: Array
    residuals: Array
    bounds: Array
    multipliers: Array
    ends: Array


def forces_on(bodies: Bodies) -> Forces:
    """The unit forces on bodies; every number of the bodies must be stated."""
    along_x, along_y, up = bodies.contact_wrenches()
    frictions = bodies.contacts.frictions[:, np.newaxis]
    return Forces(
        np.concatenate([bodies.tiedown_wrenches(), bodies.block_wrenches()]),
        np.concatenate([bodies.tiedowns.limits, bodies.blocks.strengths]) / bodies.weights,
        np.stack([up, frictions * along_x, frictions * along_y]),
    )


def largest(columns: Columns) -> Balances:
    """The largest acceleration of every programme, with proof; NaN if nothing balances."""
    solved = maximise(columns)
    found = _proved(columns, solved)
    sure = solved.possible & (found.residuals <= _MOST_RESIDUAL)
    sure &= found.bounds - found.accelerations <= _MOST_GAP
    if sure.all():
        return found
    impossible = solved.settled & ~solved.possible
    impossible &= _nothing_balances(columns, solved)
    found.accelerations[impossible] = np.nan
    for row in np.flatnonzero(~sure & ~impossible).tolist():
        every, most = dense(columns, row)
        answer = second_opinion.ask(every, most)
        if answer is None:
            found.accelerations[row] = np.nan
            continue
        amounts, multipliers = answer
        found.amounts[:, row] = amounts
        found.accelerations[row] = amounts[ACCELERATION]
        found.multipliers[:, row] = multipliers
        found.ends[..., row] = amounts[ACCELERATION] * columns.units[ACCELERATION, :2, row]
        found.residuals[row] = np.abs(every @ amounts - GRAVITY[:, 0]).max()
        found.bounds[row] = bounds(columns.take(np.array([row])), multipliers[:, np.newaxis])[0]
    return found


def bounds(columns: Columns, multipliers: Array) -> Array:
    """Upper bounds of the acceleration in g, from any multipliers (6, n) (weak duality).

    Any multipliers give a valid bound, so an inexact solution cannot make it too low; those of the
    solution give the lowest.

    bound = gravity part + sum over unknowns of (reduced cost) * (upper limit).
    A contact has no stated limit, but the vertical equation gives one: it cannot push harder than
    gravity, the acceleration and all downward pulls together.
    """
    every = gains(columns, multipliers, 1.0)
    at_gravity: Array = (multipliers * GRAVITY).sum(axis=0)
    return at_gravity + _at_their_most(columns, every)


def dense(columns: Columns, row: int) -> tuple[Array, Array]:
    """All columns (6, columns) of one programme but the slacks, and their upper limits."""
    most = np.full(columns.first_slack, np.inf)
    most[: columns.singles] = columns.upper[:, row]
    one = columns.take(np.full(columns.first_slack, row))
    return columns_of(one, np.arange(columns.first_slack)), most


def _proved(columns: Columns, solved: Solved) -> Balances:
    """The amounts of a solution, recomputed from the columns, and their bound."""
    count, first_slack = columns.count, columns.first_slack
    left = load_on_basis(columns, solved.at_most)
    basis = columns_of(columns, solved.basis)
    basis += solved.basis - first_slack == np.arange(EQUATIONS).reshape(-1, 1, 1)
    inside = solved.amounts + times(solved.inverse, left - times(basis, solved.amounts))
    # Rounding may put an amount outside its bounds, so reported amounts are clipped.
    inside = np.clip(inside, 0.0, solved.most)
    amounts = np.zeros((first_slack + EQUATIONS, count))
    amounts[: columns.singles] = np.where(solved.at_most, columns.upper, 0.0)
    amounts[solved.basis, np.arange(count)] = inside

    # As the acceleration moves at right angles to its direction, the amounts change at these rates.
    direction, across = columns.units[ACCELERATION], np.zeros((EQUATIONS, count))
    across[0], across[1] = -direction[1], direction[0]
    rates = -times(solved.inverse, across)
    ways = _ways(inside, solved.most, rates)
    change = np.where(solved.basis == ACCELERATION, rates, 0.0).sum(axis=0)
    accelerations = amounts[ACCELERATION].copy()
    ends = (accelerations + ways * change)[:, np.newaxis] * direction[:2]
    ends += ways[:, np.newaxis] * across[:2]
    residual = np.abs(left - times(basis, inside)).max(axis=0)
    on_the_way = np.abs(times(basis, rates) + across).max(axis=0) * np.abs(ways).max(axis=0)
    return Balances(
        accelerations=accelerations,
        amounts=amounts[:first_slack],
        residuals=np.maximum(residual, on_the_way),
        bounds=bounds(columns, solved.multipliers),
        multipliers=solved.multipliers,
        ends=ends,
    )


def _ways(amounts: Array, most: Array, rates: Array) -> Array:
    """How far (2, n) all amounts (6, n) can change at these rates within bounds, on and back."""
    speed = np.abs(rates)
    with np.errstate(divide="ignore", invalid="ignore"):
        to_zero, to_most = amounts / speed, (most - amounts) / speed
    # An amount that does not change never stops.
    to_zero[speed <= _STILL] = to_most[speed <= _STILL] = np.inf
    falls = rates < 0.0
    on = np.where(falls, to_zero, to_most).min(axis=0)
    back = np.where(falls, to_most, to_zero).min(axis=0)
    ways: Array = np.minimum([on, back], _FARTHEST) * _ON_AND_BACK
    return ways


def _nothing_balances(columns: Columns, solved: Solved) -> Truth:
    """True if the multipliers prove that nothing balances (lemma of Farkas)."""
    every = gains(columns, solved.multipliers, 0.0)
    reach = (solved.multipliers * GRAVITY).sum(axis=0) + _at_their_most(columns, every)
    proved: Truth = reach < -_CLEARLY
    return proved


def _at_their_most(columns: Columns, every: Array) -> Array:
    """Sum over all columns with a gain of gain times upper limit, (n).

    Of a contact only the edge with the largest gain counts.
    """
    singles = columns.singles
    left = np.maximum(every, 0.0)
    pulls_down = np.abs(columns.units[1:singles, 2]) * columns.upper[1:]
    hardest_push = 1.0 + columns.upper[ACCELERATION] + pulls_down.sum(axis=0)
    singly: Array = (left[:singles] * columns.upper).sum(axis=0)
    edges = left[singles:].reshape(columns.edges, columns.contacts, columns.count)
    pushed: Array = edges.max(axis=0).sum(axis=0) * hardest_push
    return singly + pushed
