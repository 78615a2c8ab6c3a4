"""How hard a trailer may brake, turn or bump before a tied-down article moves.

The article is rigid. Inertia pulls at its centre of gravity; tiedowns, contacts and blocks push
and pull one way, each up to its limit. The answer is the largest acceleration for which some set
of those forces balances: limit analysis, a linear programme with six equations.

What the answer rests on, and where it ends:

- A tiedown that reaches its limit is taken to keep that pull while the others fill up. At the
  working load limit (or LC) a real one goes on and pulls harder, and its margin above that limit
  pays for the unequal filling up; at breaking strength it lets go and there is no margin. So the
  limit to give is the working load limit, never the breaking strength. How unequal it is,
  `elastic` tells.
- Pre-tension is not needed for it and not counted: every tiedown pulls what is wanted of it.
  A tiedown that hardly tightens as the article starts to move (over the top, or straight across
  the way it moves) never gets there by itself. For that one give as limit the tension it is
  tightened to, or the friction under it is overstated.
- Friction is Coulomb's, with forces chosen freely inside the cone. The theorem that makes limit
  analysis a lower bound wants sliding to lift the article (associated flow), which real sliding
  does not; where friction carries most of the load the answer says what can balance, not what
  will. The cone itself is replaced by a pyramid inside it and never overstated by that.
- Displacements are small, deck and anchors do not give, and the bounce of a rough road is no
  part of it. Held forces are one balance of possibly many.

Source: statics, derived; the sums of EN 12195-1:2010 5.5.2 and 5.5.3 (read in GDV's forms) are
the same balance with fewer equations.
"""

import math
from collections.abc import Callable, Iterable, Sequence
from typing import Literal

import numpy as np
from msgspec import Struct

from checker.mechanics.restraint_body import Array, Body, Vector, require_unit
from checker.mechanics.restraint_model import (
    LARGEST_ACCELERATION_ASKED_G,
    Balance,
    BalanceModel,
)

FORWARD: Vector = (-1.0, 0.0, 0.0)
REARWARD: Vector = (1.0, 0.0, 0.0)
LEFT: Vector = (0.0, 1.0, 0.0)
RIGHT: Vector = (0.0, -1.0, 0.0)
UP: Vector = (0.0, 0.0, 1.0)

Motion = Literal["sliding", "lifting", "turning", "tipping"]
Kind = Literal["tiedown full", "block full"] | Motion | Literal["not held at rest"]

# Two accelerations in g closer than this are one: well above the solver's error and well below
# anything that matters to a load.
_SAME_G = 1e-7
# By which share a part is weakened to see whether it counts. With the figure above, a part that
# adds less than about 0.0001 g does not.
_WEAKENED_BY = 1e-3
# A force above this share of the weight is there at all.
_CARRYING = 1e-7


