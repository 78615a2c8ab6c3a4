"""The balance of a tied-down article as a linear programme, kept in the solver between questions.

Unknowns, all in multiples of the weight: the acceleration, one tension per tiedown, the friction
generators of each contact, one push per block. Six equations say that they balance gravity.
A question changes a bound or the three numbers of the acceleration's column, and the solver goes
on from its last answer. HiGHS is the solver; it is imported when the first model is built.
"""

from functools import cache
from typing import Any, NamedTuple

import numpy as np

from checker.mechanics.restraint_body import (
    Array,
    Body,
    Vector,
    block_wrenches,
    contact_wrenches,
    tiedown_wrenches,
)

# More than anything on a road does to a load; an article held in all directions needs an end.
LARGEST_ACCELERATION_ASKED_G = 10.0

# Coulomb's round cone is replaced by a pyramid inside it. With 16 edges friction is never
# overstated, exact along x, along y and every 22.5 degrees between, and at worst (midway)
# cos(pi/16) = 98.08 % of the true one.
CONE_EDGES = 16

_EDGE_ANGLES = 2.0 * np.pi * np.arange(CONE_EDGES) / CONE_EDGES
# Exact zeros keep a body that is symmetric symmetric for the solver too.
_EDGES = np.round(np.stack([np.cos(_EDGE_ANGLES), np.sin(_EDGE_ANGLES)]), 15)

_BALANCE = np.array([0.0, 0.0, 1.0, 0.0, 0.0, 0.0])
_ACCELERATION = 0
_MOMENT_ROWS = (3, 4, 5)

# The tightest the solver offers is 1e-10; its default of 1e-7 shows in the eighth digit.
_SOLVER_TOLERANCE = 1e-9


@cache
def _silent_solver_class() -> type[Any]:
    from highspy import Highs

    class SilentHighs(Highs):
        """HiGHS that prints nothing and calls nothing back."""

        def enableCallbacks(self) -> None:  # noqa: N802 - the library's name
            """Turn the output off in place of what `Highs` does first when it is made.

            To enable callbacks prints a greeting, which would spoil a report on standard output.
            """
            self.silent()

    return SilentHighs


class Balance(NamedTuple):
    """One state of balance at the largest acceleration, forces in multiples of the weight.

    `residual` is the largest of the six sums that should vanish. `bound` is an acceleration
    that no state of balance exceeds, worked out from the solver's multipliers.
    """

    acceleration: float
    tensions: Array
    normals: Array
    frictions: Array
    pushes: Array
    residual: float
    bound: float


