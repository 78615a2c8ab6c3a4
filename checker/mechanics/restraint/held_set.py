"""The largest accelerations that articles are held against, in given or in all directions.

The accelerations held form a convex set around zero: between two accelerations held, all others
are held too. So the least acceleration over all horizontal directions is found from a few of them.
"""

import math
from collections.abc import Sequence
from functools import cached_property

import numpy as np

from checker.mechanics.restraint.arrays import Array, Truth, Vector, Whole, require_unit
from checker.mechanics.restraint.balance import forces_on, largest
from checker.mechanics.restraint.bodies import Bodies, distinct, in_turn
from checker.mechanics.restraint.columns import Columns, toward

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

AT_REST: Vector = (0.0, 0.0, 0.0)
_AROUND = (FORWARD, LEFT, REARWARD, RIGHT)

# Bodies whose programmes are set up at a time, to limit memory use. In five directions they fill
# one batch of the simplex.
_BODIES_IN_TURN = 300
# Of this many bodies, those without friction are computed by themselves, because their programmes
# have few columns. Of fewer, one batch is faster than two.
_WORTH_DIVIDING = 80

# Rows of the answers that are kept.
_LEFT_END, _RIGHT_END, _KEPT = slice(3, 5), slice(5, 7), 7

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
        """The least all around is for the first `turned` bodies, or for all."""
        self._count = bodies.count
        self._turned = bodies.count if turned is None else turned
        self._stated = np.flatnonzero(bodies.stated)
        first, self._back = distinct(bodies.numbers[:, self._stated])
        self._distinct = len(first)
        every = len(first) == bodies.count
        self._forces = forces_on(bodies if every else bodies.take(self._stated[first]))
        self._asked: dict[Vector, int] = {}
        self._answers = np.empty((_KEPT, 0, self._distinct))

    def largest(self, directions: Sequence[Vector]) -> Array:
        """Largest accelerations in g, (directions, n), up to `LARGEST_ACCELERATION_ASKED_G`.

        Each direction is computed once and stored.

        Maximise a such that gravity + a * weight * direction + tensions + contacts + blocks = 0,
        in forces and in moments about the centre of gravity. Gravity alone must balance too: an
        article that is in balance only while it is accelerated is not held. It does if some
        acceleration in the first direction balances, and some in the opposite one, because the
        accelerations that balance are a convex set. Source: statics, derived.
        """
        for direction in directions:
            require_unit(direction)
        self._ask(directions)
        return self._of_all(self._answers[0, self._places(directions)])

    @cached_property
    def least_around(self) -> Array:
        """The least over all horizontal directions of the acceleration held, in g, (turned).

        Exact except for rounding. The multipliers of every answer give a line that bounds the set;
        the least is not larger than the distance of any such line. It also gives the two ends of a
        piece of that line that is held. All accelerations on the segment between two held ones are
        held too. If the segment between the ends of neighbouring pieces passes nearer to zero than
        the least so far, the direction of its nearest point is computed next.
        """
        self._ask(_AROUND)
        is_turned = np.zeros(self._distinct, dtype=bool)
        is_turned[self._back[self._stated < self._turned]] = True
        turned = np.flatnonzero(is_turned & self._held)
        every = np.zeros(self._distinct)
        for own in in_turn(turned, _BODIES_IN_TURN):
            every[own] = self._least(own)
        return self._of_all(every)[: self._turned]

    def _least(self, own: Whole) -> Array:
        """`least_around` for some of the bodies that are held at rest."""
        found = self._answers[:, self._places(_AROUND)][..., own]
        least: Array = _distances(found).min(axis=0)
        np.minimum(least, LARGEST_ACCELERATION_ASKED_G, out=least)
        bodies = np.tile(np.arange(len(own)), len(_AROUND))
        begins = found[_RIGHT_END].reshape(2, -1)
        ends = np.roll(found[_LEFT_END].reshape(2, -1), -len(own), axis=1)
        while True:
            nearest, distance = _nearest(begins, ends)
            nearer = np.flatnonzero(distance < least[bodies] - _SAME_G)
            if not len(nearer):
                return least
            bodies, begins, ends = bodies[nearer], begins[:, nearer], ends[:, nearer]
            directions = np.zeros((3, len(nearer)))
            directions[:2] = nearest[:, nearer] / distance[nearer]
            between = _answers(toward(self._forces.take(own[bodies]), directions, _HORIZON_G))
            np.minimum.at(least, bodies, _distances(between))
            bodies = np.concatenate([bodies, bodies])
            begins = np.concatenate([begins, between[_RIGHT_END]], axis=1)
            ends = np.concatenate([between[_LEFT_END], ends], axis=1)

    @property
    def _held(self) -> Truth:
        """True for distinct bodies that are held at rest."""
        one_way, other_way = ~np.isnan(self._answers[0, :2])
        found: Truth = one_way & other_way
        return found

    def _places(self, directions: Sequence[Vector]) -> Whole:
        """The rows of the answers for some directions."""
        return np.array([self._asked[each] for each in directions])

    def _ask(self, directions: Sequence[Vector]) -> None:
        """Compute the largest accelerations in new directions, all at once.

        The first two directions asked are opposite.
        """
        both = () if self._asked else (directions[0], _opposite(directions[0]))
        new = [each for each in dict.fromkeys((*both, *directions)) if each not in self._asked]
        if not new:
            return
        found = np.empty((_KEPT, len(new), self._distinct))
        for some in self._kinds():
            for own in in_turn(some, _BODIES_IN_TURN):
                every = np.repeat(np.array(new).T, len(own), axis=1)
                columns = toward(self._forces.take(np.tile(own, len(new))), every, _HORIZON_G)
                found[..., own] = _answers(columns).reshape(_KEPT, len(new), len(own))
        self._asked |= {each: place for place, each in enumerate(new, len(self._asked))}
        self._answers = np.concatenate([self._answers, found], axis=1)

    def _kinds(self) -> list[Whole]:
        """The distinct bodies that are best computed together."""
        if self._distinct < _WORTH_DIVIDING:
            return [np.arange(self._distinct)]
        rubs = self._forces.contacts[1:].any(axis=(0, 1, 2))
        return [np.flatnonzero(rubs), np.flatnonzero(~rubs)]

    def _of_all(self, accelerations: Array) -> Array:
        """Expand accelerations (..., distinct) of the distinct bodies to all bodies."""
        most = np.minimum(accelerations, LARGEST_ACCELERATION_ASKED_G)
        every = np.full((*accelerations.shape[:-1], self._count), math.nan)
        every[..., self._stated] = np.where(self._held, most, 0.0)[..., self._back]
        return every


