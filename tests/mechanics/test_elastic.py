"""Tiedowns as springs against closed forms, the standards' statement and independent solvers.

Origins. "By hand": beside the test. `intl-strength-04`: tests/reference/international-cases.yaml,
case I-3. Independent: the dual problem (least elastic energy of forces in balance) solved as a
least distance problem by scipy's nnls, and a plain linear stiffness solve.
"""

import math

import numpy as np
import pytest
from msgspec.structs import replace
from scipy.linalg import null_space
from scipy.optimize import nnls

from checker.mechanics.restraint.elastic import StretchedTiedowns
from checker.mechanics.restraint.first_full import first_full as first_full_of_many
from checker.mechanics.restraint.held_set import FORWARD, LEFT, REARWARD, UP, heading
from checker.mechanics.restraint.spring_set import SUPPORT_STIFFNESS_RATIO, Springs
from tests.mechanics.articles import Block, Body, Contact, Pull, Tiedown, stack
from tests.mechanics.one_body import (
    Spring,
    first_full,
    largest_acceleration,
    largest_accelerations,
    on_springs,
    stretched,
)
from tests.mechanics.random_rows import law
from tests.published import published_cases

CASES = published_cases("international-cases")

W = 40_000.0  # N
STIFF = 1e6  # N/m


def wheels():
    return tuple(
        Contact(f"wheel {x} {y}", (x, y, 0.0), 0.5) for x in (-1.0, 1.0) for y in (-0.8, 0.8)
    )


def tiedown(name, limit, point, direction):
    length = math.hypot(*direction)
    return Tiedown(name, limit, (Pull(point, tuple(part / length for part in direction)),))


def opposed(limit=40_000.0):
    """Two level tiedowns along the trailer through the centre of gravity."""
    front = tiedown("front", limit, (-1.0, 0.0, 0.6), (-1.0, 0.0, 0.0))
    rear = tiedown("rear", limit, (1.0, 0.0, 0.6), (1.0, 0.0, 0.0))
    return Body(W, (0.0, 0.0, 0.6), (front, rear), wheels())


def corners(limit=30_000.0):
    """Four tiedowns outward and down from the corners."""
    ties = tuple(
        tiedown(f"corner {x} {y}", limit, (x, y, 0.5), (2 * x, y, -0.6))
        for x in (-1.0, 1.0)
        for y in (-0.8, 0.8)
    )
    return Body(W, (0.1, 0.05, 0.7), ties, wheels())


@pytest.mark.parametrize(
    ("force", "loaded", "slackening"),
    [
        (0.0, 20_000.0, 20_000.0),
        (10_000.0, 25_000.0, 15_000.0),
        (39_990.0, 39_995.0, 5.0),
        (40_000.0, 40_000.0, 0.0),
        (40_010.0, 40_010.0, 0.0),
        (60_000.0, 60_000.0, 0.0),
    ],
)
def test_opposed_equal_tiedowns(force, loaded, slackening):
    # By hand, I-3: P + F/2 and P - F/2 while both pull, F and nothing after.
    found = stretched(opposed(), [Spring(STIFF, 20_000.0)] * 2, FORWARD, force / W)
    assert found.tensions == pytest.approx((slackening, loaded), abs=1e-4)
    assert found.utilisations == pytest.approx((slackening / 40_000, loaded / 40_000), abs=1e-8)
    assert found.peak_utilisation == pytest.approx(loaded / 40_000, abs=1e-8)
    assert found.slack == (("front",) if force >= 40_000.0 else ())
    # By hand: the stretch of the loaded one beyond its pre-tension.
    assert found.shift[0] == pytest.approx(-(loaded - 20_000.0) / STIFF, abs=1e-9)
    assert found.residual < 1e-9


def test_statement_of_the_standard_on_full_load():
    # Case intl-strength-04: pre-tensioned to half of LC, the full load leaves LC and nothing.
    case = CASES["intl-strength-04"]
    given, expected = (
        {name: float(text.split()[0]) * 1000.0 for name, text in case[part].items()}
        for part in ("given", "expect")
    )
    body = opposed(given["lashing_capacity"])
    springs = [Spring(STIFF, given["pretension"])] * 2
    found = stretched(body, springs, FORWARD, given["external_force"] / W)
    assert found.tensions == pytest.approx(
        (expected["slack_side"], expected["loaded_side"]), abs=1e-4
    )