class BalanceModel:
    """The balance of one body. Not for two threads at once.

    `held_at_rest`: whether anything balances gravity alone. `limits` of tiedowns and `strengths`
    of blocks are in multiples of the weight.
    """

    def __init__(self, body: Body, *, friction: bool) -> None:
        if not body.is_stated:
            # The solver takes NaN without a word and answers something.
            raise ValueError("a number of the body is not stated")
        import highspy

        tiedowns, blocks = tiedown_wrenches(body), block_wrenches(body)
        # Without friction a contact has its upward push alone: a pyramid of one edge, straight up.
        self._edges = _EDGES if friction else np.zeros((2, 1))
        generators = _generators(body, self._edges)
        self._columns = np.hstack([np.zeros((6, 1)), tiedowns, blocks, generators])
        self.limits = np.array([t.limit for t in body.tiedowns], dtype=float) / body.weight
        self.strengths = np.array([b.strength for b in body.blocks], dtype=float) / body.weight
        self._first_block = 1 + len(self.limits)
        self._first_generator = self._first_block + len(self.strengths)
        self._friction_coefficients = np.array([contact.friction for contact in body.contacts])
        self._upper = np.concatenate(
            [
                [LARGEST_ACCELERATION_ASKED_G],
                self.limits,
                self.strengths,
                np.full(generators.shape[1], highspy.kHighsInf),
            ]
        )
        self._infinity = highspy.kHighsInf
        self._optimal = highspy.HighsModelStatus.kOptimal
        self._infeasible = highspy.HighsModelStatus.kInfeasible
        self._solver = _silent_solver_class()()
        for option, value in (
            ("presolve", "off"),
            ("threads", 1),
            ("primal_feasibility_tolerance", _SOLVER_TOLERANCE),
            ("dual_feasibility_tolerance", _SOLVER_TOLERANCE),
        ):
            self._solver.setOptionValue(option, value)
        self._pass_model()
        # No direction is asked yet: the acceleration's column is empty and gravity is alone.
        self.held_at_rest = self._solve()

    def _pass_model(self) -> None:
        count = self._columns.shape[1]
        used = self._columns.T != 0.0
        starts = np.concatenate([[0], np.cumsum(used.sum(axis=1))]).astype(np.int32)
        costs = np.zeros(count)
        costs[_ACCELERATION] = 1.0
        column_wise, maximise = 1, -1
        self._solver.passModel(
            count,
            6,
            int(starts[-1]),
            column_wise,
            maximise,
            0.0,
            costs,
            np.zeros(count),
            self._upper,
            _BALANCE,
            _BALANCE,
            starts,
            np.nonzero(used)[1].astype(np.int32),
            self._columns.T[used],
            np.zeros(count, dtype=np.int32),
        )

    def ask(self, direction: Vector) -> None:
        """Let inertia pull along a unit direction from now on."""
        for row, share in enumerate(direction):
            self._solver.changeCoeff(row, _ACCELERATION, share)
            self._columns[row, _ACCELERATION] = share

    def free_moments(self, *rows: int) -> None:
        """Let the moments about these axes (0 x, 1 y, 2 z) go unbalanced, and only these."""
        for axis, row in enumerate(_MOMENT_ROWS):
            end = self._infinity if axis in rows else 0.0
            self._solver.changeRowBounds(row, -end, end)

    def limit_tiedown(self, number: int, limit: float) -> None:
        """Change the limit of one tiedown, in multiples of the weight."""
        self._solver.changeColBounds(1 + number, 0.0, limit)

    def limit_block(self, number: int, strength: float) -> None:
        """Change the strength of one block, in multiples of the weight."""
        self._solver.changeColBounds(self._first_block + number, 0.0, strength)

    def largest(self) -> float:
        """Largest acceleration in g with a state of balance; asked of a body held at rest."""
        if not self._solve():
            raise ArithmeticError("the largest acceleration was asked of a body not held at rest")
        return float(self._solver.getObjectiveValue())

    def _solve(self) -> bool:
        """Whether the forces can balance; the solver then holds the answer."""
        self._solver.run()
        if self._solver.getModelStatus() not in (self._optimal, self._infeasible):
            # Once in some thousand questions the last answer is a bad place to go on from.
            self._solver.clearSolver()
            self._solver.run()
        status = self._solver.getModelStatus()
        if status not in (self._optimal, self._infeasible):
            raise ArithmeticError(f"balance not decided: the solver ends with {status.name}")
        return bool(status == self._optimal)

    def balance(self) -> Balance:
        """Forces, residual and bound of the answer `largest` has just given."""
        solution = self._solver.getSolution()
        # The solver may leave a force outside its bounds by its tolerance; what is reported is not.
        forces = np.clip(solution.col_value, 0.0, self._upper)
        multipliers = np.array(solution.row_dual)
        per_contact = forces[self._first_generator :].reshape(-1, self._edges.shape[1])
        normals = per_contact.sum(axis=1)
        return Balance(
            acceleration=float(forces[_ACCELERATION]),
            tensions=forces[1 : self._first_block],
            normals=normals,
            frictions=self._friction_coefficients[:, np.newaxis] * (per_contact @ self._edges.T),
            pushes=forces[self._first_block : self._first_generator],
            residual=float(np.abs(self._columns @ forces - _BALANCE).max()),
            bound=self.bound(multipliers),
        )

    def bound(self, multipliers: Array) -> float:
        """Acceleration in g that no balance exceeds, from any six multipliers (weak duality).

        Any will do, so a poor solve cannot flatter it; the solver's own give the least.

        bound = gravity part + sum over unknowns of (what the multipliers leave) * (its most).
        A generator has no stated most, but the vertical equation gives it one: it cannot push
        harder than gravity, the acceleration and all that pulls down together.
        """
        left = -(multipliers @ self._columns)
        left[_ACCELERATION] += 1.0
        most = self._upper.copy()
        downward = np.abs(self._columns[2, 1 : self._first_generator])
        most[self._first_generator :] = (
            1.0 + most[_ACCELERATION] + downward @ most[1 : self._first_generator]
        )
        return float(multipliers @ _BALANCE + np.maximum(left, 0.0) @ most)


def _generators(body: Body, edges: Array) -> Array:
    """Columns (6, contacts * edges): the push of each contact along each edge of its pyramid."""
    unit_forces = contact_wrenches(body)
    coefficients = np.array([contact.friction for contact in body.contacts])
    sideways = coefficients[:, np.newaxis] * np.tensordot(unit_forces[:2], edges, axes=(0, 0))
    generators: Array = (unit_forces[2][:, :, np.newaxis] + sideways).reshape(6, -1)
    return generators
