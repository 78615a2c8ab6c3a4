"""How long one question to the restraint programme takes, against a 6 x 6 solve in the same run.

Run as a script; nothing here is collected as a test. Ratios carry from machine to machine,
microseconds do not.
"""

import math
import statistics
import time
from collections.abc import Callable
from itertools import cycle

import numpy as np

from checker.mechanics.elastic import Spring, stretched
from checker.mechanics.restraint import FORWARD, compass, heading, largest_acceleration
from checker.mechanics.restraint_body import Body, Contact, Pull, Tiedown, Vector
from checker.mechanics.restraint_model import BalanceModel

ROUNDS = 9


def outward(x: float, y: float, steep: float) -> Vector:
    """Diagonally away from the middle and down."""
    length = math.hypot(1.0, 1.0, steep)
    return (math.copysign(1.0, x) / length, math.copysign(1.0, y) / length, -steep / length)


def machine_on_deck() -> Body:
    """Four wheels and eight tiedowns, two to a corner."""
    wheels = tuple(
        Contact(f"wheel {x} {y}", (x, y, 0.0), 0.4) for x in (-1.0, 1.1) for y in (-0.7, 0.7)
    )
    tiedowns = tuple(
        Tiedown(
            f"{steep} {x} {y}",
            6_000.0,
            (Pull((x, y, 0.6), outward(x, y, steep)),),
        )
        for steep in (0.5, 1.5)
        for x in (-0.9, 1.0)
        for y in (-0.6, 0.6)
    )
    return Body(20_000.0, (0.1, 0.03, 0.7), tiedowns, wheels)


def microseconds(call: Callable[[], object], times: int) -> float:
    """Time of one call: the median of several rounds of many calls."""
    rounds = []
    for _ in range(ROUNDS):
        start = time.perf_counter()
        for _ in range(times):
            call()
        rounds.append((time.perf_counter() - start) / times)
    return statistics.median(rounds) * 1e6


def main() -> None:
    body = machine_on_deck()
    springs = [Spring(1e6, 1_000.0)] * len(body.tiedowns)
    matrix, right = np.random.default_rng(1).normal(size=(6, 6)), np.ones(6)
    model = BalanceModel(body, friction=True)
    headings = cycle([heading(number * math.pi / 18) for number in range(36)])

    def warm_solve() -> None:
        model.ask(next(headings))
        model.largest()

    floor = microseconds(lambda: np.linalg.solve(matrix, right), 2_000)
    rows = [
        ("numpy 6 x 6 solve", floor),
        ("next heading, warm", microseconds(warm_solve, 360)),
        ("compass, 36 headings and up", microseconds(lambda: compass(body), 5)),
        (
            "one direction with what governs",
            microseconds(lambda: largest_acceleration(body, FORWARD), 20),
        ),
        ("tiedowns as springs", microseconds(lambda: stretched(body, springs, FORWARD, 0.5), 50)),
    ]
    for name, duration in rows:
        print(f"{name:34}{duration:12,.1f} us{duration / floor:10,.1f} x")  # noqa: T201


if __name__ == "__main__":
    main()
