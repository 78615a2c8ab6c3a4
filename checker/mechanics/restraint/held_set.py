"""The largest accelerations that articles are held against, in given or in all directions.

The accelerations held form a convex set around zero: between two accelerations held, all others
are held too. So the least acceleration over all horizontal directions is found from a few of them.
"""

import math
from collections.abc import Sequence
from functools import cached_property
from typing import NamedTuple

import numpy as np

from checker.mechanics.restraint.arrays import Array, Vector, Whole, require_unit
from checker.mechanics.restraint.balance import (
    Balances,
    balanced_at_rest,
    columns_at_rest,
    largest,
    toward,
    turned,
)
from checker.mechanics.restraint.bodies import Bodies, in_turn
from checker.mechanics.restraint.simplex import State, joined, nothing_carried

# More than occurs on any road; a limit is needed for articles that are always held.
LARGEST_ACCELERATION_ASKED_G = 10.0

# If two accelerations at right angles are both beyond this, the segment between them is beyond the
# largest acceleration asked at every point.
_HORIZON_G = 10.0 * LARGEST_ACCELERATION_ASKED_G

FORWARD: Vector = (-1.0, 0.0, 0.0)
REARWARD: Vector = (1.0, 0.0, 0.0)
LEFT: Vector = (0.0, 1.0, 0.0)
RIGHT: Vector = (0.0, -1.0, 0.0)
UP: Vector = (0.0, 0.0, 1.0)

_AROUND = (FORWARD, LEFT, REARWARD, RIGHT)

# Bodies whose programmes are set up at a time, to limit memory use. In five directions they fill
# one batch of the simplex.
_BODIES_IN_TURN = 409

# Accelerations in g that differ by less than this count as equal.
_SAME_G = 1e-9


def heading(angle: float) -> Vector:
    """Horizontal unit direction at `angle` rad from forward, positive to the left."""
    return (-math.cos(angle), math.sin(angle), 0.0)


