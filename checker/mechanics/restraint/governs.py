"""The largest acceleration that one article is held against, the forces, and what limits it."""

import math
from collections.abc import Iterator, Sequence
from typing import Literal

import numpy as np
from msgspec import Struct

from checker.mechanics.restraint.balance import (
    Balances,
    balanced_at_rest,
    columns_at_rest,
    largest,
    toward,
)
from checker.mechanics.restraint.bodies import Bodies
from checker.mechanics.restraint.body import Array, Vector, Whole, require_unit
from checker.mechanics.restraint.held_set import LARGEST_ACCELERATION_ASKED_G
from checker.mechanics.restraint.simplex import (
    CONE_EDGES,
    EDGE_X,
    EDGE_Y,
    Columns,
    nothing_carried,
)

Motion = Literal["sliding", "lifting", "turning", "tipping"]
Kind = Literal["tiedown full", "block full"] | Motion | Literal["not held at rest"]

# Two accelerations in g closer than this count as equal: well above the error of an answer, well
# below anything that matters to a load.
_SAME_G = 1e-7
# Share by which a part is weakened to test whether it counts. With the figure above, a part that
# adds less than about 0.0001 g does not count.
_WEAKENED_BY = 1e-3
# A force below this share of the weight counts as zero.
_CARRYING = 1e-7

_MOMENTS = slice(3, 6)
_TIPPING_MOMENTS = slice(3, 5)


class Governs(Struct, frozen=True):
    """What limits the acceleration that an article is held against.

    `kind`: "not held at rest"; else "tiedown full" if a tiedown at its limit counts; else
    "block full" likewise; else the motion.
    `motion`: how the article starts to move, the simplest way that the largest acceleration
    allows. "sliding" if the equations of forces alone give that acceleration, "lifting" if moreover
    no contact carries weight, "turning" if the moment about the vertical axis is needed as well,
    "tipping" if the other two moments are. None if not held at rest.
    `tiedowns`, `blocks`: names of those at their limit that count: 0.1 % less strength in that
    one alone would lower the acceleration.
    `carrying`: names of the contacts that still carry; for tipping, the edge it tips over.
    """

    kind: Kind
    motion: Motion | None
    tiedowns: tuple[str, ...]
    blocks: tuple[str, ...]
    carrying: tuple[str, ...]


class Held(Struct, frozen=True):
    """The largest acceleration an article is held against in one direction.

    `acceleration_g` in multiples of gravity; `capped`: it is held up to the largest
    acceleration asked (10 g) and nothing governs. Tensions, contact normals, contact frictions
    (along x and y) and block pushes in N, in the order of the body's parts, are one balance at that
    acceleration.
    `residual`: largest unbalanced force or scaled moment, as a share of the weight.
    `bound`: an upper bound of the acceleration, from the multipliers of the programme; it equals
    `acceleration_g` except for rounding, which proves the answer.
    If any number is not stated, the acceleration is NaN and nothing governs.
    """

    acceleration_g: float
    capped: bool
    tensions: tuple[float, ...]
    normals: tuple[float, ...]
    frictions: tuple[tuple[float, float], ...]
    pushes: tuple[float, ...]
    residual: float
    bound: float
    governs: Governs | None


def largest_accelerations(bodies: Bodies, directions: Sequence[Vector]) -> list[Held]:
    """The largest acceleration of the first body in each direction, and what limits it.

    The programme is that of `HeldSet.largest`. To find what limits it, the programme is solved
    again with one thing changed at a time. The multipliers of the solution would also show it, but
    they need not be unique, and the names in reports would depend on the choice.
    """
    for direction in directions:
        require_unit(direction, "the acceleration")
    if not bodies.stated[0]:
        return [_nothing_held(bodies, math.nan, None)] * len(directions)
    bodies = bodies.take(np.zeros(1, dtype=np.int64))
    at_rest = columns_at_rest(bodies)
    held, rest = balanced_at_rest(at_rest, nothing_carried(at_rest))
    if not held[0]:
        governs = Governs("not held at rest", None, (), (), ())
        return [_nothing_held(bodies, 0.0, governs)] * len(directions)
    same = np.zeros(len(directions), dtype=np.int64)
    columns = toward(at_rest.take(same), np.array(directions).T, LARGEST_ACCELERATION_ASKED_G)
    found = largest(columns, rest.take(same))
    return list(_held(bodies, columns, found))


class _Forces(Struct):
    """The forces of one answer by kind of part, in multiples of the weight."""

    tensions: Array
    pushes: Array
    normals: Array
    frictions: Array


