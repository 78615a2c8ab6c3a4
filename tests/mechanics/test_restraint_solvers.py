"""Limit analysis against other people's solvers, and sums written out, on random bodies.

No expected value is printed here: the independent solvers build their own equations in plain loops,
about another point and in newtons.
"""

import math

import numpy as np
import pytest
from scipy.optimize import linprog, nnls
from scipy.sparse import block_diag

from checker.mechanics.restraint.columns import CONE_EDGES
from checker.mechanics.restraint.held_set import UP, heading
from tests.mechanics.articles import Block, Body, Contact, Pull, Tiedown, unit
from tests.mechanics.one_body import compass, largest_acceleration


def random_body(rng):
    """Four to six wheels anywhere, tiedowns and blocks anyhow: also bodies that cannot stand."""
    contacts = tuple(
        Contact(f"c{n}", (*rng.uniform(-1.5, 1.5, 2), rng.uniform(0.0, 0.2)), rng.uniform(0.1, 0.9))
        for n in range(rng.integers(3, 7))
    )
    ties = tuple(
        Tiedown(
            f"t{n}",
            rng.uniform(500.0, 9000.0),
            tuple(
                Pull(tuple(rng.uniform(-1.5, 1.5, 3)), unit(*rng.uniform(-1.0, 1.0, 3)))
                for _ in range(rng.integers(1, 4))
            ),
        )
        for n in range(rng.integers(0, 7))
    )
    chocks = tuple(
        Block(
            f"b{n}",
            rng.uniform(500.0, 9000.0),
            tuple(rng.uniform(-1.5, 1.5, 3)),
            heading(rng.uniform(0.0, 6.3)),
        )
        for n in range(rng.integers(0, 3))
    )
    centre = (*rng.uniform(-0.6, 0.6, 2), rng.uniform(0.2, 1.5))
    return Body(rng.uniform(5_000.0, 20_000.0), centre, ties, contacts, chocks)


def force_at(point, force):
    """Force and moment about the origin, written out."""
    (x, y, z), (fx, fy, fz) = point, force
    return [fx, fy, fz, y * fz - z * fy, z * fx - x * fz, x * fy - y * fx]


def own_equations(body):
    """Columns of unit forces and their upper limits in N, and gravity, about the origin."""
    columns, limits = [], []
    for tiedown in body.tiedowns:
        rows = [force_at(pull.point, pull.direction) for pull in tiedown.pulls]
        columns.append([sum(parts) for parts in zip(*rows, strict=True)])
        limits.append(tiedown.limit)
    for block in body.blocks:
        columns.append(force_at(block.point, block.direction))
        limits.append(block.strength)
    for contact in body.contacts:
        for edge in range(CONE_EDGES):
            angle = 2 * math.pi * edge / CONE_EDGES
            rub = (contact.friction * math.cos(angle), contact.friction * math.sin(angle), 1.0)
            columns.append(force_at(contact.point, rub))
            limits.append(math.inf)
    gravity = force_at(body.centre_of_gravity, (0.0, 0.0, -body.weight))
    return np.array(columns).T, np.array(limits), np.array(gravity)


def solved_together(costs, matrices, totals, limits, **options):
    """The unknowns of many programmes, which share nothing, from one large one."""
    upper = np.concatenate(limits)
    found = linprog(
        np.concatenate(costs),
        A_eq=block_diag(matrices, format="csc"),
        b_eq=np.concatenate(totals),
        bounds=np.column_stack([np.zeros(len(upper)), upper]),
        options=options,
    )
    assert found.status == 0
    return np.split(found.x, np.cumsum([len(each) for each in limits])[:-1])