def test_unequal_stiffness_takes_unequal_shares():
    # By hand: side by side they stretch alike, so 3 : 1 share 8,000 N as 6,000 and 2,000.
    pair = tuple(
        tiedown(name, 10_000.0, (1.0, y, 0.6), (1.0, 0.0, 0.0))
        for name, y in (("chain", 0.2), ("strap", -0.6))
    )
    # The lever of each is the other's share, so the article does not turn.
    body = replace(opposed(), tiedowns=pair)
    found = stretched(body, [Spring(3 * STIFF, 0.0), Spring(STIFF, 0.0)], FORWARD, 0.2)
    assert found.tensions == pytest.approx((6_000.0, 2_000.0))
    assert found.turn == pytest.approx((0.0, 0.0, 0.0), abs=1e-9)


def test_weight_and_downward_pull_rest_on_the_contacts():
    # By hand: one upright strap of 2,000 N through the middle of four equal contacts, which give
    # 1/4000 of what the strap would stretch.
    strap = tiedown("upright", 5_000.0, (0.0, 0.0, 1.0), (0.0, 0.0, -1.0))
    found = stretched(replace(opposed(), tiedowns=(strap,)), [Spring(STIFF, 2_000.0)], UP, 0.0)
    settles = (W + 2_000.0) / (4 * SUPPORT_STIFFNESS_RATIO + 1) / STIFF
    assert found.tensions == pytest.approx((2_000.0 - settles * STIFF,))
    assert sum(found.normals) == pytest.approx(W + found.tensions[0])
    assert found.shift[2] == pytest.approx(-settles)


def test_block_takes_what_friction_is_not_asked_for():
    board = Block("headboard", 50_000.0, (-1.5, 0.0, 0.6), (1.0, 0.0, 0.0))
    alone = Body(W, (0.0, 0.0, 0.6), (), wheels(), (board,))
    found = stretched(alone, [], FORWARD, 0.5)
    assert found.held
    assert found.pushes == pytest.approx((0.5 * W,))
    assert math.isnan(found.peak_utilisation)
    assert not stretched(alone, [], REARWARD, 0.5).held


def test_nothing_sideways_is_not_held():
    found = stretched(opposed(), [Spring(STIFF, 20_000.0)] * 2, LEFT, 0.1)
    assert not found.held
    numbers = [*found.tensions, *found.shift, found.peak_utilisation, found.residual]
    assert all(map(math.isnan, numbers))
    assert found.slack == ()


def test_strap_over_the_article_has_one_tension():
    # By hand: both legs lengthen by the rise, so upward it stretches twice as much; the contacts
    # are bare at 2 g, and the strap alone holds W with two legs.
    down = (0.0, 0.0, -1.0)
    strap = Tiedown("over", 30_000.0, (Pull((0.0, 1.0, 1.0), down), Pull((0.0, -1.0, 1.0), down)))
    body = replace(opposed(), tiedowns=(strap,))
    found = stretched(body, [Spring(STIFF, 1_000.0)], UP, 2.0)
    assert found.tensions == pytest.approx((W / 2,))
    assert found.shift[2] == pytest.approx((W / 2 - 1_000.0) / STIFF / 2)
    assert found.normals == pytest.approx((0.0,) * 4, abs=1e-6)


def test_taut_article_is_one_linear_spring():
    # Independent: K q = f with every spring taking part, built here about the centre of gravity.
    body = corners()
    springs = [Spring(1e6, 15_000.0), Spring(2e6, 15_000.0), Spring(3e6, 12_000.0)]
    springs.append(Spring(1.5e6, 12_000.0))
    found = stretched(body, springs, heading(0.4), 0.15)
    assert found.slack == ()
    assert min(found.normals) > 0.0
    columns = own_columns(body)
    support = SUPPORT_STIFFNESS_RATIO * 3e6
    stiffness = np.array([*(spring.stiffness for spring in springs), *[support] * 4])
    preload = np.array([*(spring.pretension for spring in springs), *[0.0] * 4])
    load = np.array([*(0.15 * W * np.array(heading(0.4)) - [0.0, 0.0, W]), 0.0, 0.0, 0.0])
    moved = np.linalg.solve((columns * stiffness) @ columns.T, load + columns @ preload)
    forces = preload - stiffness * (columns.T @ moved)
    assert found.tensions == pytest.approx(forces[:4], rel=1e-8)
    assert found.normals == pytest.approx(forces[4:], rel=1e-7)
    assert [*found.shift, *found.turn] == pytest.approx(moved, abs=1e-12)