def _held(bodies: Bodies, columns: Columns, found: Balances) -> Iterator[Held]:
    changes = _Changes(columns)
    forces = [_forces(bodies, found.amounts[:, row]) for row in range(columns.count)]
    full = [
        _at_limit(columns.upper[1:, row], found.amounts[1 : columns.singles, row])
        for row in range(columns.count)
    ]
    for row, parts in enumerate(full):
        changes.without_moments(row, _MOMENTS)
        changes.without_moments(row, _TIPPING_MOMENTS)
        for part in parts:
            changes.weaker(row, 1 + part)
    changed = iter(changes.largest())
    for row, (force, parts) in enumerate(zip(forces, full, strict=True)):
        acceleration = float(found.accelerations[row])
        without_moments, with_turning = next(changed), next(changed)
        counts = [part for part in parts if not next(changed) >= acceleration - _SAME_G]
        tiedowns = len(bodies.tiedowns.names)
        motion: Motion = "turning" if with_turning <= acceleration + _SAME_G else "tipping"
        if without_moments <= acceleration + _SAME_G:
            motion = "sliding" if np.any(force.normals > _CARRYING) else "lifting"
        names = [*bodies.tiedowns.names, *bodies.blocks.names]
        full_tiedowns = tuple(names[part] for part in counts if part < tiedowns)
        full_blocks = tuple(names[part] for part in counts if part >= tiedowns)
        carrying = tuple(
            name
            for name, normal in zip(bodies.contacts.names, force.normals, strict=True)
            if normal > _CARRYING
        )
        kind: Kind = "tiedown full" if full_tiedowns else "block full" if full_blocks else motion
        capped = acceleration >= LARGEST_ACCELERATION_ASKED_G - _SAME_G
        weight = float(bodies.weights[0])
        yield Held(
            acceleration_g=acceleration,
            capped=capped,
            tensions=tuple((force.tensions * weight).tolist()),
            normals=tuple((force.normals * weight).tolist()),
            frictions=tuple((x, y) for x, y in (force.frictions * weight).tolist()),
            pushes=tuple((force.pushes * weight).tolist()),
            residual=float(found.residuals[row]),
            bound=float(found.bounds[row]),
            governs=None if capped else Governs(kind, motion, full_tiedowns, full_blocks, carrying),
        )


class _Changes:
    """Programmes with one change each, collected to be solved together."""

    def __init__(self, columns: Columns) -> None:
        self._columns = columns
        self._rows: list[int] = []
        self._dropped: list[slice] = []
        self._weaker: list[int | None] = []

    def without_moments(self, row: int, moments: slice) -> None:
        """Add a programme without some equations of moments.

        It can only raise the largest acceleration; if it does not, rotation about those axes does
        not limit it.
        """
        self._rows.append(row)
        self._dropped.append(moments)
        self._weaker.append(None)

    def weaker(self, row: int, part: int) -> None:
        """Add a programme with one part weakened."""
        self._rows.append(row)
        self._dropped.append(slice(0))
        self._weaker.append(part)

    def largest(self) -> list[float]:
        """The largest accelerations in g, in the order added; NaN if nothing balances."""
        columns = self._columns.take(np.array(self._rows))
        for row, (dropped, weaker) in enumerate(zip(self._dropped, self._weaker, strict=True)):
            columns.frames[:, dropped, row] = 0.0
            if weaker is not None:
                columns.upper[weaker, row] *= 1.0 - _WEAKENED_BY
        found: list[float] = largest(columns, nothing_carried(columns)).accelerations.tolist()
        return found


def _forces(bodies: Bodies, amounts: Array) -> _Forces:
    tiedowns, blocks = len(bodies.tiedowns.names), len(bodies.blocks.names)
    _, tensions, pushes, generators = np.split(amounts, np.cumsum([1, tiedowns, blocks]))
    per_contact = generators.reshape(-1, CONE_EDGES)
    along = per_contact @ np.stack([EDGE_X, EDGE_Y], axis=1)
    return _Forces(tensions, pushes, per_contact.sum(axis=1), bodies.contacts.frictions * along)


def _at_limit(limits: Array, forces: Array) -> Whole:
    return np.flatnonzero(forces >= limits - _CARRYING)


def _nothing_held(bodies: Bodies, acceleration: float, governs: Governs | None) -> Held:
    """A Held without a balance: all forces are NaN."""
    contacts = len(bodies.contacts.names)
    return Held(
        acceleration_g=acceleration,
        capped=False,
        tensions=(math.nan,) * len(bodies.tiedowns.names),
        normals=(math.nan,) * contacts,
        frictions=((math.nan, math.nan),) * contacts,
        pushes=(math.nan,) * len(bodies.blocks.names),
        residual=math.nan,
        bound=acceleration,
        governs=governs,
    )
