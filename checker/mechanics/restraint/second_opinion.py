"""Solves one linear programme with HiGHS, if the answer of the batch solver is uncertain.

HiGHS is imported at the first call; `count` is the number of calls.
"""

from functools import cache
from typing import Any

import numpy as np

from checker.mechanics.restraint.arrays import Array
from checker.mechanics.restraint.columns import EQUATIONS, GRAVITY

count = 0
"""Number of programmes that HiGHS solved in this process."""

# The smallest tolerance of the solver is 1e-10; its default of 1e-7 affects the eighth digit.
_SOLVER_TOLERANCE = 1e-9


@cache
def _silent_solver_class() -> type[Any]:
    from highspy import Highs

    class SilentHighs(Highs):
        """HiGHS without output and callbacks."""

        def enableCallbacks(self) -> None:  # noqa: N802 - the library's name
            """Turn the output off; `Highs` calls this method first in its constructor.

            Enabling callbacks prints a banner, which would corrupt a report on standard output.
            """
            self.silent()

    return SilentHighs


def ask(columns: Array, most: Array) -> tuple[Array, Array] | None:
    """Amounts and multipliers at the largest acceleration; None if nothing balances.

    Maximise the first amount such that `columns` (6, m) @ amounts is one unit upward, amounts
    between 0 and `most` (m). Raises ArithmeticError if the solver does not decide.
    """
    import highspy

    global count
    count += 1
    solver = _silent_solver_class()()
    for option, value in (
        ("presolve", "off"),
        ("threads", 1),
        ("primal_feasibility_tolerance", _SOLVER_TOLERANCE),
        ("dual_feasibility_tolerance", _SOLVER_TOLERANCE),
    ):
        solver.setOptionValue(option, value)
    used = columns.T != 0.0
    starts = np.concatenate([[0], np.cumsum(used.sum(axis=1))]).astype(np.int32)
    number = columns.shape[1]
    costs = np.zeros(number)
    costs[0] = 1.0
    column_wise, maximise = 1, -1
    solver.passModel(
        number,
        EQUATIONS,
        int(starts[-1]),
        column_wise,
        maximise,
        0.0,
        costs,
        np.zeros(number),
        np.where(np.isinf(most), highspy.kHighsInf, most),
        GRAVITY[:, 0],
        GRAVITY[:, 0],
        starts,
        np.nonzero(used)[1].astype(np.int32),
        columns.T[used],
        np.zeros(number, dtype=np.int32),
    )
    solver.run()
    status = solver.getModelStatus()
    if status == highspy.HighsModelStatus.kInfeasible:
        return None
    if status != highspy.HighsModelStatus.kOptimal:
        raise ArithmeticError(f"balance not decided: the solver ends with {status.name}")
    solution = solver.getSolution()
    # The solver may exceed bounds by its tolerance, so reported forces are clipped.
    return np.clip(solution.col_value, 0.0, most), np.array(solution.row_dual)
