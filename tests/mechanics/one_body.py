"""Questions about one article by itself, as the worked cases ask them, put to the arrays."""

import math
from typing import NamedTuple

import numpy as np
from msgspec.structs import replace

from checker.mechanics.restraint import governs
from checker.mechanics.restraint.elastic import StretchedTiedowns
from checker.mechanics.restraint.held_set import UP, HeldSet, heading
from checker.mechanics.restraint.spring_set import Springs
from tests.mechanics.articles import stack


def slick(body):
    """The body on contacts that do not rub."""
    return replace(body, contacts=tuple(replace(each, friction=0.0) for each in body.contacts))


def largest_acceleration(body, direction, *, friction=True):
    (held,) = governs.held_with_forces(stack([body if friction else slick(body)]), [direction])
    return held


def largest_accelerations(body, directions, *, friction=True):
    return HeldSet(stack([body if friction else slick(body)])).largest(directions)[:, 0]


def accelerations_together(bodies, direction):
    """What bodies with the same parts are held against, from one batch."""
    return HeldSet(stack(bodies)).largest([direction])[0]


class Compass(NamedTuple):
    headings: np.ndarray
    accelerations: np.ndarray
    up: float


def compass(body, headings, *, friction=True):
    angles = 2.0 * np.pi * np.arange(headings) / headings
    found = largest_accelerations(body, [*map(heading, angles), UP], friction=friction)
    return Compass(angles, found[:-1], found[-1])


class Spring(NamedTuple):
    stiffness: float
    pretension: float


class Stretched(NamedTuple):
    held: bool
    shift: tuple
    turn: tuple
    tensions: tuple
    utilisations: tuple
    peak_utilisation: float
    slack: tuple
    normals: tuple
    pushes: tuple
    residual: float


def stretched(body, springs, direction, acceleration):
    found = on_springs(body, springs).under([direction], acceleration)
    shares = found.utilisations[:, 0]
    return Stretched(
        bool(found.held[0]),
        tuple(found.shifts[:, 0]),
        tuple(found.turns[:, 0]),
        tuple(found.tensions[:, 0]),
        tuple(shares),
        max(shares, default=math.nan),
        tuple(name for name, loose in zip(found.names, found.loose[:, 0], strict=True) if loose),
        tuple(found.normals[:, 0]),
        tuple(found.pushes[:, 0]),
        float(found.residuals[0]),
    )


def first_full(body, springs, direction, most):
    """Acceleration in g at which the first tiedown is full, up to `most`."""
    return float(on_springs(body, springs).first_full([direction], np.array([[most]]))[0, 0])


def on_springs(body, springs, count=1):
    """The body on its springs, as one row or as several equal ones."""
    numbers = np.repeat(np.array(springs, dtype=float).reshape(-1, 2), count, axis=0)
    stiffnesses, pretensions = numbers.T.reshape(2, -1, count)
    return StretchedTiedowns(stack([body] * count), Springs(stiffnesses, pretensions))