def _opposite(direction: Vector) -> Vector:
    x, y, z = direction
    return (-x, -y, -z)


def _answers(columns: Columns) -> Array:
    """What later programmes need of the answers, (7, n); the forces would take the most memory.

    The acceleration, the slope of the line that bounds the set, and the two ends of the piece of
    that line that is known to be held.
    """
    found = largest(columns)
    return np.concatenate([found.accelerations[np.newaxis], found.multipliers[:2], *found.ends])


def _distances(answers: Array) -> Array:
    """For each answer, the distance in g from zero to the line that bounds the set on that side.

    Multipliers times acceleration is at most the answer, for accelerations in every direction.
    """
    slope = np.hypot(answers[1], answers[2])
    # At least 1, except if the answer is the largest acceleration asked: then no line exists.
    distances: Array = answers[0] / np.maximum(slope, 1.0)
    return distances


def _nearest(begins: Array, ends: Array) -> tuple[Array, Array]:
    """The point nearest to zero on each line segment (2, n), and its distance."""
    along = ends - begins
    length = (along * along).sum(axis=0)
    share = np.zeros(len(length))
    np.divide(-(begins * along).sum(axis=0), length, out=share, where=length > 0.0)
    nearest = begins + np.clip(share, 0.0, 1.0) * along
    return nearest, np.hypot(nearest[0], nearest[1])
