"""Many programmes together against HiGHS one by one, and against themselves in other company.

HiGHS is an independent solver; it is given the same columns. The bodies are random ones with
everything that makes such programmes awkward: straps over the top, blocks, symmetry, limits of
zero, no friction, and an article that nothing holds at rest.
"""

import math

import numpy as np
import pytest
from msgspec.structs import replace

from checker.mechanics.restraint import second_opinion
from checker.mechanics.restraint.balance import (
    balanced_at_rest,
    columns_at_rest,
    dense,
    largest,
    toward,
    turned,
)
from checker.mechanics.restraint.bodies import Bodies
from checker.mechanics.restraint.columns import columns_of
from checker.mechanics.restraint.held_set import (
    FORWARD,
    LEFT,
    REARWARD,
    RIGHT,
    UP,
    HeldSet,
    heading,
)
from checker.mechanics.restraint.simplex import maximise, nothing_carried
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


def compare_with_highs(bodies: Bodies, directions):
    """Largest difference in g of every answer from HiGHS's; that nothing fell back to it."""
    asked = second_opinion.count
    every = HeldSet(bodies).largest(directions)
    assert second_opinion.count == asked
    at_rest = columns_at_rest(bodies)
    worst = 0.0
    for row in range(bodies.count):
        one = at_rest.take(np.array([row]))
        held = highs(one) is not None
        for direction, found in zip(directions, every[:, row], strict=True):
            wanted = highs(toward(one, np.array([direction]).T, 10.0)) if held else 0.0
            worst = max(worst, abs(wanted - found))
    return worst


def highs(columns):
    most = np.full(len(columns.upper) + 16 * columns.contacts, np.inf)
    most[: len(columns.upper)] = columns.upper[:, 0]
    found = second_opinion.ask(dense(columns, 0), most)
    return None if found is None else found[0][0]


@pytest.mark.parametrize("seed", range(4))
def test_the_batch_answers_as_highs_does(seed):
    worst = max(
        compare_with_highs(bodies, [WAYS[seed % 5], heading(0.3 + seed)])
        for bodies in batches(seed, 12, 6)
    )
    assert worst <= CLOSE


def test_every_answer_has_a_proof():
    for bodies in batches(11, 30, 40):
        at_rest = columns_at_rest(bodies)
        held, rest = balanced_at_rest(at_rest, nothing_carried(at_rest))
        rows = np.flatnonzero(held)
        directions = np.repeat(np.array([heading(0.7)]).T, len(rows), axis=1)
        found = largest(toward(at_rest.take(rows), directions, 10.0), rest.take(rows))
        assert found.residuals.max(initial=0.0) <= 1e-9
        assert np.abs(found.bounds - found.accelerations).max(initial=0.0) <= 1e-8


@pytest.mark.parametrize("angle", [0.1, 0.8, 2.0])
def test_from_the_end_in_another_direction_the_answer_is_the_same(angle):
    out_of_bounds = 0
    for bodies in batches(17, 12, 30):
        at_rest = columns_at_rest(bodies)
        held, rest = balanced_at_rest(at_rest, nothing_carried(at_rest))
        rows = np.flatnonzero(held)
        at_rest, rest = at_rest.take(rows), rest.take(rows)
        before, columns = (
            toward(at_rest, np.repeat(np.array([heading(way)]).T, len(rows), axis=1), 100.0)
            for way in (0.7, 0.7 + angle)
        )
        start = turned(largest(before, rest).state, rest, columns)
        basis = np.stack([columns_of(columns, numbers) for numbers in start.basis], axis=1)
        product = np.einsum("ijn,jkn->ikn", start.inverse, basis)
        assert np.abs(product - np.eye(6)[..., np.newaxis]).max(initial=0.0) <= 1e-9
        out = (start.amounts < -1e-10) | (start.amounts > start.most + 1e-10)
        out_of_bounds += out.any(axis=0).sum()
        solved = maximise(columns, start)
        assert solved.settled.all()
        assert solved.possible.all()
        asked = second_opinion.count
        found = largest(columns, start).accelerations
        assert found == pytest.approx(largest(columns, rest).accelerations, abs=1e-8)
        assert second_opinion.count == asked
    assert out_of_bounds > 20


