"""Laws of limit analysis on drawn bodies, and other people's solvers on random ones.

No expected value is printed here: a law holds whatever the numbers are, and the independent
solvers build their own equations in plain loops, about another point and in newtons.
"""

import math
from functools import cache

import hypothesis.strategies as st
import numpy as np
import pytest
from hypothesis import given
from msgspec.structs import replace
from scipy.optimize import linprog, nnls

from checker.mechanics.restraint.balance import bounds, forces_on
from checker.mechanics.restraint.columns import CONE_EDGES, toward
from checker.mechanics.restraint.held_set import UP, heading
from tests.mechanics.articles import Block, Body, Contact, Pull, Tiedown, stack
from tests.mechanics.one_body import (
    accelerations_together,
    compass,
    largest_acceleration,
    largest_accelerations,
    slick,
)

SLACK = 1e-7  # g, what the solver's own tolerance may cost on either side of a comparison


def unit(x, y, z):
    length = math.hypot(x, y, z)
    return (x / length, y / length, z / length)


# --- bodies to draw -----------------------------------------------------------------------------


@cache  # a strategy that is made again is unwrapped and checked again
def between(low, high):
    # Steps of a thousandth: no number is a hair's breadth from another one.
    steps = st.integers(round(low * 1000), round(high * 1000))
    return steps.map(lambda step: step / 1000)


points = st.tuples(between(-1.5, 1.5), between(-1.0, 1.0), between(0.0, 1.5))
slopes = st.tuples(between(-1.0, 1.0), between(-1.0, 1.0), between(-1.0, -0.05))
pulls = st.builds(lambda point, slope: Pull(point, unit(*slope)), points, slopes)
tiedowns = st.builds(
    lambda limit, drawn: Tiedown("tiedown", limit * 10_000, tuple(drawn)),
    between(0.02, 1.0),
    st.lists(pulls, min_size=1, max_size=2),
)
blocks = st.builds(
    lambda point, angle, strength: Block("block", strength * 10_000, point, heading(angle)),
    points,
    between(0.0, 6.2),
    between(0.02, 1.0),
)
directions = st.one_of(between(0.0, 6.2).map(heading), st.just(UP))


@st.composite
def bodies(draw):
    frictions = [draw(between(0.05, 0.9)) for _ in range(4)]
    corners = [(-1.5, 0.9), (-1.5, -0.9), (1.4, 0.8), (1.4, -0.8)]
    return Body(
        10_000.0,
        (draw(between(-0.9, 0.9)), draw(between(-0.5, 0.5)), draw(between(0.2, 1.5))),
        tuple(draw(st.lists(tiedowns, max_size=5))),
        tuple(
            Contact("wheel", (x, y, 0.0), friction)
            for (x, y), friction in zip(corners, frictions, strict=True)
        ),
        tuple(draw(st.lists(blocks, max_size=2))),
    )


def acceleration(body, direction, *, friction=True):
    return largest_accelerations(body, [direction], friction=friction)[0]


def changed_points(body, change_point, change_direction=lambda direction: direction):
    """Move every place and turn every direction of a body."""
    return replace(
        body,
        centre_of_gravity=change_point(body.centre_of_gravity),
        tiedowns=tuple(
            replace(
                tiedown,
                pulls=tuple(
                    Pull(change_point(pull.point), change_direction(pull.direction))
                    for pull in tiedown.pulls
                ),
            )
            for tiedown in body.tiedowns
        ),
        contacts=tuple(
            replace(contact, point=change_point(contact.point)) for contact in body.contacts
        ),
        blocks=tuple(
            replace(
                block,
                point=change_point(block.point),
                direction=change_direction(block.direction),
            )
            for block in body.blocks
        ),
    )


# --- laws ---------------------------------------------------------------------------------------


