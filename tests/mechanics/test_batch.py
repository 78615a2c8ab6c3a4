"""Many programmes together against HiGHS one by one, and against themselves in other company.

HiGHS is an independent solver; it is given the same columns. The bodies are random ones with
everything that makes such programmes awkward: straps over the top, blocks, symmetry, limits of
zero, no friction, and an article that nothing holds at rest.
"""

import math

import numpy as np
import pytest
from msgspec.structs import replace

from checker.mechanics.restraint import second_opinion, simplex
from checker.mechanics.restraint.balance import dense, forces_on, largest
from checker.mechanics.restraint.bodies import Bodies
from checker.mechanics.restraint.columns import EDGE_X, EDGE_Y, products, toward
from checker.mechanics.restraint.held_set import (
    AT_REST,
    FORWARD,
    LEFT,
    REARWARD,
    RIGHT,
    UP,
    HeldSet,
    heading,
)
from checker.mechanics.restraint.simplex import maximise
from tests.mechanics.articles import Block, Body, Contact, Pull, Tiedown, stack

WAYS = [FORWARD, REARWARD, LEFT, RIGHT, UP]
CLOSE = 1e-7  # g


def shape(rng):
    """How many tiedowns, each plain or over the top, and blocks."""
    return [bool(rng.random() < 0.3) for _ in range(rng.integers(0, 7))], int(rng.integers(0, 4))


