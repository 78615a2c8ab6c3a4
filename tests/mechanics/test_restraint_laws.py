"""Laws of limit analysis on random bodies.

No expected value is printed here: a law holds whatever the numbers are.
"""

import math

import hypothesis.strategies as st
import numpy as np
import pytest
from hypothesis import given, settings
from msgspec.structs import replace

from checker.mechanics.restraint.balance import bounds, forces_on
from checker.mechanics.restraint.columns import toward
from checker.mechanics.restraint.held_set import UP, HeldSet, heading
from tests.mechanics.articles import Block, Body, Contact, Pull, Tiedown, stack, unit
from tests.mechanics.one_body import (
    accelerations_together,
    largest_acceleration,
    slick,
)

SLACK = 1e-7  # g, what the solver's own tolerance may cost on either side of a comparison


def between(low, high):
    # Steps of a thousandth: no number is a hair's breadth from another one.
    steps = st.integers(round(low * 1000), round(high * 1000))
    return steps.map(lambda step: step / 1000)


seeds = st.integers(0, 2**32 - 1)
directions = st.one_of(between(0.0, 6.2).map(heading), st.just(UP))


class Numbers:
    """Random numbers in steps of a thousandth.

    For one body in three they are the lowest, the highest and the one midway only, so that parts
    stand in one place, pull along an axis, or are equal.
    """

    def __init__(self, rng):
        self.fractions = iter(rng.random(200).tolist())
        self.steps = 2 if rng.random() < 1 / 3 else 1000

    def between(self, low, high):
        share = round(next(self.fractions) * self.steps) / self.steps
        return round(low + share * (high - low), 3)

    def point(self):
        return (self.between(-1.5, 1.5), self.between(-1.0, 1.0), self.between(0.0, 1.5))

    def tiedown(self, pulls):
        return Tiedown(
            "tiedown",
            self.between(0.02, 1.0) * 10_000,
            tuple(Pull(self.point(), unit(*self.slope())) for _ in range(pulls)),
        )

    def slope(self):
        return (self.between(-1.0, 1.0), self.between(-1.0, 1.0), self.between(-1.0, -0.05))

    def block(self):
        strength = self.between(0.02, 1.0) * 10_000
        return Block("block", strength, self.point(), heading(self.between(0.0, 6.2)))

    def body(self, pulls, blocks):
        corners = [(-1.5, 0.9), (-1.5, -0.9), (1.4, 0.8), (1.4, -0.8)]
        return Body(
            10_000.0,
            (self.between(-0.9, 0.9), self.between(-0.5, 0.5), self.between(0.2, 1.5)),
            tuple(map(self.tiedown, pulls)),
            tuple(Contact("wheel", (*at, 0.0), self.between(0.05, 0.9)) for at in corners),
            tuple(self.block() for _ in range(blocks)),
        )


@st.composite
def several_bodies(draw, *, tiedowns=(0, 5), blocks=(0, 2), count=8):
    """Bodies with the same parts, which stand and pull anyhow."""
    pulls = draw(st.lists(st.integers(1, 2), min_size=tiedowns[0], max_size=tiedowns[1]))
    pushing = draw(st.integers(*blocks))
    rng = np.random.default_rng(draw(seeds))
    return [Numbers(rng).body(pulls, pushing) for _ in range(count)]


def law(*strategies):
    """A law over 25 examples of several bodies, which are asked about in one batch."""
    return lambda test: settings(max_examples=25)(given(*strategies)(test))


def compared(direction, *many):
    """What bodies are held against, for each of several lists of them, from one batch."""
    together = accelerations_together([body for bodies in many for body in bodies], direction)
    return together.reshape(len(many), -1)


def each(change, bodies):
    return [change(body) for body in bodies]


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


@law(several_bodies(count=4), directions)
def test_answer_balances_and_is_proved_the_largest(bodies, direction):
    for body in bodies:
        held = largest_acceleration(body, direction)
        assert held.residual < 1e-8
        assert held.bound == pytest.approx(held.acceleration_g, abs=SLACK)
        for tension, tiedown in zip(held.tensions, body.tiedowns, strict=True):
            assert 0.0 <= tension <= tiedown.limit * (1 + 1e-12)
        for push, block in zip(held.pushes, body.blocks, strict=True):
            assert 0.0 <= push <= block.strength * (1 + 1e-12)
        for normal, rub, contact in zip(held.normals, held.frictions, body.contacts, strict=True):
            assert math.hypot(*rub) <= contact.friction * normal + 1e-6


@law(several_bodies(), directions, seeds)
def test_any_multipliers_bound_the_acceleration(bodies, direction, seed):
    forces = forces_on(stack(bodies)).take(np.repeat(np.arange(8), 20))
    columns = toward(forces, np.array([direction] * 160).T, 10.0)
    multipliers = np.random.default_rng(seed).normal(size=(6, 160))
    least = bounds(columns, multipliers).reshape(8, 20).min(axis=1)
    assert (least >= accelerations_together(bodies, direction) - SLACK).all()


@law(several_bodies(tiedowns=(1, 6)), directions)
def test_another_tiedown_never_holds_less(bodies, direction):
    fewer = each(lambda body: replace(body, tiedowns=body.tiedowns[:-1]), bodies)
    more, less = (accelerations_together(some, direction) for some in (bodies, fewer))
    assert (more >= less - SLACK).all()


