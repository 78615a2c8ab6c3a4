"""Many tied-down articles with the same parts, as arrays: one for each row of a load or log.

All parts push or pull in one direction only, so each force is a non-negative number times a fixed
unit force. A wrench is such a unit force as six numbers: force along x, y, z, then its moment about
the centre of gravity divided by the `levers`, so that all six are dimensionless.

Rows are along the last axis. Points in m, x rearward, y left, z up; forces in N.
"""

from collections.abc import Callable, Iterator, Sequence
from functools import cached_property

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from checker.mechanics.restraint.body import (
    Array,
    Block,
    Body,
    Contact,
    Pull,
    Tiedown,
    Truth,
    Vector,
    Whole,
)


class Tiedowns(Struct, frozen=True):
    """Tiedowns of n bodies: `limits` (tiedowns, n), and the pulls of all tiedowns in order.

    `points` and `directions` (pulls, 3, n); `owners`: the index of the tiedown of each pull.
    """

    names: tuple[str, ...]
    limits: Array
    owners: tuple[int, ...]
    points: Array
    directions: Array


class Contacts(Struct, frozen=True):
    """Contacts of n bodies: `points` (contacts, 3, n), `frictions` (contacts, n)."""

    names: tuple[str, ...]
    points: Array
    frictions: Array


class Blocks(Struct, frozen=True):
    """Blocks of n bodies: `strengths` (blocks, n), `points` and `directions` (blocks, 3, n)."""

    names: tuple[str, ...]
    strengths: Array
    points: Array
    directions: Array


class Bodies(Struct, frozen=True, dict=True):
    """n articles with the same parts: `weights` (n), `centres` of gravity (3, n).

    Raises ValueError if a stated number is impossible.
    """

    weights: Array
    centres: Array
    tiedowns: Tiedowns
    contacts: Contacts
    blocks: Blocks

    def __post_init__(self) -> None:
        require(self.weights > 0, self.weights, "weights are finite and positive")
        for values, what in (
            (self.tiedowns.limits, "limits"),
            (self.contacts.frictions, "frictions"),
            (self.blocks.strengths, "strengths"),
        ):
            require(values >= 0, values, f"{what} are finite and not negative")

    @property
    def count(self) -> int:
        """Number of bodies."""
        return len(self.weights)

    @cached_property
    def numbers(self) -> Array:
        """All numbers of each body, (numbers, n)."""
        parts = (
            self.weights,
            self.centres,
            self.tiedowns.limits,
            self.tiedowns.points,
            self.tiedowns.directions,
            self.contacts.points,
            self.contacts.frictions,
            self.blocks.strengths,
            self.blocks.points,
            self.blocks.directions,
        )
        return np.concatenate([part.reshape(-1, self.count) for part in parts])

    @cached_property
    def stated(self) -> Truth:
        """True for bodies with all numbers stated."""
        every: Truth = ~np.isnan(self.numbers.sum(axis=0))
        return every

    @cached_property
    def levers(self) -> Array:
        """Largest distance in m of any force from the centre of gravity: the scale of moments.

        1 if every force acts at the centre of gravity.
        """
        points = np.concatenate([self.tiedowns.points, self.contacts.points, self.blocks.points])
        if not len(points):
            return np.ones(self.count)
        along_x, along_y, along_z = np.moveaxis(points - self.centres, 1, 0)
        farthest = np.hypot(np.hypot(along_x, along_y), along_z).max(axis=0)
        return np.where(farthest > 0.0, farthest, 1.0)

    def take(self, rows: Whole) -> "Bodies":
        """The bodies of the given rows."""
        tiedowns, contacts, blocks = self.tiedowns, self.contacts, self.blocks
        return Bodies(
            self.weights[rows],
            self.centres[:, rows],
            replace(
                tiedowns,
                limits=tiedowns.limits[:, rows],
                points=tiedowns.points[..., rows],
                directions=tiedowns.directions[..., rows],
            ),
            replace(
                contacts, points=contacts.points[..., rows], frictions=contacts.frictions[:, rows]
            ),
            replace(
                blocks,
                strengths=blocks.strengths[:, rows],
                points=blocks.points[..., rows],
                directions=blocks.directions[..., rows],
            ),
        )

    def body(self, row: int) -> Body:
        """One of the bodies, as a Body."""
        tiedowns, contacts, blocks = self.tiedowns, self.contacts, self.blocks
        pulls = [
            Pull(_vector(point, row), _vector(direction, row))
            for point, direction in zip(tiedowns.points, tiedowns.directions, strict=True)
        ]
        return Body(
            float(self.weights[row]),
            _vector(self.centres, row),
            tuple(
                Tiedown(
                    name,
                    float(tiedowns.limits[index, row]),
                    tuple(
                        pull
                        for pull, owner in zip(pulls, tiedowns.owners, strict=True)
                        if owner == index
                    ),
                )
                for index, name in enumerate(tiedowns.names)
            ),
            tuple(
                Contact(name, _vector(point, row), float(friction[row]))
                for name, point, friction in zip(
                    contacts.names, contacts.points, contacts.frictions, strict=True
                )
            ),
            tuple(
                Block(name, float(strength[row]), _vector(point, row), _vector(direction, row))
                for name, strength, point, direction in zip(
                    blocks.names, blocks.strengths, blocks.points, blocks.directions, strict=True
                )
            ),
        )

    def tiedown_wrenches(self) -> Array:
        """(tiedowns, 6, n): the wrench of 1 N of tension, summed over the pulls of the tiedown."""
        together = np.zeros((len(self.tiedowns.names), 6, self.count))
        every = self._wrenches(self.tiedowns.points, self.tiedowns.directions)
        for owner, wrench in zip(self.tiedowns.owners, every, strict=True):
            together[owner] += wrench
        return together

    def contact_wrenches(self) -> Array:
        """(3, contacts, 6, n): the wrenches of 1 N along x, along y and upward at each contact."""
        axes = np.eye(3)[:, np.newaxis, :, np.newaxis]
        points = self.contacts.points
        return np.stack([self._wrenches(points, np.broadcast_to(a, points.shape)) for a in axes])

    def block_wrenches(self) -> Array:
        """(blocks, 6, n): the wrench of 1 N of push."""
        return self._wrenches(self.blocks.points, self.blocks.directions)

    def _wrenches(self, points: Array, directions: Array) -> Array:
        arms = (points - self.centres) / self.levers
        following, after = np.array([1, 2, 0]), np.array([2, 0, 1])
        moments = arms[:, following] * directions[:, after]
        moments -= arms[:, after] * directions[:, following]
        return np.concatenate([directions, moments], axis=1)


