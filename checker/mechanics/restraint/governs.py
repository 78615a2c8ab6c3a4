"""The largest accelerations that one article is held against, the forces, and what limits them."""

import math
from collections.abc import Iterator, Sequence
from itertools import islice
from typing import Literal

import numpy as np
from msgspec import Struct

from checker.mechanics.restraint.arrays import Array, Vector, Whole, require_unit
from checker.mechanics.restraint.balance import Balances, forces_on, largest
from checker.mechanics.restraint.bodies import Bodies
from checker.mechanics.restraint.columns import EDGE_X, EDGE_Y, Columns, toward
from checker.mechanics.restraint.held_set import AT_REST, LARGEST_ACCELERATION_ASKED_G

Motion = Literal["sliding", "lifting", "turning", "tipping"]
Kind = Literal["tiedown full", "block full"] | Motion | Literal["not held at rest"]

# Accelerations in g that differ by less than this count as equal: well above the error of an answer
# and well below anything that matters to a load.
_SAME_G = 1e-7
# Share by which a part is weakened to find whether it limits the acceleration. A part that adds
# less than about 0.0001 g does not.
_WEAKENED_BY = 1e-3
# A force below this share of the weight counts as zero.
_CARRYING = 1e-7

_MOMENTS = slice(3, 6)


class Governs(Struct, frozen=True):
    """What limits the acceleration that an article is held against.

    `kind`: "not held at rest"; else "tiedown full" if `tiedowns` has any; else "block full" if
    `blocks` has any; else the motion.
    `motion`: how the article starts to move; None if it is not held at rest. If the equations of
    force alone limit the acceleration, "sliding". Otherwise "tipping" if the contacts move apart in
    height faster than they move along the deck, "turning" if their motion along the deck differs
    more than it has in common, else "sliding". "lifting" instead of "sliding" if no contact
    carries. Several motions may start at the same acceleration; this is one of them.
    `tiedowns`, `blocks`: names of those that limit the acceleration: they are at their limit, and
    0.1 % less strength of that one alone would lower it.
    `carrying`: names of the contacts that carry; for tipping, the edge it tips over.
    """

    kind: Kind
    motion: Motion | None
    tiedowns: tuple[str, ...]
    blocks: tuple[str, ...]
    carrying: tuple[str, ...]