@law(several_bodies(blocks=(1, 3)), directions)
def test_another_block_never_holds_less(bodies, direction):
    fewer = each(lambda body: replace(body, blocks=body.blocks[:-1]), bodies)
    more, less = (accelerations_together(some, direction) for some in (bodies, fewer))
    assert (more >= less - SLACK).all()


@law(several_bodies(tiedowns=(1, 5)), between(1.0, 3.0), directions)
def test_stronger_tiedown_never_holds_less(bodies, factor, direction):
    def stronger(body):
        first, *others = body.tiedowns
        return replace(body, tiedowns=(replace(first, limit=factor * first.limit), *others))

    more, as_they_are = compared(direction, each(stronger, bodies), bodies)
    assert (more >= as_they_are - SLACK).all()


@law(several_bodies(), between(1.0, 3.0), directions)
def test_more_friction_never_holds_less_and_none_never_more(bodies, factor, direction):
    def rougher(body):
        contacts = (
            replace(contact, friction=factor * contact.friction) for contact in body.contacts
        )
        return replace(body, contacts=tuple(contacts))

    rough, as_they_are, smooth = compared(
        direction, each(rougher, bodies), bodies, each(slick, bodies)
    )
    assert (rough >= as_they_are - SLACK).all()
    assert (smooth <= as_they_are + SLACK).all()


@law(several_bodies(), between(0.0, 6.2), between(0.0, 6.2))
def test_what_is_held_along_two_headings_is_held_between_them(bodies, one, other):
    # The accelerations a body is held against form a convex set that contains none.
    first, second = (np.array(heading(angle)) for angle in (one, other))
    of_each = HeldSet(stack(bodies))
    held = of_each.largest([heading(one), heading(other)])
    middles = (held[0] * first[:, np.newaxis] + held[1] * second[:, np.newaxis]) / 2
    asked = np.linalg.norm(middles, axis=0)
    rows = np.flatnonzero(asked > 1e-6)
    if len(rows):
        between_them = [tuple((middles[:, row] / asked[row]).tolist()) for row in rows]
        found = of_each.largest(between_them)[np.arange(len(rows)), rows]
        assert (found >= asked[rows] - SLACK).all()


@law(several_bodies(), directions)
def test_mirror_image_is_held_alike(bodies, direction):
    def mirror(vector):
        return (vector[0], -vector[1], vector[2])

    images = each(lambda body: changed_points(body, mirror, mirror), bodies)
    assert accelerations_together(images, mirror(direction)) == pytest.approx(
        accelerations_together(bodies, direction), abs=SLACK
    )


@law(several_bodies(), st.tuples(between(-9, 9), between(-9, 9), between(-2, 2)), directions)
def test_where_distances_are_measured_from_does_not_matter(bodies, datum, direction):
    def moved(point):
        return tuple(part + shift for part, shift in zip(point, datum, strict=True))

    elsewhere = each(lambda body: changed_points(body, moved), bodies)
    there, here = compared(direction, elsewhere, bodies)
    assert there == pytest.approx(here, abs=SLACK)


@law(several_bodies(), between(0.1, 9.0), directions)
def test_scale_of_lengths_does_not_matter(bodies, factor, direction):
    def stretched(point):
        return tuple(factor * part for part in point)

    stretched_bodies = each(lambda body: changed_points(body, stretched), bodies)
    larger, as_they_are = compared(direction, stretched_bodies, bodies)
    assert larger == pytest.approx(as_they_are, abs=SLACK)


@law(several_bodies(), between(0.1, 9.0), directions)
def test_scale_of_forces_does_not_matter(bodies, factor, direction):
    def scaled(body):
        return replace(
            body,
            weight=factor * body.weight,
            tiedowns=tuple(replace(t, limit=factor * t.limit) for t in body.tiedowns),
            blocks=tuple(replace(b, strength=factor * b.strength) for b in body.blocks),
        )

    heavier, as_they_are = compared(direction, each(scaled, bodies), bodies)
    assert heavier == pytest.approx(as_they_are, abs=SLACK)


@law(several_bodies(), directions)
def test_order_of_parts_does_not_matter(bodies, direction):
    def turned(body):
        return replace(
            body,
            tiedowns=body.tiedowns[::-1],
            contacts=body.contacts[::-1],
            blocks=body.blocks[::-1],
        )

    assert accelerations_together(each(turned, bodies), direction) == pytest.approx(
        accelerations_together(bodies, direction), abs=SLACK
    )


@law(several_bodies(count=4), directions)
def test_what_governs_agrees_with_the_forces(bodies, direction):
    def weaker(body):
        return replace(
            body, tiedowns=tuple(replace(t, limit=t.limit * 0.9999) for t in body.tiedowns)
        )

    lowered_to = accelerations_together(each(weaker, bodies), direction)
    for body, lower in zip(bodies, lowered_to, strict=True):
        held = largest_acceleration(body, direction)
        if held.capped:
            assert held.governs is None
            continue
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
            assert held.acceleration_g - lower < 1e-4 * max(1, len(body.tiedowns))