def random_body(rng, tiedowns, blocks):
    symmetric = rng.random() < 0.3
    across = 0.0 if symmetric else rng.normal(0.0, 0.25)
    friction = rng.choice([0.0, 0.1, 0.3, 0.6, 1.0])
    half = rng.choice([0.6, 0.8, 1.0])
    contacts = tuple(
        Contact("wheel", (x, y * half, 0.0), friction) for x in (-1.2, 1.3) for y in (1.0, -1.0)
    )
    made = []
    for number, over in enumerate(tiedowns):
        limit = float(rng.choice([0.0, 1.0, 1.0, rng.uniform(0.02, 1.5)])) * 6_000.0
        side = 1.0 if number % 2 else -1.0
        end = rng.choice([-1.0, 1.0])
        x = end * rng.uniform(0.2, 1.4) if not symmetric else 1.1 * (-1.0) ** (number // 2)
        if over:
            top = [(x, half, 1.2), (x, -half, 1.2)]
            made.append(
                Tiedown("over", limit, tuple(Pull(at, unit(0.0, at[1], -1.5)) for at in top))
            )
        else:
            slope = unit(end * rng.choice([0.0, 0.7, 1.0]), side * rng.choice([0.0, 0.6]), -0.7)
            made.append(Tiedown("strap", limit, (Pull((x, side * half, 0.6), slope),)))
    chocks = tuple(
        Block(
            "chock",
            float(rng.choice([0.0, rng.uniform(500.0, 20_000.0)])),
            (float(rng.uniform(-1.3, 1.3)), float(rng.uniform(-0.8, 0.8)), 0.1),
            WAYS[rng.integers(0, 4)],
        )
        for _ in range(blocks)
    )
    # Now and then beyond the wheels: nothing but a tiedown can hold it at rest.
    along = rng.normal(0.0, 0.4) if rng.random() < 0.9 else 1.3 * rng.choice([-1.0, 1.0, 1.5])
    centre = (float(along), float(across), float(rng.uniform(0.2, 1.5)))
    return Body(10_000.0, centre, tuple(made), contacts, chocks)


def unit(x, y, z):
    length = math.hypot(x, y, z)
    return (x / length, y / length, z / length)


def batches(seed, count, each):
    rng = np.random.default_rng(seed)
    for _ in range(count):
        yield stack([random_body(rng, *kind) for kind in [shape(rng)] for _ in range(each)])


def accelerated(forces, direction, most=10.0):
    """The programmes of all bodies in one direction."""
    return toward(forces, np.repeat(np.array([direction]).T, forces.limits.shape[1], axis=1), most)


def held_at_rest(forces):
    return ~np.isnan(largest(accelerated(forces, AT_REST)).accelerations)


def compare_with_highs(bodies: Bodies, directions):
    """Largest difference in g of every answer from HiGHS's; that nothing fell back to it."""
    asked = second_opinion.count
    every = HeldSet(bodies).largest(directions)
    assert second_opinion.count == asked
    forces = forces_on(bodies)
    worst = 0.0
    for row in range(bodies.count):
        one = forces.take(np.array([row]))
        held = highs(accelerated(one, AT_REST)) is not None
        for direction, found in zip(directions, every[:, row], strict=True):
            wanted = highs(accelerated(one, direction)) if held else 0.0
            worst = max(worst, abs(wanted - found))
    return worst


def highs(columns):
    found = second_opinion.ask(*dense(columns, 0))
    return None if found is None else found[0][0]


def test_columns_are_the_edges_of_the_cones():
    # An edge is the upward push plus the friction in its direction; `contacts` has the three.
    rng = np.random.default_rng(2)
    for bodies in batches(43, 6, 5):
        forces = forces_on(bodies)
        columns = accelerated(forces, heading(0.4), 7.0)
        up, along_x, along_y = forces.contacts[..., 3]
        edges = [
            (up + x * along_x + y * along_y).T
            for x, y in zip(EDGE_X[: columns.edges], EDGE_Y[: columns.edges], strict=True)
        ]
        acceleration = np.array([[*heading(0.4), 0.0, 0.0, 0.0]]).T
        expected = np.concatenate([acceleration, forces.singles[..., 3].T, *edges], axis=1)
        every, most = dense(columns, 3)
        assert every == pytest.approx(expected, abs=1e-15)
        assert most.tolist() == [7.0, *forces.limits[:, 3], *[math.inf] * 4 * columns.edges]
        multipliers = rng.normal(size=(6, 5))
        found = products(columns, multipliers)[:, 3]
        assert found == pytest.approx(multipliers[:, 3] @ expected, abs=1e-13)


@pytest.mark.parametrize("seed", range(4))
def test_the_batch_answers_as_highs_does(seed):
    worst = max(
        compare_with_highs(bodies, [WAYS[seed % 5], heading(0.3 + seed)])
        for bodies in batches(seed, 12, 6)
    )
    assert worst <= CLOSE


def test_every_answer_has_a_proof():
    for bodies in batches(11, 30, 40):
        forces = forces_on(bodies)
        forces = forces.take(np.flatnonzero(held_at_rest(forces)))
        found = largest(accelerated(forces, heading(0.7)))
        assert found.residuals.max(initial=0.0) <= 1e-9
        assert np.abs(found.bounds - found.accelerations).max(initial=0.0) <= 1e-8


@pytest.mark.parametrize("angle", [0.0, 0.7, 2.0])
def test_the_ends_of_an_answer_are_held_and_lie_on_its_line(angle):
    # An answer says that the line through its ends bounds the set, and that its ends are held.
    apart = 0
    for bodies in batches(17, 12, 30):
        forces = forces_on(bodies)
        forces = forces.take(np.flatnonzero(held_at_rest(forces)))
        found = largest(accelerated(forces, heading(angle), 100.0))
        for end in found.ends:
            along = (found.multipliers[:2] * end).sum(axis=0)
            capped = found.accelerations >= 100.0 - 1e-9
            assert along[~capped] == pytest.approx(found.accelerations[~capped], abs=1e-8)
            length = np.hypot(*end)
            rows = np.flatnonzero(length > 1e-3)
            toward_end = np.zeros((3, len(rows)))
            toward_end[:2] = end[:, rows] / length[rows]
            again = largest(toward(forces.take(rows), toward_end, 300.0))
            assert (again.accelerations >= length[rows] - 1e-8).all()
        apart += (np.hypot(*(found.ends[0] - found.ends[1])) > 1e-3).sum()
    assert apart > 100


def spoilt_inverse(state):
    state.inverse[..., 1] *= 1.01
    return state


def spoilt_amounts(state):
    state.inverse[..., 1] = 0.0
    state.amounts[:, 1] *= 1.01
    return state


@pytest.mark.parametrize("spoilt", [spoilt_inverse, spoilt_amounts])
def test_a_state_spoilt_by_rounding_is_solved_again(monkeypatch, spoilt):
    forces = forces_on(next(batches(3, 1, 5)).take(np.arange(4)))
    assert held_at_rest(forces).all()
    columns = accelerated(forces, LEFT)
    wanted = largest(columns)
    monkeypatch.setattr(
        "checker.mechanics.restraint.balance.maximise", lambda columns: spoilt(maximise(columns))
    )
    asked = second_opinion.count
    found = largest(columns)
    assert second_opinion.count == asked + 1
    assert found.accelerations == pytest.approx(wanted.accelerations, abs=CLOSE)
    assert found.bounds == pytest.approx(wanted.bounds, abs=CLOSE)
    assert found.residuals.max() <= 1e-9
    assert found.ends[..., 1] == pytest.approx(np.array([[0.0, found.accelerations[1]]] * 2))


@pytest.mark.parametrize(
    ("beyond", "stands", "asked"),
    [(-1e-12, True, 0), (1e-12, True, 0), (2.2e-10, True, 1), (1e-6, False, 0)],
)
def test_an_article_that_all_but_stands_goes_to_highs(beyond, stands, asked):
    # Its centre of gravity is this far beyond the wheels, in m. Up to some 1e-10 m is rounding to
    # the simplex; from some 3e-10 m on the multipliers prove the fall; between them HiGHS decides.
    wheels = tuple(Contact("wheel", (x, y, 0.0), 0.5) for x in (-1.0, 1.0) for y in (1.0, -1.0))
    standing = Body(10_000.0, (0.3, 0.0, 1.0), (), wheels, ())
    bodies = stack([standing, replace(standing, centre_of_gravity=(1.0 + beyond, 0.0, 1.0))])
    before = second_opinion.count
    assert held_at_rest(forces_on(bodies)).tolist() == [True, stands]
    assert second_opinion.count == before + asked


def test_an_answer_does_not_depend_on_its_company():
    for bodies in batches(5, 12, 9):
        together = HeldSet(bodies)
        ways, least = together.largest(WAYS), together.least_around
        for rows in (np.array([4]), np.array([7, 2]), np.arange(9)[::-1]):
            apart = HeldSet(bodies.take(rows))
            assert np.array_equal(apart.largest(WAYS), ways[:, rows])
            assert np.array_equal(apart.least_around, least[rows])


def test_friction_of_other_bodies_changes_nothing_without_friction():
    # A batch in which no contact has friction has one column for each contact instead of sixteen.
    for bodies in batches(31, 6, 5):
        together = HeldSet(bodies.then_frictionless()).largest(WAYS)
        assert np.array_equal(HeldSet(bodies.frictionless()).largest(WAYS), together[:, 5:])


def test_least_around_is_the_least_of_many_directions():
    headings = [heading(number * math.pi / 360) for number in range(720)]
    for bodies in batches(9, 8, 6):
        held = HeldSet(bodies)
        least = held.least_around
        asked = held.largest(headings).min(axis=0)
        assert (least <= asked + 1e-9).all()
        # Half a degree off the worst direction costs little.
        assert asked == pytest.approx(least, rel=2e-3, abs=1e-4)


def test_what_does_not_settle_goes_to_highs(monkeypatch):
    bodies = next(batches(3, 1, 5))
    expected = HeldSet(bodies).largest(WAYS)
    monkeypatch.setattr("checker.mechanics.restraint.simplex._MOST_EXCHANGES", 3)
    asked = second_opinion.count
    assert HeldSet(bodies).largest(WAYS) == pytest.approx(expected, abs=CLOSE)
    assert second_opinion.count > asked


@pytest.mark.parametrize("exchanges", [4, 8, 12])
def test_what_settles_does_not_depend_on_what_does_not(monkeypatch, exchanges):
    monkeypatch.setattr("checker.mechanics.restraint.simplex._MOST_EXCHANGES", exchanges)
    for bodies in batches(23, 4, 12):
        columns = accelerated(forces_on(bodies), LEFT)
        together = maximise(columns).settled
        for row in range(12):
            assert maximise(columns.take(np.array([row]))).settled[0] == together[row]


def test_a_bound_that_is_not_reached_goes_to_highs(monkeypatch):
    # The proof of every answer is found wanting: each is asked for once more.
    bodies = next(batches(3, 1, 5))
    expected = HeldSet(bodies).largest([LEFT])
    monkeypatch.setattr("checker.mechanics.restraint.balance._MOST_GAP", -1.0)
    asked = second_opinion.count
    assert HeldSet(bodies).largest([LEFT]) == pytest.approx(expected, abs=CLOSE)
    assert second_opinion.count > asked


def count_programmes(monkeypatch):
    """A list that gets the number and the edges of the programmes of every batch."""
    counted = []
    monkeypatch.setattr(
        "checker.mechanics.restraint.held_set.largest",
        lambda columns: counted.append((columns.count, columns.edges)) or largest(columns),
    )
    return counted


def test_programmes_start_with_the_contacts_that_brake(monkeypatch):
    # 5.8 exchanges each, and 9.2 from slacks alone, as every slack has to leave.
    taken = []
    exchange = simplex._Batch.exchange
    monkeypatch.setattr(
        simplex._Batch,
        "exchange",
        lambda batch: taken.append(int(batch.going_on.sum())) or exchange(batch),
    )
    programmes = 0
    for bodies in batches(47, 10, 20):
        forces = forces_on(bodies)
        programmes += len(maximise(accelerated(forces, heading(0.7))).settled)
    assert sum(taken) / programmes < 7.0


@pytest.mark.parametrize("places", [[(0.0, 0.0)] * 4, [(0.0, 1.0), (0.0, -1.0)] * 2, [(0.0, 0.0)]])
def test_contacts_that_depend_on_each_other_start_too(places):
    # All on one point or on one line: fewer than three of them can be in the first basis.
    wheels = tuple(Contact("wheel", (*place, 0.0), 0.4) for place in places)
    straps = tuple(
        Tiedown("strap", 9_000.0, (Pull((x, y, 0.5), unit(x, y, -1.0)),))
        for x in (-1.0, 1.0)
        for y in (-1.0, 1.0)
    )
    bodies = stack([Body(10_000.0, (0.0, 0.0, height), straps, wheels) for height in (0.3, 1.0)])
    assert compare_with_highs(bodies, [*WAYS, heading(0.6)]) <= CLOSE


def test_opposite_directions_tell_whether_a_body_is_held_at_rest(monkeypatch):
    for bodies in batches(37, 10, 12):
        held = held_at_rest(forces_on(bodies))
        counted = count_programmes(monkeypatch)
        found = HeldSet(bodies).largest(WAYS)
        assert sum(count for count, _ in counted) == 12 * len(WAYS)
        assert (found[:, ~held] == 0.0).all()
        # Each direction by itself gives the same, whatever else was asked.
        for way, expected in zip(WAYS, found, strict=True):
            assert np.array_equal(HeldSet(bodies).largest([way])[0], expected)


def test_bodies_without_friction_have_few_columns_among_many_with_friction(monkeypatch):
    rng = np.random.default_rng(41)
    body = random_body(rng, [False, True], 1)
    wheels = tuple(replace(each, friction=0.5) for each in body.contacts)
    bodies = stack([replace(body, contacts=wheels, weight=9_000.0 + row) for row in range(40)])
    together = bodies.then_frictionless()
    counted = count_programmes(monkeypatch)
    found = HeldSet(together).largest([LEFT, RIGHT])
    assert counted == [(80, 16), (80, 1)]
    assert np.array_equal(
        HeldSet(together.take(np.array([3, 43]))).largest([LEFT]), found[:1, [3, 43]]
    )


def test_equal_bodies_are_worked_out_once(monkeypatch):
    body = random_body(np.random.default_rng(1), [False, True], 1)
    counted = []
    monkeypatch.setattr(
        "checker.mechanics.restraint.held_set.largest",
        lambda columns: counted.append(columns.count) or largest(columns),
    )
    HeldSet(stack([body, replace(body, weight=9_000.0), body, body])).largest([LEFT])
    # Two distinct bodies, each to the left and to the right.
    assert counted == [4]
