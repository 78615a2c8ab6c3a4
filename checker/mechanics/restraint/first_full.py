"""The acceleration at which the first tiedown of an article on springs reaches its limit.

Tensions are piecewise linear in the acceleration, so the search extrapolates the current piece, and
halves the interval if that makes no progress.
"""

import numpy as np

from checker.mechanics.restraint.arrays import Array, Truth
from checker.mechanics.restraint.columns import GRAVITY, times
from checker.mechanics.restraint.spring_set import NOT_HELD_RESIDUAL, SpringSet, inertia_loads

# Tolerance of the search, as a share of the limit or in g.
_CLOSE = 1e-10
_MOST_GUESSES = 60


def first_full(springs: SpringSet, directions: Array, most: Array, moved: Array) -> Array:
    """The accelerations at which the first tiedown reaches its limit, in g, up to `most`.

    `moved`: the displacements at rest.
    """
    answers, high = np.zeros_like(most), most.copy()
    rows, asked = np.arange(len(most)), np.zeros_like(most)
    low = np.zeros_like(most)
    untried: Truth = np.ones(len(most), dtype=bool)
    for guess in range(_MOST_GUESSES):
        moved, forces, residuals = springs.settle(inertia_loads(directions, asked), moved)
        over = _over(springs, forces, residuals)
        within = over <= _CLOSE
        low, high = np.where(within, asked, low), np.where(within, high, asked)
        untried &= within
        answers[rows] = low
        full = (np.abs(over) <= _CLOSE) & (asked > 0.0)
        going_on = np.flatnonzero(~full & (high - low > _CLOSE))
        if not len(going_on):
            break
        # A position at which nothing holds cannot be a start.
        moved = np.where(np.isinf(over), 0.0, moved)
        rows, directions, springs = rows[going_on], directions[:, going_on], springs.take(going_on)
        untried, moved = untried[going_on], moved[:, going_on]
        low, high, asked = low[going_on], high[going_on], asked[going_on]
        middle = (low + high) / 2.0
        asked = middle if guess % 3 == 2 else _end_of_piece(springs, directions, asked, moved)
        asked = np.where((asked >= high) & untried, high, asked)
        asked = np.where((asked > low) & ((asked < high) | untried), asked, middle)
    return answers


def _over(springs: SpringSet, forces: Array, residuals: Array) -> Array:
    """Largest excess of a tension over its limit, as a share of it; infinite if nothing holds."""
    limits = springs.limits
    shares = np.full_like(limits, np.inf)
    np.divide(forces[: len(limits)], limits, out=shares, where=limits > 0.0)
    return np.where(residuals <= NOT_HELD_RESIDUAL, shares.max(axis=0) - 1.0, np.inf)


def _end_of_piece(springs: SpringSet, directions: Array, asked: Array, moved: Array) -> Array:
    """Accelerations at which the first tiedown reaches its limit, by linear extrapolation."""
    signed = springs.signed(moved)
    give = springs.give(signed, inertia_loads(directions, np.ones_like(asked)) + GRAVITY)
    count = len(springs.limits)
    rates = np.where(signed > 0.0, -springs.stiffnesses * times(springs.wrenches, give), 0.0)[
        :count
    ]
    ways = np.full_like(rates, np.inf)
    np.divide(springs.limits - np.maximum(signed[:count], 0.0), rates, out=ways, where=rates > 0.0)
    shortest: Array = ways.min(axis=0)
    return asked + shortest