def test_linear_programming_of_scipy_agrees_on_random_bodies():
    rng = np.random.default_rng(20_260_101)
    lacking, accelerated, ours = [], [], []
    for _ in range(300):
        body = random_body(rng)
        direction = UP if rng.random() < 0.2 else heading(rng.uniform(0.0, 6.3))
        columns, limits, gravity = own_equations(body)
        # In multiples of the weight, as a force of 1e4 N would use up the solver's tolerance.
        total, limits = -gravity / body.weight, limits / body.weight
        # Help from outside in any of the six equations, as little as will do.
        outside = np.hstack([columns, np.eye(6), -np.eye(6)])
        price = np.append(np.zeros(len(limits)), np.ones(12))
        lacking.append((price, outside, total, np.append(limits, [math.inf] * 12)))
        inertia = np.array(force_at(body.centre_of_gravity, direction))
        gain = np.append(-1.0, np.zeros(len(limits)))
        accelerated.append((gain, np.column_stack([inertia, columns]), total, [10.0, *limits]))
        ours.append(largest_acceleration(body, direction))
    needed = solved_together(*zip(*lacking, strict=True))
    stands = np.array([help_needed[-12:].sum() for help_needed in needed]) < 1e-7
    for held, at_rest in zip(ours, stands, strict=True):
        falls = held.governs is not None and held.governs.kind == "not held at rest"
        assert falls is not bool(at_rest)
    standing = np.flatnonzero(stands)
    assert len(standing) >= 200
    theirs = solved_together(
        *zip(*(accelerated[number] for number in standing), strict=True),
        primal_feasibility_tolerance=1e-10,
        dual_feasibility_tolerance=1e-10,
    )
    assert [ours[number].acceleration_g for number in standing] == pytest.approx(
        [found[0] for found in theirs], abs=1e-8
    )


def test_least_squares_finds_balance_just_below_and_none_just_above():
    # Lawson and Hanson's method shares nothing with the simplex method: it looks for forces of
    # at least zero that leave nothing over; limits are met by a second, filling-up force each.
    rng = np.random.default_rng(20_260_102)
    tried = 0
    while tried < 60:
        body = random_body(rng)
        direction = heading(rng.uniform(0.0, 6.3))
        held = largest_acceleration(body, direction)
        if held.capped or held.governs.kind == "not held at rest":
            continue
        tried += 1
        columns, limits, gravity = own_equations(body)
        limited = int(np.isfinite(limits).sum())
        matrix = np.block(
            [
                [columns, np.zeros((6, limited))],
                [np.eye(limited, columns.shape[1]), np.eye(limited)],
            ]
        )
        left_over = []
        for asked in (held.acceleration_g - 1e-4, held.acceleration_g + 1e-4):
            inertia = np.array(force_at(body.centre_of_gravity, direction)) * asked
            wanted = [*(-gravity / body.weight - inertia), *(limits[:limited] / body.weight)]
            left_over.append(nnls(matrix, np.array(wanted), maxiter=5000)[1])
        assert left_over[0] < 1e-9
        assert left_over[1] > 1e-6


def test_reported_forces_balance_about_the_origin():
    rng = np.random.default_rng(20_260_104)
    for _ in range(60):
        body = random_body(rng)
        direction = UP if rng.random() < 0.2 else heading(rng.uniform(0.0, 6.3))
        held = largest_acceleration(body, direction)
        if held.governs is not None and held.governs.kind == "not held at rest":
            continue
        inertia = held.acceleration_g * np.array(direction) - [0.0, 0.0, 1.0]
        total = np.array(force_at(body.centre_of_gravity, body.weight * inertia))
        for tiedown, tension in zip(body.tiedowns, held.tensions, strict=True):
            for pull in tiedown.pulls:
                total += tension * np.array(force_at(pull.point, pull.direction))
        for block, push in zip(body.blocks, held.pushes, strict=True):
            total += push * np.array(force_at(block.point, block.direction))
        for contact, normal, rub in zip(body.contacts, held.normals, held.frictions, strict=True):
            total += force_at(contact.point, (*rub, normal))
        assert total == pytest.approx(np.zeros(6), abs=1e-6 * body.weight)


def test_compass_over_many_random_bodies_never_fails():
    rng = np.random.default_rng(20_260_103)
    for _ in range(100):
        around = compass(random_body(rng), 8)
        assert np.all((around.accelerations >= 0.0) & (around.accelerations <= 10.0))
