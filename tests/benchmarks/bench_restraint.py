"""How long the restraint programmes take, one body and many, against a 6 x 6 solve in the same run.

Run as a script; nothing here is collected as a test. Ratios carry from machine to machine,
microseconds do not.
"""

import math
import statistics
import time
from collections.abc import Callable

import numpy as np
from msgspec.structs import replace

from checker.mechanics.restraint.arrays import Vector
from checker.mechanics.restraint.balance import dense, forces_on
from checker.mechanics.restraint.bodies import Bodies
from checker.mechanics.restraint.columns import toward
from checker.mechanics.restraint.elastic import StretchedTiedowns
from checker.mechanics.restraint.governs import held_with_forces
from checker.mechanics.restraint.held_set import (
    FORWARD,
    LEFT,
    REARWARD,
    RIGHT,
    UP,
    HeldSet,
    heading,
)
from checker.mechanics.restraint.second_opinion import ask
from checker.mechanics.restraint.spring_set import Springs
from tests.mechanics.articles import Body, Contact, Pull, Tiedown, stack

WAYS = [FORWARD, REARWARD, LEFT, RIGHT, UP]
ROUNDS = 5


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


def alike(body: Body, count: int) -> list[Body]:
    """The same machine with other weights and places of its centre of gravity."""
    rng = np.random.default_rng(1)
    return [
        replace(
            body,
            weight=20_000.0 * rng.uniform(0.6, 1.5),
            centre_of_gravity=(0.1 + rng.normal(0.0, 0.2), 0.03, 0.7),
        )
        for _ in range(count)
    ]


def one_by_one(bodies: Bodies) -> None:
    """Every body in every way by HiGHS, each programme by itself."""
    forces = forces_on(bodies)
    for direction in WAYS:
        columns = toward(forces, np.repeat(np.array([direction]).T, bodies.count, axis=1), 10.0)
        for row in range(bodies.count):
            ask(*dense(columns, row))


def main() -> None:
    body = machine_on_deck()
    one, many = stack([body]), stack(alike(body, 1_000))
    some = many.take(np.arange(50))
    headings = [heading(number * math.pi / 18) for number in range(36)]
    springs = Springs(np.full((8, 1_000), 1e6), np.full((8, 1_000), 1_000.0))
    held = HeldSet(many).largest(WAYS)
    matrix, right = np.random.default_rng(1).normal(size=(6, 6)), np.ones(6)
    floor = microseconds(lambda: np.linalg.solve(matrix, right), 2_000)
    rows = [
        ("numpy 6 x 6 solve", floor, 1),
        (
            "1 body, 41 directions",
            microseconds(lambda: HeldSet(one).largest([*WAYS, *headings]), 5),
            41,
        ),
        (
            "1 body, what governs 5 ways",
            microseconds(lambda: held_with_forces(one, WAYS), 5),
            5,
        ),
        ("1,000 bodies, 5 directions", microseconds(lambda: HeldSet(many).largest(WAYS), 1), 5_000),
        (
            "1,000 bodies, least around",
            microseconds(lambda: HeldSet(many).least_around, 1),
            1_000,
        ),
        (
            "1,000 bodies, first full, 4 directions",
            microseconds(
                lambda: StretchedTiedowns(many, springs).first_full(WAYS[:4], held[:4]), 1
            ),
            4_000,
        ),
        ("50 bodies, 5 directions, HiGHS", microseconds(lambda: one_by_one(some), 1), 250),
    ]
    print(f"{'':40}{'whole':>14}{'each':>12}{'each':>10}")  # noqa: T201
    for name, duration, parts in rows:
        each = duration / parts
        print(f"{name:40}{duration:11,.0f} us{each:9,.1f} us{each / floor:8,.1f} x")  # noqa: T201


if __name__ == "__main__":
    main()