def test_where_a_basis_is_no_basis_in_another_direction_the_start_is_that_at_rest():
    # By hand: forward only the pull along x counts, whatever is done to the left. So the column of
    # an acceleration to the left lies in the span of the other five.
    wheels = tuple(Contact("wheel", (x, y, 0.0), 0.0) for x in (-1.0, 1.0) for y in (1.0, -1.0))
    pull = Tiedown("pull", 2_000.0, (Pull((0.0, 0.0, 0.0), REARWARD),))
    at_rest = columns_at_rest(stack([Body(10_000.0, (0.0, 0.0, 0.0), (pull,), wheels, ())]))
    _, rest = balanced_at_rest(at_rest, nothing_carried(at_rest))
    forward, left = (toward(at_rest, np.array([way]).T, 10.0) for way in (FORWARD, LEFT))
    found = largest(forward, rest)
    assert found.accelerations == pytest.approx([0.2])
    start = turned(found.state, rest, left)
    assert all(map(np.array_equal, start, rest))
    assert largest(left, start).accelerations == pytest.approx([0.0])


def spoilt_inverse(state):
    state.inverse[..., 1] *= 1.01
    return state


def spoilt_amounts(state):
    state.inverse[..., 1] = 0.0
    state.amounts[:, 1] *= 1.01
    return state


@pytest.mark.parametrize("spoilt", [spoilt_inverse, spoilt_amounts])
def test_a_state_spoilt_by_rounding_is_solved_again_and_not_gone_on_from(monkeypatch, spoilt):
    at_rest = columns_at_rest(next(batches(3, 1, 5)).take(np.arange(4)))
    held, rest = balanced_at_rest(at_rest, nothing_carried(at_rest))
    assert held.all()
    columns = toward(at_rest, np.repeat(np.array([LEFT]).T, 4, axis=1), 10.0)
    wanted = largest(columns, rest)
    monkeypatch.setattr(
        "checker.mechanics.restraint.balance.maximise",
        lambda columns, start: maximise(columns, start)._replace(
            state=spoilt(maximise(columns, start).state)
        ),
    )
    asked = second_opinion.count
    found = largest(columns, rest)
    assert second_opinion.count == asked + 1
    assert found.accelerations == pytest.approx(wanted.accelerations, abs=CLOSE)
    assert found.bounds == pytest.approx(wanted.bounds, abs=CLOSE)
    assert found.residuals.max() <= 1e-9
    assert np.array_equal(found.state.inverse[..., 1], rest.inverse[..., 1])


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
    at_rest = columns_at_rest(bodies)
    held, _ = balanced_at_rest(at_rest, nothing_carried(at_rest))
    assert held.tolist() == [True, stands]
    assert second_opinion.count == before + asked


def test_an_answer_does_not_depend_on_its_company():
    for bodies in batches(5, 12, 9):
        together = HeldSet(bodies)
        ways, least = together.largest(WAYS), together.least_around
        for rows in (np.array([4]), np.array([7, 2]), np.arange(9)[::-1]):
            apart = HeldSet(bodies.take(rows))
            assert np.array_equal(apart.largest(WAYS), ways[:, rows])
            assert np.array_equal(apart.least_around, least[rows])


def test_one_of_two_may_be_within_its_bounds_at_the_start():
    for bodies in batches(31, 6, 2):
        at_rest = columns_at_rest(bodies)
        together = maximise(at_rest, nothing_carried(at_rest))
        for at_end in (True, False), (False, True):
            start = together.state.where(np.array(at_end), nothing_carried(at_rest))
            again = maximise(at_rest, start)
            assert np.array_equal(again.possible, together.possible)
            assert np.array_equal(again.state.amounts, together.state.amounts)


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
        at_rest = columns_at_rest(bodies)
        together = maximise(at_rest, nothing_carried(at_rest)).settled
        for row in range(12):
            one = at_rest.take(np.array([row]))
            assert maximise(one, nothing_carried(one)).settled[0] == together[row]


def test_a_bound_that_is_not_reached_goes_to_highs(monkeypatch):
    # The proof of every answer is found wanting: each is asked for once more.
    bodies = next(batches(3, 1, 5))
    expected = HeldSet(bodies).largest([LEFT])
    monkeypatch.setattr("checker.mechanics.restraint.balance._MOST_GAP", -1.0)
    asked = second_opinion.count
    assert HeldSet(bodies).largest([LEFT]) == pytest.approx(expected, abs=CLOSE)
    assert second_opinion.count > asked


def test_equal_bodies_are_worked_out_once(monkeypatch):
    body = random_body(np.random.default_rng(1), [False, True], 1)
    counted = []
    balance = "checker.mechanics.restraint.held_set.balanced_at_rest"
    monkeypatch.setattr(
        balance,
        lambda columns, start: counted.append(columns.count) or balanced_at_rest(columns, start),
    )
    HeldSet(stack([body, replace(body, weight=9_000.0), body, body]))
    assert counted == [2]