@given(bodies(), directions)
def test_answer_balances_and_is_proved_the_largest(body, direction):
    held = largest_acceleration(body, direction)
    assert held.residual < 1e-8
    assert held.bound == pytest.approx(held.acceleration_g, abs=SLACK)
    for tension, tiedown in zip(held.tensions, body.tiedowns, strict=True):
        assert 0.0 <= tension <= tiedown.limit * (1 + 1e-12)
    for push, block in zip(held.pushes, body.blocks, strict=True):
        assert 0.0 <= push <= block.strength * (1 + 1e-12)
    for normal, rub, contact in zip(held.normals, held.frictions, body.contacts, strict=True):
        assert math.hypot(*rub) <= contact.friction * normal + 1e-6


@given(bodies(), directions, st.integers(0, 2**32 - 1))
def test_any_multipliers_bound_the_acceleration(body, direction, seed):
    forces = forces_on(stack([body])).take(np.zeros(20, dtype=int))
    columns = toward(forces, np.array([direction] * 20).T, 10.0)
    multipliers = np.random.default_rng(seed).normal(size=(6, 20))
    assert min(bounds(columns, multipliers)) >= acceleration(body, direction) - SLACK


@given(bodies(), tiedowns, directions)
def test_another_tiedown_never_holds_less(body, another, direction):
    more = replace(body, tiedowns=(*body.tiedowns, another))
    assert acceleration(more, direction) >= acceleration(body, direction) - SLACK


@given(bodies(), blocks, directions)
def test_another_block_never_holds_less(body, another, direction):
    more = replace(body, blocks=(*body.blocks, another))
    assert acceleration(more, direction) >= acceleration(body, direction) - SLACK


@given(bodies().filter(lambda body: body.tiedowns), between(1.0, 3.0), directions)
def test_stronger_tiedown_never_holds_less(body, factor, direction):
    first, *others = body.tiedowns
    stronger = replace(body, tiedowns=(replace(first, limit=factor * first.limit), *others))
    more, as_it_is = accelerations_together([stronger, body], direction)
    assert more >= as_it_is - SLACK


@given(bodies(), between(1.0, 3.0), directions)
def test_more_friction_never_holds_less_and_none_never_more(body, factor, direction):
    rougher = replace(
        body,
        contacts=tuple(
            replace(contact, friction=factor * contact.friction) for contact in body.contacts
        ),
    )
    rough, as_it_is, smooth = accelerations_together([rougher, body, slick(body)], direction)
    assert rough >= as_it_is - SLACK
    assert smooth <= as_it_is + SLACK


@given(bodies(), between(0.0, 6.2), between(0.0, 6.2))
def test_what_is_held_along_two_headings_is_held_between_them(body, one, other):
    # The accelerations a body is held against form a convex set that contains none.
    first, second = (np.array(heading(angle)) for angle in (one, other))
    held = largest_accelerations(body, [heading(one), heading(other)])
    middle = (held[0] * first + held[1] * second) / 2
    asked = float(np.linalg.norm(middle))
    if asked > 1e-6:
        between_them = (float(middle[0] / asked), float(middle[1] / asked), 0.0)
        assert acceleration(body, between_them) >= asked - SLACK


@given(bodies(), directions)
def test_mirror_image_is_held_alike(body, direction):
    def mirror(vector):
        return (vector[0], -vector[1], vector[2])

    image = changed_points(body, mirror, mirror)
    assert acceleration(image, mirror(direction)) == pytest.approx(
        acceleration(body, direction), abs=SLACK
    )


@given(bodies(), st.tuples(between(-9, 9), between(-9, 9), between(-2, 2)), directions)
def test_where_distances_are_measured_from_does_not_matter(body, datum, direction):
    def moved(point):
        return tuple(part + shift for part, shift in zip(point, datum, strict=True))

    elsewhere, here = accelerations_together([changed_points(body, moved), body], direction)
    assert elsewhere == pytest.approx(here, abs=SLACK)


