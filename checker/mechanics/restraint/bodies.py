"""Many tied-down articles with the same parts, as arrays: one for each row of a load or log.

All parts push or pull in one direction only, so each force is a non-negative number times a fixed
unit force. A wrench is such a unit force as six numbers: force along x, y, z, then its moment about
the centre of gravity divided by the `levers`, so that all six are dimensionless.

Rows are along the last axis. Points in m, x rearward, y left, z up; forces in N.
"""

from collections.abc import Iterator
from functools import cached_property

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from checker.mechanics.restraint.arrays import Array, Truth, Whole, require, require_units


class Tiedowns(Struct, frozen=True):
    """Tiedowns of n bodies: each pulls with a tension from 0 to its limit.

    A plain tiedown has one pull, from its attachment towards its anchor. One that runs over the
    article or round a wheel has several pulls with the same tension, as it slides without friction
    there. `limits` (tiedowns, n); then the pulls of all tiedowns in order: `points` and unit
    `directions` (pulls, 3, n), and the index of the tiedown of each, `owners`.
    """

    names: tuple[str, ...]
    limits: Array
    owners: tuple[int, ...]
    points: Array
    directions: Array


class Contacts(Struct, frozen=True):
    """Points that n bodies stand on: wheels or the ends of tracks.

    Each pushes straight up without limit, and friction acts in any horizontal direction with at
    most the coefficient times that push. `points` (contacts, 3, n), `frictions` (contacts, n).
    """

    names: tuple[str, ...]
    points: Array
    frictions: Array


class Blocks(Struct, frozen=True):
    """Chocks, headboards, rails or other cargo: each pushes one way, up to its strength.

    `strengths` (blocks, n), `points` and unit `directions` (blocks, 3, n).
    """

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
        require_units(self.tiedowns.directions, "directions of pulls")
        require_units(self.blocks.directions, "directions of blocks")

    @property
    def count(self) -> int:
        """Number of bodies."""
        return len(self.weights)

    @property
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

    def frictionless(self) -> "Bodies":
        """The same bodies on contacts without friction."""
        contacts = replace(self.contacts, frictions=np.zeros_like(self.contacts.frictions))
        return replace(self, contacts=contacts)

    def then_frictionless(self) -> "Bodies":
        """The bodies, and after them the same ones on contacts without friction."""
        twice = self.take(np.tile(np.arange(self.count), 2))
        twice.contacts.frictions[:, self.count :] = 0.0
        return twice

    def tiedown_wrenches(self) -> Array:
        """(tiedowns, 6, n): the wrench of 1 N of tension, summed over the pulls of the tiedown."""
        together = np.zeros((len(self.tiedowns.names), 6, self.count))
        every = self._wrenches(self.tiedowns.points, self.tiedowns.directions)
        for owner, wrench in zip(self.tiedowns.owners, every, strict=True):
            together[owner] += wrench
        return together

    def contact_wrenches(self) -> Array:
        """(3, contacts, 6, n): the wrenches of 1 N along x, along y and upward at each contact."""
        points = self.contacts.points
        axes = np.empty((3, *points.shape))
        axes[:] = np.eye(3)[:, np.newaxis, :, np.newaxis]
        every = self._wrenches(
            np.tile(points, (3, 1, 1)), axes.reshape(3 * len(points), 3, self.count)
        )
        return every.reshape(3, len(points), 6, self.count)

    def block_wrenches(self) -> Array:
        """(blocks, 6, n): the wrench of 1 N of push."""
        return self._wrenches(self.blocks.points, self.blocks.directions)

    def _wrenches(self, points: Array, directions: Array) -> Array:
        arms = (points - self.centres) / self.levers
        following, after = np.array([1, 2, 0]), np.array([2, 0, 1])
        moments = arms[:, following] * directions[:, after]
        moments -= arms[:, after] * directions[:, following]
        return np.concatenate([directions, moments], axis=1)


def in_turn(rows: Whole, many: int) -> Iterator[Whole]:
    """Slices of the rows, of a given size; one empty slice if there are no rows."""
    for begin in range(0, max(len(rows), 1), many):
        yield rows[begin : begin + many]


def distinct(numbers: Array) -> tuple[Whole, Whole]:
    """Indices of the distinct columns, and for each column the index of its equal among them."""
    places: dict[bytes, int] = {}
    first: list[int] = []
    back = []
    for index, column in enumerate(np.ascontiguousarray(numbers.T)):
        place = places.setdefault(column.tobytes(), len(first))
        if place == len(first):
            first.append(index)
        back.append(place)
    return np.array(first, dtype=np.int64), np.array(back, dtype=np.int64)