@pytest.mark.parametrize("stated", [0, 1, 2, 3])
def test_number_not_stated_makes_the_answer_not_known(stated):
    body, springs = opposed(), [Spring(STIFF, 20_000.0)] * 2
    acceleration = 0.2
    if stated == 0:
        body = opposed(math.nan)
    elif stated == 1:
        springs = [Spring(math.nan, 20_000.0), springs[1]]
    elif stated == 2:
        springs = [Spring(STIFF, math.nan), springs[1]]
    else:
        acceleration = math.nan
    found = stretched(body, springs, FORWARD, acceleration)
    assert not found.held
    assert math.isnan(found.residual)
    assert math.isnan(found.peak_utilisation)


def test_numbers_of_no_use_are_refused():
    zero, one = np.zeros((1, 1)), np.ones((1, 1))
    with pytest.raises(ValueError, match="stiffnesses are finite and positive, not 0"):
        Springs(zero, one)
    with pytest.raises(ValueError, match="pre-tensions are finite and not negative, not -1"):
        Springs(one, -one)
    with pytest.raises(ValueError, match="1 springs for 2 tiedowns"):
        stretched(opposed(), [Spring(1.0, 1.0)], FORWARD, 0.1)
    with pytest.raises(ValueError, match="direction of the acceleration has length 1, not 2"):
        stretched(opposed(), [Spring(1.0, 1.0)] * 2, (2.0, 0.0, 0.0), 0.1)


# --- laws and an independent solver -------------------------------------------------------------


def own_columns(body):
    """Unit forces of tiedowns, contacts and blocks with moments about the centre of gravity."""
    columns = []
    for tied in body.tiedowns:
        column = np.zeros(6)
        for pull in tied.pulls:
            arm = np.subtract(pull.point, body.centre_of_gravity)
            column += [*pull.direction, *np.cross(arm, pull.direction)]
        columns.append(column)
    for point, direction in [
        *((contact.point, (0.0, 0.0, 1.0)) for contact in body.contacts),
        *((block.point, block.direction) for block in body.blocks),
    ]:
        arm = np.subtract(point, body.centre_of_gravity)
        columns.append(np.array([*direction, *np.cross(arm, direction)]))
    return np.array(columns).T


def least_energy_forces(columns, stiffnesses, preloads, load):
    """Forces >= 0 in balance with the load that store the least elastic energy.

    min sum (force - preload)^2 / (2 stiffness): a least distance problem, solved by way of nnls
    (Lawson and Hanson, Solving Least Squares Problems, ch. 23, from memory). NaN: none in balance.
    """
    root = np.sqrt(stiffnesses)
    # force = preload + root * x; the x that balance are x0 + basis @ z.
    matrix = columns * root
    start = np.linalg.lstsq(matrix, -load - columns @ preloads, rcond=None)[0]
    basis = null_space(matrix)
    below = root[:, np.newaxis] * basis
    bound = -(preloads + root * start)
    scale = np.abs(below).max()
    stacked = np.vstack([below.T, bound]) / scale
    target = np.zeros(len(stacked))
    target[-1] = 1.0
    found, _ = nnls(stacked, target, maxiter=10_000)
    left = stacked @ found - target
    if np.linalg.norm(left) < 1e-9:
        return np.full(len(preloads), np.nan)
    return preloads + root * (start + basis @ (-left[:-1] / left[-1]))


def random_springs(rng, body):
    return [Spring(rng.uniform(0.3, 3.0) * STIFF, rng.uniform(0.0, 6_000.0)) for _ in body.tiedowns]


def random_body(rng):
    ties = tuple(
        tiedown(
            f"tie {n}",
            20_000.0,
            tuple(rng.uniform([-1.0, -0.8, 0.2], [1.0, 0.8, 1.2])),
            rng.uniform([-1.0, -1.0, -1.0], [1.0, 1.0, -0.1]),
        )
        for n in range(rng.integers(3, 9))
    )
    boards = tuple(
        Block(f"board {n}", 1e5, tuple(rng.uniform(-1.0, 1.0, 3)), heading(rng.uniform(0.0, 6.3)))
        for n in range(rng.integers(0, 3))
    )
    centre = tuple(rng.uniform([-0.6, -0.4, 0.2], [0.6, 0.4, 1.2]))
    return Body(W, centre, ties, wheels(), boards)