class Governs(Struct, frozen=True):
    """What limits the acceleration that an article is held against.

    `kind`: "not held at rest"; else "tiedown full" where a tiedown at its limit counts; else
    "block full" likewise; else the motion itself.
    `motion`: how the article starts to move, the simplest way that the largest acceleration
    allows. "sliding" where forces alone explain it, "lifting" where nothing carries it any more
    either, "turning" where the moment about the upright axis is needed as well, "tipping" where
    the other two moments are. None where not held at rest.
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

    `acceleration_g` in multiples of gravity; `capped` says that it is held to the most that is
    asked (10 g) and nothing governs. Tensions, contact normals, contact frictions (along x and y)
    and block pushes in N, in the order of the body's parts, are one balance at that acceleration.
    `residual`: largest force or scaled moment left unbalanced, as a share of the weight.
    `bound`: an acceleration proved not to be held, from the multipliers of the programme; equal
    to `acceleration_g` but for rounding, so the answer is the largest.
    Where any number is not stated the acceleration is NaN, and nothing governs.
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


class Compass(Struct, frozen=True):
    """Largest accelerations in g: one per heading, and upward.

    `headings` in rad: 0 is forward, then to the left, pi is rearward.
    """

    headings: Array
    accelerations: Array
    up: float


def heading(angle: float) -> Vector:
    """Horizontal direction at `angle` rad from forward, turning to the left."""
    return (-math.cos(angle), math.sin(angle), 0.0)


def largest_acceleration(body: Body, direction: Vector, *, friction: bool = True) -> Held:
    """Largest acceleration an article is held against in one direction, and what limits it.

    Maximise a such that gravity + a * weight * direction + tensions + contacts + blocks = 0, in
    forces and in moments about the centre of gravity. `direction` is the unit direction in which
    the article wants to move: braking wants to move it forward. Without `friction` contacts only
    push up. Gravity alone must balance too: an article that stands only while it is accelerated
    is not held at all. Source: statics, derived.
    """
    if not _is_stated(body, [direction]):
        return _nothing_held(body, math.nan, None)
    model = BalanceModel(body, friction=friction)
    if not model.held_at_rest:
        governs = Governs("not held at rest", None, (), (), ())
        return _nothing_held(body, 0.0, governs)
    model.ask(direction)
    model.largest()
    balance = model.balance()
    capped = balance.acceleration >= LARGEST_ACCELERATION_ASKED_G - _SAME_G
    return Held(
        acceleration_g=balance.acceleration,
        capped=capped,
        tensions=_in_newtons(balance.tensions, body),
        normals=_in_newtons(balance.normals, body),
        frictions=tuple(
            (float(along_x), float(along_y)) for along_x, along_y in balance.frictions * body.weight
        ),
        pushes=_in_newtons(balance.pushes, body),
        residual=balance.residual,
        bound=balance.bound,
        governs=None if capped else _governs(body, model, balance),
    )


def each_distinct(
    bodies: Iterable[Body], direction: Vector, *, friction: bool = True
) -> list[Held]:
    """Answer `largest_acceleration` for many bodies, working each distinct one out once."""
    found: dict[Body, Held] = {}
    answers = []
    for body in bodies:
        if body not in found:
            found[body] = largest_acceleration(body, direction, friction=friction)
        answers.append(found[body])
    return answers


def largest_accelerations(
    body: Body, directions: Sequence[Vector], *, friction: bool = True
) -> Array:
    """Largest acceleration in g in each of many directions.

    Each as in `largest_acceleration`, but without asking what governs, which is most of the work.
    All zero where the article is not held at rest, all NaN where any number is not stated.
    """
    if not _is_stated(body, directions):
        return np.full(len(directions), np.nan)
    model = BalanceModel(body, friction=friction)
    accelerations = np.zeros(len(directions))
    if model.held_at_rest:
        for number, direction in enumerate(directions):
            model.ask(direction)
            accelerations[number] = model.largest()
    return accelerations


def compass(body: Body, headings: int = 36, *, friction: bool = True) -> Compass:
    """Largest acceleration in equally spaced horizontal directions, and upward.

    Each as in `largest_accelerations`.
    """
    angles = 2.0 * np.pi * np.arange(headings) / headings
    found = largest_accelerations(body, [*map(heading, angles), UP], friction=friction)
    return Compass(angles, found[:-1], float(found[-1]))


def _is_stated(body: Body, directions: Sequence[Vector]) -> bool:
    """Whether every number of a question is known; refuse directions of no use."""
    for direction in directions:
        require_unit(direction, "the acceleration")
    return body.is_stated and not any(math.isnan(sum(direction)) for direction in directions)


def _governs(body: Body, model: BalanceModel, balance: Balance) -> Governs:
    """Ask what gives first, by changing one thing at a time and watching the answer.

    The multipliers of one solve would say it too, but where several sets of them are right the
    solver's pick would decide which names appear; these questions have one answer each.
    """
    motion = _motion(model, balance)
    tiedowns = tuple(
        body.tiedowns[number].name
        for number in _at_limit(balance.tensions, model.limits)
        if _is_felt(model, balance, model.limit_tiedown, number, model.limits[number])
    )
    blocks = tuple(
        body.blocks[number].name
        for number in _at_limit(balance.pushes, model.strengths)
        if _is_felt(model, balance, model.limit_block, number, model.strengths[number])
    )
    carrying = tuple(
        contact.name
        for contact, normal in zip(body.contacts, balance.normals, strict=True)
        if normal > _CARRYING
    )
    kind: Kind = "tiedown full" if tiedowns else "block full" if blocks else motion
    return Governs(kind, motion, tiedowns, blocks, carrying)


def _motion(model: BalanceModel, balance: Balance) -> Motion:
    """Find the simplest motion that limits the acceleration to what was found.

    Leaving an equation out can only raise the largest acceleration; where it does not, turning
    about that axis has no part in what limits it.
    """
    model.free_moments(0, 1, 2)
    without_moments = model.largest()
    model.free_moments(0, 1)
    with_turning = model.largest()
    model.free_moments()
    if without_moments <= balance.acceleration + _SAME_G:
        return "sliding" if np.any(balance.normals > _CARRYING) else "lifting"
    return "turning" if with_turning <= balance.acceleration + _SAME_G else "tipping"


def _at_limit(forces: Array, limits: Array) -> list[int]:
    return [int(number) for number in np.flatnonzero(forces >= limits - _CARRYING)]


def _is_felt(
    model: BalanceModel,
    balance: Balance,
    limit_part: Callable[[int, float], None],
    number: int,
    limit: float,
) -> bool:
    """Whether weakening one part alone lowers the largest acceleration."""
    limit_part(number, limit * (1.0 - _WEAKENED_BY))
    weakened = model.largest()
    limit_part(number, limit)
    return weakened < balance.acceleration - _SAME_G


def _in_newtons(shares: Array, body: Body) -> tuple[float, ...]:
    return tuple(float(share) for share in shares * body.weight)


def _nothing_held(body: Body, acceleration: float, governs: Governs | None) -> Held:
    """Held with no balance to show: every force is not known."""
    return Held(
        acceleration_g=acceleration,
        capped=False,
        tensions=(math.nan,) * len(body.tiedowns),
        normals=(math.nan,) * len(body.contacts),
        frictions=((math.nan, math.nan),) * len(body.contacts),
        pushes=(math.nan,) * len(body.blocks),
        residual=math.nan,
        bound=acceleration,
        governs=governs,
    )
