"""Articles by themselves, as the worked cases describe them, and as the arrays of the program.

Points in m, x rearward, y left, z up; forces in N.
"""

import math

import numpy as np
from msgspec import Struct

from checker.mechanics.restraint.arrays import Vector
from checker.mechanics.restraint.bodies import Blocks, Bodies, Contacts, Tiedowns


def unit(x, y, z):
    """The direction of a vector, of length 1."""
    length = math.hypot(x, y, z)
    return (x / length, y / length, z / length)


class Pull(Struct, frozen=True):
    """A point where a tiedown pulls on the article, and the unit direction of the pull."""

    point: Vector
    direction: Vector


class Tiedown(Struct, frozen=True):
    """A tiedown: pulls with a tension from 0 to `limit` (N).

    A plain tiedown has one pull, from its attachment towards its anchor. One that runs over the
    article or round a wheel has several pulls with the same tension, as it slides without
    friction there.
    """

    name: str
    limit: float
    pulls: tuple[Pull, ...]


class Contact(Struct, frozen=True):
    """A point the article stands on: a wheel or the end of a track.

    It pushes straight up without limit, and friction acts in any horizontal direction with at most
    `friction` (coefficient) times that push.
    """

    name: str
    point: Vector
    friction: float


class Block(Struct, frozen=True):
    """A chock, headboard, rail or other cargo: pushes the article one way, up to `strength` (N)."""

    name: str
    strength: float
    point: Vector
    direction: Vector


class Body(Struct, frozen=True):
    """One article: its weight (N), its centre of gravity, and everything that holds it."""

    weight: float
    centre_of_gravity: Vector
    tiedowns: tuple[Tiedown, ...] = ()
    contacts: tuple[Contact, ...] = ()
    blocks: tuple[Block, ...] = ()


def stack(bodies):
    """Bodies with the same parts as arrays, in their order.

    Raises ValueError if the numbers of parts or pulls differ.
    """
    first = bodies[0]
    shapes = {_shape(body) for body in bodies}
    if len(shapes) > 1:
        raise ValueError("bodies to stack have the same numbers of parts")
    pulls = [[pull for each in body.tiedowns for pull in each.pulls] for body in bodies]
    return Bodies(
        np.array([body.weight for body in bodies], dtype=float),
        np.array([body.centre_of_gravity for body in bodies], dtype=float).T,
        Tiedowns(
            tuple(each.name for each in first.tiedowns),
            _numbers([[each.limit for each in body.tiedowns] for body in bodies]),
            tuple(index for index, each in enumerate(first.tiedowns) for _ in each.pulls),
            _vectors([[pull.point for pull in row] for row in pulls]),
            _vectors([[pull.direction for pull in row] for row in pulls]),
        ),
        Contacts(
            tuple(each.name for each in first.contacts),
            _vectors([[each.point for each in body.contacts] for body in bodies]),
            _numbers([[each.friction for each in body.contacts] for body in bodies]),
        ),
        Blocks(
            tuple(each.name for each in first.blocks),
            _numbers([[each.strength for each in body.blocks] for body in bodies]),
            _vectors([[each.point for each in body.blocks] for body in bodies]),
            _vectors([[each.direction for each in body.blocks] for body in bodies]),
        ),
    )


def _shape(body):
    return tuple(len(each.pulls) for each in body.tiedowns), len(body.contacts), len(body.blocks)


def _numbers(rows):
    return np.array(rows, dtype=float).reshape(len(rows), -1).T


def _vectors(rows):
    return np.moveaxis(np.array(rows, dtype=float).reshape(len(rows), -1, 3), 0, -1)