@given(bodies(), between(0.1, 9.0), directions)
def test_scale_of_lengths_does_not_matter(body, factor, direction):
    def stretched(point):
        return tuple(factor * part for part in point)

    larger, as_it_is = accelerations_together([changed_points(body, stretched), body], direction)
    assert larger == pytest.approx(as_it_is, abs=SLACK)


@given(bodies(), between(0.1, 9.0), directions)
def test_scale_of_forces_does_not_matter(body, factor, direction):
    scaled = replace(
        body,
        weight=factor * body.weight,
        tiedowns=tuple(replace(t, limit=factor * t.limit) for t in body.tiedowns),
        blocks=tuple(replace(b, strength=factor * b.strength) for b in body.blocks),
    )
    heavier, as_it_is = accelerations_together([scaled, body], direction)
    assert heavier == pytest.approx(as_it_is, abs=SLACK)


@given(bodies(), directions)
def test_order_of_parts_does_not_matter(body, direction):
    turned = replace(
        body, tiedowns=body.tiedowns[::-1], contacts=body.contacts[::-1], blocks=body.blocks[::-1]
    )
    assert acceleration(turned, direction) == pytest.approx(
        acceleration(body, direction), abs=SLACK
    )


@given(bodies(), directions)
def test_what_governs_agrees_with_the_forces(body, direction):
    held = largest_acceleration(body, direction)
    if held.capped:
        assert held.governs is None
        return
    governs = held.governs
    full = [
        tiedown.name
        for tiedown, tension in zip(body.tiedowns, held.tensions, strict=True)
        if tension == pytest.approx(tiedown.limit, rel=1e-6)
    ]
    # What no contact carries cannot slide.
    assert governs.motion != "sliding" or governs.carrying
    assert len(governs.tiedowns) <= len(full)
    assert (governs.kind == "tiedown full") is bool(governs.tiedowns)
    assert (governs.kind == "block full") is bool(governs.blocks and not governs.tiedowns)
    if governs.kind in {"sliding", "lifting", "turning", "tipping"}:
        assert governs.kind == governs.motion
        # Nothing is full that counts: all limits a little lower change nothing.
        weaker = replace(
            body, tiedowns=tuple(replace(t, limit=t.limit * 0.9999) for t in body.tiedowns)
        )
        lowered = held.acceleration_g - acceleration(weaker, direction)
        assert lowered < 1e-4 * max(1, len(body.tiedowns))


# --- other people's solvers ---------------------------------------------------------------------


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


def test_linear_programming_of_scipy_agrees_on_random_bodies():
    rng = np.random.default_rng(20_260_101)
    settings = {"primal_feasibility_tolerance": 1e-10, "dual_feasibility_tolerance": 1e-10}
    standing = 0
    for _ in range(300):
        body = random_body(rng)
        direction = UP if rng.random() < 0.2 else heading(rng.uniform(0.0, 6.3))
        columns, limits, gravity = own_equations(body)
        # In multiples of the weight, as a force of 1e4 N would use up the solver's tolerance.
        inertia = np.array(force_at(body.centre_of_gravity, direction))
        matrix = np.column_stack([inertia, columns])
        bounds = [(0.0, limit / body.weight) for limit in [10.0 * body.weight, *limits]]
        costs = np.zeros(matrix.shape[1])
        costs[0] = -1.0
        at_rest = linprog(
            0.0 * costs[1:], A_eq=columns, b_eq=-gravity / body.weight, bounds=bounds[1:]
        )
        held = largest_acceleration(body, direction)
        assert (held.governs is not None and held.governs.kind == "not held at rest") is (
            at_rest.status == 2
        )
        if at_rest.status == 0:
            standing += 1
            theirs = linprog(
                costs, A_eq=matrix, b_eq=-gravity / body.weight, bounds=bounds, options=settings
            )
            assert held.acceleration_g == pytest.approx(-theirs.fun, abs=1e-8)
    assert standing >= 200


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