def test_least_energy_by_another_road_gives_the_same_tensions():
    rng = np.random.default_rng(20_260_201)
    held = slackened = 0
    for _ in range(200):
        body = random_body(rng)
        springs = random_springs(rng, body)
        direction, acceleration = heading(rng.uniform(0.0, 6.3)), rng.uniform(0.0, 0.8)
        found = stretched(body, springs, direction, acceleration)
        stiffnesses = np.array([spring.stiffness for spring in springs])
        supports = np.full(4 + len(body.blocks), SUPPORT_STIFFNESS_RATIO * stiffnesses.max())
        load = np.array([*(acceleration * np.array(direction) - [0.0, 0.0, 1.0]), 0.0, 0.0, 0.0])
        forces = W * least_energy_forces(
            own_columns(body),
            np.concatenate([stiffnesses, supports]) / W,
            np.array([*(spring.pretension for spring in springs), *(0.0 * supports)]) / W,
            load,
        )
        assert found.held is not bool(np.isnan(forces).any())
        if found.held:
            held += 1
            slackened += bool(found.slack)
            assert found.residual < 1e-9
            ours = [*found.tensions, *found.normals, *found.pushes]
            assert ours == pytest.approx(forces, abs=1e-5 * W)
    assert held >= 100
    assert slackened >= 50


def directions_and_accelerations(seed):
    """Angles all around, each with accelerations of a body that is there ten times."""
    rng = np.random.default_rng(seed)
    for _ in range(20):
        yield rng.integers(0, 63) / 10, np.array([0.0, *rng.integers(1, 901, 9) / 1000])


@law
def test_held_by_springs_within_limits_is_held_at_the_limit(seed):
    # A balance with every tension within its limit is one the programme may choose too.
    body, judged = corners(), 0
    tiedowns = on_springs(body, [Spring(STIFF, 5_000.0)] * 4, 10)
    for angle, accelerations in directions_and_accelerations(seed):
        found = tiedowns.under([heading(angle)], accelerations)
        within = found.held & (found.utilisations.max(axis=0) <= 1.0)
        (most,) = largest_accelerations(body, [heading(angle)], friction=False)
        assert (accelerations[within] <= most + 1e-6).all()
        judged += within.sum()
    assert 50 <= judged <= 190


@law
def test_mirror_image_pulls_alike(seed):
    body = replace(corners(), centre_of_gravity=(0.1, 0.0, 0.7))
    tiedowns = on_springs(body, [Spring(STIFF, 5_000.0)] * 4, 10)
    for angle, accelerations in directions_and_accelerations(seed):
        one = tiedowns.under([heading(angle)], accelerations)
        other = tiedowns.under([heading(-angle)], accelerations)
        assert (other.held == one.held).all()
        # Left and right corners change places.
        assert other.tensions[[1, 0, 3, 2]] == pytest.approx(one.tensions, abs=1e-3, nan_ok=True)


@law
def test_tensions_depend_on_stiffnesses_relative_to_each_other(seed):
    # Without pre-tension, twice as stiff throughout moves half as far under the same forces.
    soft = on_springs(corners(), [Spring(STIFF, 0.0)] * 4, 10)
    for factor, (angle, accelerations) in enumerate(directions_and_accelerations(seed), 2):
        stiff = on_springs(corners(), [Spring(factor * STIFF, 0.0)] * 4, 10)
        one = soft.under([heading(angle)], accelerations)
        other = stiff.under([heading(angle)], accelerations)
        assert (other.held == one.held).all()
        assert other.tensions == pytest.approx(one.tensions, abs=1e-3, nan_ok=True)


# --- the first tiedown that is full ---------------------------------------------------------------


SHARES = np.arange(16) / 16