class Held(Struct, frozen=True):
    """The largest acceleration an article is held against in one direction.

    `acceleration_g` in multiples of gravity; `capped`: it reaches the largest asked (10 g), and
    nothing governs. Tensions, contact normals, contact frictions (along x and y) and block pushes
    in N, in the order of the body's parts, are one balance at that acceleration.
    `residual`: largest unbalanced force or scaled moment, as a share of the weight.
    `bound`: an upper bound, from the multipliers of the programme; equal to `acceleration_g` except
    for rounding, which proves that it is the largest.
    If a number is not stated, the acceleration is NaN and nothing governs.
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


def held_with_forces(bodies: Bodies, directions: Sequence[Vector]) -> list[Held]:
    """For each direction, what the only one of the bodies is held against, and what limits it.

    The programme is that of `HeldSet.largest`. The parts that limit it are found by changing one
    thing at a time, because the multipliers are not always unique, and these changes have unique
    results. The multipliers are the velocities of the motion that starts, which give its name.
    """
    for direction in directions:
        require_unit(direction)
    if not bodies.stated[0]:
        return [_nothing_held(bodies, math.nan, None)] * len(directions)
    every = np.array([*directions, AT_REST])
    forces = forces_on(bodies).take(np.zeros(len(every), dtype=np.int64))
    columns = toward(forces, every.T, LARGEST_ACCELERATION_ASKED_G)
    found = largest(columns)
    if math.isnan(found.accelerations[-1]):
        governs = Governs("not held at rest", None, (), (), ())
        return [_nothing_held(bodies, 0.0, governs)] * len(directions)
    return list(_held(bodies, columns, found, len(directions)))


class _Forces(Struct):
    """The forces of one answer, in multiples of the weight."""

    tensions: Array
    pushes: Array
    normals: Array
    frictions: Array


def _held(bodies: Bodies, columns: Columns, found: Balances, count: int) -> Iterator[Held]:
    """The results of the first `count` programmes."""
    forces = [_forces(bodies, found.amounts[:, row]) for row in range(count)]
    full = [
        _at_limit(columns.upper[1:, row], found.amounts[1 : columns.singles, row])
        for row in range(count)
    ]
    names = [*bodies.tiedowns.names, *bodies.blocks.names]
    tiedowns = len(bodies.tiedowns.names)
    supports = bodies.contact_wrenches()[..., 0]
    weight = float(bodies.weights[0])
    changed = _changed(columns, full)
    for row, (force, parts, (without_moments, *weaker)) in enumerate(
        zip(forces, full, changed, strict=True)
    ):
        acceleration = float(found.accelerations[row])
        counts = [
            part
            for part, weakened in zip(parts, weaker, strict=True)
            if not weakened >= acceleration - _SAME_G
        ]
        motion = _motion(supports @ found.multipliers[:, row], found.multipliers[_MOMENTS, row])
        if without_moments <= acceleration + _SAME_G:
            motion = "sliding"
        if motion == "sliding" and not np.any(force.normals > _CARRYING):
            motion = "lifting"
        full_tiedowns = tuple(names[part] for part in counts if part < tiedowns)
        full_blocks = tuple(names[part] for part in counts if part >= tiedowns)
        carrying = tuple(
            name
            for name, normal in zip(bodies.contacts.names, force.normals, strict=True)
            if normal > _CARRYING
        )
        kind: Kind = "tiedown full" if full_tiedowns else "block full" if full_blocks else motion
        capped = acceleration >= LARGEST_ACCELERATION_ASKED_G - _SAME_G
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


def _changed(columns: Columns, full: Sequence[Whole]) -> Iterator[list[float]]:
    """For each programme the largest accelerations in g with one change each; NaN if none.

    First without the equations of moments, which can only raise it; if it does not, rotation has no
    part in what limits the article. Then with each part at its limit weakened alone.
    """
    counts = [1 + len(parts) for parts in full]
    changed = columns.take(np.repeat(np.arange(len(full)), counts))
    first = 0
    for count, parts in zip(counts, full, strict=True):
        changed.units[:, _MOMENTS, first] = 0.0
        changed.upper[1 + parts, np.arange(first + 1, first + count)] *= 1.0 - _WEAKENED_BY
        first += count
    found = iter(largest(changed).accelerations.tolist())
    for count in counts:
        yield list(islice(found, count))


def _motion(velocities: Array, rotation: Array) -> Motion:
    """The name of a motion, from the velocities (3, contacts) of the contacts.

    In the programme a sliding contact also rises, by friction times its path, because friction is a
    cone; so only a faster rise is tipping. Without contacts the rotation about x, y and z decides.
    """
    if not velocities.size:
        return "tipping" if np.hypot(*rotation[:2]) > abs(rotation[2]) else "turning"
    along, up = velocities[:2], velocities[2]
    if np.ptp(up) > np.hypot(*along).max():
        return "tipping"
    together = along.mean(axis=1)
    apart = np.hypot(*(along - together[:, np.newaxis])).max()
    return "turning" if apart > np.hypot(*together) else "sliding"


def _forces(bodies: Bodies, amounts: Array) -> _Forces:
    tiedowns, blocks = len(bodies.tiedowns.names), len(bodies.blocks.names)
    _, tensions, pushes, generators = np.split(amounts, np.cumsum([1, tiedowns, blocks]))
    contacts = len(bodies.contacts.names)
    per_contact = generators.reshape(len(generators) // max(contacts, 1), contacts).T
    along = per_contact @ np.stack([EDGE_X, EDGE_Y], axis=1)[: per_contact.shape[1]]
    return _Forces(tensions, pushes, per_contact.sum(axis=1), bodies.contacts.frictions * along)


def _at_limit(limits: Array, forces: Array) -> Whole:
    return np.flatnonzero(forces >= limits - _CARRYING)


def _nothing_held(bodies: Bodies, acceleration: float, governs: Governs | None) -> Held:
    """A result without a balance: all forces are NaN."""
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