def side_by_side(every: Sequence[Bodies]) -> Bodies:
    """Groups of bodies with the same parts, joined in order."""
    first = every[0]

    def together(part: Callable[[Bodies], Array]) -> Array:
        return np.concatenate([part(each) for each in every], axis=-1)

    return Bodies(
        together(lambda each: each.weights),
        together(lambda each: each.centres),
        replace(
            first.tiedowns,
            limits=together(lambda each: each.tiedowns.limits),
            points=together(lambda each: each.tiedowns.points),
            directions=together(lambda each: each.tiedowns.directions),
        ),
        replace(
            first.contacts,
            points=together(lambda each: each.contacts.points),
            frictions=together(lambda each: each.contacts.frictions),
        ),
        replace(
            first.blocks,
            strengths=together(lambda each: each.blocks.strengths),
            points=together(lambda each: each.blocks.points),
            directions=together(lambda each: each.blocks.directions),
        ),
    )


def in_turn(rows: Whole, many: int) -> Iterator[Whole]:
    """Slices of the rows, of a given size; one empty slice if there are no rows."""
    for begin in range(0, max(len(rows), 1), many):
        yield rows[begin : begin + many]


def stack(bodies: Sequence[Body]) -> Bodies:
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


def _shape(body: Body) -> tuple[object, ...]:
    return tuple(len(each.pulls) for each in body.tiedowns), len(body.contacts), len(body.blocks)


def _numbers(rows: Sequence[Sequence[float]]) -> Array:
    return np.array(rows, dtype=float).reshape(len(rows), -1).T


def _vectors(rows: Sequence[Sequence[Vector]]) -> Array:
    return np.moveaxis(np.array(rows, dtype=float).reshape(len(rows), -1, 3), 0, -1)


def _vector(vectors: Array, row: int) -> Vector:
    along_x, along_y, along_z = (float(value) for value in vectors[:, row])
    return along_x, along_y, along_z


def require(is_right: Truth, values: Array, what: str) -> None:
    """Raise ValueError for an impossible number; NaN means not stated and is accepted."""
    wrong = ~(is_right & np.isfinite(values)) & ~np.isnan(values)
    if wrong.any():
        raise ValueError(f"{what}, not {values[wrong][0]:g}")
