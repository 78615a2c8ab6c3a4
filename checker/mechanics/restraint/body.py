"""The statics model of one tied-down article: its weight and everything that can push or pull it.

Points in m, x rearward, y left, z up; forces in N.
"""

import math
from typing import TypeAlias

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

Vector: TypeAlias = tuple[float, float, float]
Array: TypeAlias = NDArray[np.float64]
Truth: TypeAlias = NDArray[np.bool_]
Whole: TypeAlias = NDArray[np.int64]

# Tolerance for the length of a stated direction, enough for one typed with seven digits.
_UNIT_LENGTH_TOLERANCE = 1e-6


def require_unit(direction: Vector, whose: str) -> None:
    """Raise ValueError for a direction that is not of length 1."""
    length = math.hypot(*direction)
    if not abs(length - 1.0) <= _UNIT_LENGTH_TOLERANCE:
        raise ValueError(f"direction of {whose} has length 1, not {length:g}")


def _require_unit_or_not_stated(direction: Vector, whose: str) -> None:
    """Raise ValueError for a stated direction that is not of length 1; NaN is accepted."""
    if not math.isnan(sum(direction)):
        require_unit(direction, whose)


def _require_finite_and_not_negative(value: float, what: str) -> None:
    if value < 0 or math.isinf(value):
        raise ValueError(f"{what} is finite and not negative, not {value:g}")


class Pull(Struct, frozen=True):
    """A point where a tiedown pulls on the article, and the unit direction of the pull."""

    point: Vector
    direction: Vector

    def __post_init__(self) -> None:
        _require_unit_or_not_stated(self.direction, "a pull")


class Tiedown(Struct, frozen=True):
    """A tiedown: pulls with a tension from 0 to `limit` (N).

    A plain tiedown has one pull, from its attachment towards its anchor. One that runs over the
    article or round a wheel has several pulls with the same tension, as it slides without
    friction there.
    """

    name: str
    limit: float
    pulls: tuple[Pull, ...]

    def __post_init__(self) -> None:
        _require_finite_and_not_negative(self.limit, f"limit of {self.name}")


class Contact(Struct, frozen=True):
    """A point the article stands on: a wheel or the end of a track.

    It pushes straight up without limit, and friction acts in any horizontal direction with at most
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
        _require_unit_or_not_stated(self.direction, self.name)


class Body(Struct, frozen=True):
    """One article: its weight (N), its centre of gravity, and everything that holds it."""

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
        """True if every number of the body is stated."""
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