@pytest.mark.parametrize("seed", range(6))
def test_up_to_the_first_full_tiedown_all_is_held_and_nothing_just_beyond(seed):
    # The same from many questions about single accelerations.
    rng = np.random.default_rng(seed)
    for _ in range(6):
        body = random_body(rng)
        springs = random_springs(rng, body)
        ways = [FORWARD, LEFT, heading(rng.uniform(0.0, 6.0))]
        most = largest_accelerations(body, ways, friction=False)
        every = on_springs(body, springs).first_full(ways, most[:, np.newaxis])[:, 0]
        for way, limit, found in zip(ways, most, every, strict=True):
            asked = np.array([*SHARES * found, max(found - 1e-7, 0.0), found + 1e-7])
            settled = on_springs(body, springs, len(asked)).under([way], asked)
            *up_to, beyond = settled.held & (settled.utilisations.max(axis=0) <= 1.0 + 1e-10)
            assert found == 0.0 or all(up_to)
            assert found == pytest.approx(limit, abs=1e-7) or not beyond


def test_first_full_of_two_opposed_straps_by_hand():
    # Both stiff alike and drawn alike: each takes half of the push until the limit is reached,
    # (limit - pre-tension) from there, and the other gives way by as much.
    body = opposed(30_000.0)
    found = first_full(body, [Spring(STIFF, 20_000.0)] * 2, FORWARD, 10.0)
    assert found * W == pytest.approx(2.0 * (30_000.0 - 20_000.0), rel=1e-9)


def test_a_light_strap_drawn_over_its_limit_is_full_before_the_trailer_moves():
    """One light strap more takes the figure to zero, and limit analysis to more.

    Right, and not a fault: the figure is for the first tiedown that is full, and this one is at
    rest. Limit analysis lets it keep its limit and counts on the others.
    """
    body, springs = opposed(60_000.0), [Spring(STIFF, 10_000.0)] * 2
    light = replace(body.tiedowns[1], name="light", limit=500.0)
    more = replace(body, tiedowns=(*body.tiedowns, light))
    most, with_it = (
        largest_acceleration(each, FORWARD, friction=False).acceleration_g for each in (body, more)
    )
    assert with_it >= most > 1.0
    assert first_full(body, springs, FORWARD, most) > 1.0
    # Drawn to 1,000 N it gives way by a third of that as the three settle, and pulls 667 N at rest.
    at_limit, over = (
        first_full(more, [*springs, Spring(STIFF, drawn)], FORWARD, with_it)
        for drawn in (0.0, 1_000.0)
    )
    assert over == 0.0
    # Hooked on loose it takes a third of the push, and is full once that is 500 N.
    assert at_limit * W == pytest.approx(3 * 500.0, rel=1e-9)


@pytest.mark.parametrize("most", [0.0, 0.05])
def test_first_full_is_no_more_than_limit_analysis(most):
    found = first_full(opposed(30_000.0), [Spring(STIFF, 1_000.0)] * 2, FORWARD, most)
    assert found == most


def test_first_full_is_not_known_without_tiedowns_or_their_stretch():
    body = opposed(30_000.0)
    assert math.isnan(first_full(replace(body, tiedowns=()), [], FORWARD, 1.0))
    assert math.isnan(first_full(body, [Spring(STIFF, 1.0), Spring(math.nan, 1.0)], FORWARD, 1.0))


def test_equal_bodies_are_computed_once(monkeypatch):
    # Rows 0, 2 and 4 are equal; of the others one has another weight, spring or largest asked.
    body = opposed()
    bodies = stack([body, replace(body, weight=9_000.0), body, body, body, body])
    springs = Springs(np.full((2, 6), STIFF), np.full((2, 6), 20_000.0))
    springs.pretensions[1, 3] = 15_000.0
    most = np.full((1, 6), 10.0)
    most[0, 5] = 0.1
    counted = []
    monkeypatch.setattr(
        "checker.mechanics.restraint.elastic.first_full",
        lambda springs, ways, most, moved: (
            counted.append(len(most)) or first_full_of_many(springs, ways, most, moved)
        ),
    )
    found = StretchedTiedowns(bodies, springs).first_full([FORWARD], most)[0]
    assert counted == [4]
    monkeypatch.undo()
    apart = [
        StretchedTiedowns(bodies.take(row), springs.take(row)).first_full([FORWARD], most[:, row])
        for row in np.arange(6)[:, np.newaxis]
    ]
    assert np.array_equal(found, np.concatenate(apart, axis=1)[0])