class HeldSet:
    """The largest accelerations that n bodies with the same parts are held against.

    Bodies with equal numbers are computed once. The result is NaN for a body with a number that is
    not stated, and 0 for a body that is not held at rest.
    """

    def __init__(self, bodies: Bodies, turned: int | None = None) -> None:
        """Balance the bodies at rest; the least all around is for the first `turned`, or all."""
        self._count = bodies.count
        self._turned = bodies.count if turned is None else turned
        self._stated = np.flatnonzero(bodies.stated)
        distinct, self._back = _distinct(bodies.numbers[:, self._stated])
        self._columns = columns_at_rest(bodies.take(self._stated[distinct]))
        held, rest = balanced_at_rest(self._columns, nothing_carried(self._columns))
        self._held = np.flatnonzero(held)
        self._columns = self._columns.take(self._held)
        self._rest = rest.take(self._held)
        self._distinct = len(distinct)
        is_turned = np.zeros(self._distinct, dtype=bool)
        is_turned[self._back[self._stated < self._turned]] = True
        self._is_turned = is_turned[self._held]
        self._known: dict[Vector, Array] = {}
        self._around: dict[Vector, _Answers] = {}

    def largest(self, directions: Sequence[Vector]) -> Array:
        """Largest accelerations in g, (directions, n), up to `LARGEST_ACCELERATION_ASKED_G`.

        Each direction is computed once and stored.

        Maximise a such that gravity + a * weight * direction + tensions + contacts + blocks = 0,
        in forces and in moments about the centre of gravity. Gravity alone must balance too: an
        article that is in balance only while it is accelerated is not held. Source: statics,
        derived.
        """
        for direction in directions:
            require_unit(direction)
        self._ask([direction for direction in directions if direction not in self._known])
        return np.stack([self._of_all(self._known[each]) for each in directions])

    @cached_property
    def least_around(self) -> Array:
        """The least over all horizontal directions of the acceleration held, in g, (turned).

        Exact except for rounding. The multipliers of every answer give a line that bounds the set;
        the least is not larger than the distance of any such line. All accelerations on the segment
        between two held ones are held too. If a segment passes nearer to zero than the least so
        far, the direction of its nearest point is computed next.
        """
        self._ask([direction for direction in _AROUND if direction not in self._known])
        turned = np.flatnonzero(self._is_turned)
        every = np.zeros(len(self._held))
        for own in in_turn(np.arange(len(turned)), _BODIES_IN_TURN):
            found = [self._around[direction].take(own) for direction in _AROUND]
            every[turned[own]] = self._least(turned[own], found)
        # They take the most memory and are not asked for again.
        self._around.clear()
        return self._of_all(every)[: self._turned]

    def _least(self, own: Whole, found: Sequence["_Answers"]) -> Array:
        """`least_around` for some of the bodies that are held at rest."""
        least: Array = np.min([_distances(each) for each in found], axis=0)
        np.minimum(least, LARGEST_ACCELERATION_ASKED_G, out=least)
        bodies = np.tile(np.arange(len(own)), len(_AROUND))
        begins = np.concatenate(
            [
                np.outer(direction[:2], each.accelerations)
                for direction, each in zip(_AROUND, found, strict=True)
            ],
            axis=1,
        )
        ends = np.roll(begins, -len(own), axis=1)
        states = joined([each.state for each in found])
        while True:
            nearest, distance = _nearest(begins, ends)
            nearer = np.flatnonzero(distance < least[bodies] - _SAME_G)
            if not len(nearer):
                return least
            bodies, begins, ends = bodies[nearer], begins[:, nearer], ends[:, nearer]
            directions = np.zeros((3, len(nearer)))
            directions[:2] = nearest[:, nearer] / distance[nearer]
            columns = toward(self._columns.take(own[bodies]), directions, _HORIZON_G)
            states = states.take(nearer)
            rest = self._rest.take(own[bodies])
            between = _answers(largest(columns, turned(states, rest, columns)))
            np.minimum.at(least, bodies, _distances(between))
            points = directions[:2] * between.accelerations
            bodies = np.concatenate([bodies, bodies])
            begins = np.concatenate([begins, points], axis=1)
            ends = np.concatenate([points, ends], axis=1)
            states = joined([states, between.state])

    def _ask(self, directions: Sequence[Vector]) -> None:
        """Compute the largest accelerations in new directions, all at once."""
        if not directions:
            return
        known: list[list[Array]] = [[] for _ in directions]
        around: list[list[_Answers]] = [[] for _ in directions]
        for own in in_turn(np.arange(len(self._held)), _BODIES_IN_TURN):
            rows = np.tile(own, len(directions))
            every = np.repeat(np.array(directions).T, len(own), axis=1)
            columns = toward(self._columns.take(rows), every, _HORIZON_G)
            found = _answers(largest(columns, self._rest.take(rows)))
            turned = np.flatnonzero(self._is_turned[own])
            for number, direction in enumerate(directions):
                begin = number * len(own)
                known[number].append(found.accelerations[begin : begin + len(own)])
                if direction in _AROUND:
                    around[number].append(found.take(begin + turned))
        for number, direction in enumerate(directions):
            self._known[direction] = np.concatenate(known[number])
            if direction in _AROUND:
                self._around[direction] = _joined(around[number])

    def _of_all(self, accelerations: Array) -> Array:
        """Expand accelerations of the distinct bodies that are held at rest to all bodies."""
        distinct = np.zeros(self._distinct)
        distinct[self._held] = np.minimum(accelerations, LARGEST_ACCELERATION_ASKED_G)
        every = np.full(self._count, math.nan)
        every[self._stated] = distinct[self._back]
        return every


class _Answers(NamedTuple):
    """The parts of n answers that later programmes need; the forces would take the most memory."""

    accelerations: Array
    multipliers: Array
    state: State

    def take(self, rows: Whole) -> "_Answers":
        """The answers of the given programmes."""
        return _Answers(
            self.accelerations[rows],
            self.multipliers.take(rows, axis=-1),
            self.state.take(rows),
        )


def _answers(found: Balances) -> _Answers:
    return _Answers(found.accelerations, found.multipliers, found.state)


def _joined(parts: Sequence[_Answers]) -> _Answers:
    return _Answers(
        np.concatenate([part.accelerations for part in parts]),
        np.concatenate([part.multipliers for part in parts], axis=-1),
        joined([part.state for part in parts]),
    )


def _distances(answers: _Answers) -> Array:
    """For each answer, the distance in g from zero to the line that bounds the set on that side.

    Multipliers times acceleration is at most the answer, for accelerations in every direction.
    """
    slope = np.hypot(answers.multipliers[0], answers.multipliers[1])
    # At least 1, except if the answer is the largest acceleration asked: then no line exists.
    distances: Array = answers.accelerations / np.maximum(slope, 1.0)
    return distances


def _distinct(numbers: Array) -> tuple[Whole, Whole]:
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


def _nearest(begins: Array, ends: Array) -> tuple[Array, Array]:
    """The point nearest to zero on each line segment (2, n), and its distance."""
    along = ends - begins
    length = (along * along).sum(axis=0)
    share = np.zeros(len(length))
    np.divide(-(begins * along).sum(axis=0), length, out=share, where=length > 0.0)
    nearest = begins + np.clip(share, 0.0, 1.0) * along
    return nearest, np.hypot(nearest[0], nearest[1])
