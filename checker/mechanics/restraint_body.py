"""A tied-down article as statics sees it: its weight and every single thing that may push or pull.

All parts press or pull one way only, so each force is a number that cannot be negative times a
fixed unit force. `*_wrenches` give those unit forces as columns of six: force along x, y, z, then
its moment about the centre of gravity over `lever`, so that all six are pure numbers.

Places in m, x rearward, y left, z up; forces in N.
"""

import math
from collections.abc import Sequence
from typing import TypeAlias

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

Vector: TypeAlias = tuple[float, float, float]
Array: TypeAlias = NDArray[np.float64]

# How far the length of a stated direction may be from 1: a direction typed with seven digits.
_UNIT_LENGTH_TOLERANCE = 1e-6


def require_unit(direction: Vector, whose: str) -> None:
    """Refuse a direction that is not of length 1."""
    length = math.hypot(*direction)
    # A NaN length is "not stated" and is let through: it comes out as NaN.
    if abs(length - 1.0) > _UNIT_LENGTH_TOLERANCE:
        raise ValueError(f"direction of {whose} has length 1, not {length:g}")


def _require_finite_and_not_negative(value: float, what: str) -> None:
    if value < 0 or math.isinf(value):
        raise ValueError(f"{what} is finite and not negative, not {value:g}")


class Pull(Struct, frozen=True):
    """One place where a tiedown pulls on the article, and the unit direction it pulls in."""

    point: Vector
    direction: Vector

    def __post_init__(self) -> None:
        require_unit(self.direction, "a pull")


class Tiedown(Struct, frozen=True):
    """A tiedown: pulls, never pushes, and never harder than `limit` (N).

    A plain tiedown has one pull, from its attachment towards its anchor. One that runs over the
    article or round a wheel has several that share one tension: it slips without friction there.
    """

    name: str
    limit: float
    pulls: tuple[Pull, ...]

    def __post_init__(self) -> None:
        _require_finite_and_not_negative(self.limit, f"limit of {self.name}")


class Contact(Struct, frozen=True):
    """A place the article stands on, a wheel or the end of a track.

    It pushes straight up as hard as it must and rubs in any horizontal direction with at most
    `friction` (coefficient) times that push.
    """

    name: str
    point: Vector
    friction: float

    def __post_init__(self) -> None:
        _require_finite_and_not_negative(self.friction, f"friction of {self.name}")


class Block(Struct, frozen=True):
    """A chock, headboard, rail or other cargo: pushes the article one way, up to `strength` (N)."""

    name: str
    strength: float
    point: Vector
    direction: Vector

    def __post_init__(self) -> None:
        _require_finite_and_not_negative(self.strength, f"strength of {self.name}")
        require_unit(self.direction, self.name)


class Body(Struct, frozen=True):
    """One article: its weight (N), where its centre of gravity is, and all that holds it."""

    weight: float
    centre_of_gravity: Vector
    tiedowns: tuple[Tiedown, ...] = ()
    contacts: tuple[Contact, ...] = ()
    blocks: tuple[Block, ...] = ()

    def __post_init__(self) -> None:
        if self.weight <= 0 or math.isinf(self.weight):
            raise ValueError(f"weight of the article is finite and positive, not {self.weight:g}")

    @property
    def is_stated(self) -> bool:
        """Whether every number of the body is known."""
        numbers = [self.weight, *self.centre_of_gravity]
        for tiedown in self.tiedowns:
            numbers.append(tiedown.limit)
            for pull in tiedown.pulls:
                numbers += (*pull.point, *pull.direction)
        for contact in self.contacts:
            numbers += (*contact.point, contact.friction)
        for block in self.blocks:
            numbers += (block.strength, *block.point, *block.direction)
        return not any(map(math.isnan, numbers))


def lever(body: Body) -> float:
    """Farthest distance in m of any force from the centre of gravity: the scale of moments.

    1 where every force passes through the centre of gravity.
    """
    points = [
        *(pull.point for tiedown in body.tiedowns for pull in tiedown.pulls),
        *(contact.point for contact in body.contacts),
        *(block.point for block in body.blocks),
    ]
    return max((math.dist(point, body.centre_of_gravity) for point in points), default=0.0) or 1.0


def tiedown_wrenches(body: Body) -> Array:
    """Columns (6, tiedowns): what 1 N of tension does to the article, all pulls together."""
    pulls = [pull for tiedown in body.tiedowns for pull in tiedown.pulls]
    single = _wrenches(body, [pull.point for pull in pulls], [pull.direction for pull in pulls])
    owners = [number for number, tiedown in enumerate(body.tiedowns) for _ in tiedown.pulls]
    together = np.zeros((6, len(body.tiedowns)))
    np.add.at(together.T, owners, single.T)
    return together


def contact_wrenches(body: Body) -> Array:
    """Columns (3, 6, contacts): 1 N on the article along x, along y and upward at each contact."""
    points = [contact.point for contact in body.contacts]
    return np.stack([_wrenches(body, points, [tuple(axis)] * len(points)) for axis in np.eye(3)])


def block_wrenches(body: Body) -> Array:
    """Columns (6, blocks): what 1 N of push does to the article."""
    return _wrenches(
        body, [block.point for block in body.blocks], [block.direction for block in body.blocks]
    )


def _wrenches(body: Body, points: Sequence[Vector], directions: Sequence[Vector]) -> Array:
    arms = (np.reshape(points, (-1, 3)) - np.array(body.centre_of_gravity)) / lever(body)
    forces = np.reshape(np.asarray(directions, dtype=float), (-1, 3))
    # Written out: numpy's cross costs more than all the rest for the few rows of one article.
    moments = arms[:, (1, 2, 0)] * forces[:, (2, 0, 1)] - arms[:, (2, 0, 1)] * forces[:, (1, 2, 0)]
    return np.hstack([forces, moments]).T
