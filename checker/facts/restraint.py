"""How much braking, swerving and bouncing each article is held against, in g.

The assumption behind every figure: a rigid article, tiedowns that only pull and keep their limit
while others fill up, Coulomb friction, small displacements, a deck and anchors that do not give.
It is a lower bound of limit analysis and says nothing of the bounce of a rough road. Webbing is
not ductile at its breaking strength, so the figures at working load limit are the ones to use.
A tiedown over the article counts with its pre-tension only: it does not tighten by itself.
"""

from collections.abc import Iterator
from functools import lru_cache

import numpy as np
from msgspec import Struct

from checker.facts.bodies import (
    BODY_FACTS,
    BODY_FIELDS,
    BODY_INSTEAD,
    Limit,
    bodies,
    springs,
)
from checker.facts.catalogue import fact
from checker.facts.view import Facts, Subject, View
from checker.mechanics import restraint
from checker.mechanics.elastic import Spring, Stretched, stretched
from checker.mechanics.restraint_body import Body, Vector
from checker.units.arithmetic import NOT_STATED, Number, at_least

WAYS: dict[str, Vector] = {
    "forward": restraint.FORWARD,
    "rearward": restraint.REARWARD,
    "left": restraint.LEFT,
    "right": restraint.RIGHT,
    "up": restraint.UP,
}
HEADINGS = 36
"""Directions all around in which the least is looked for."""

_SOURCE = (
    "limit analysis of a rigid article by linear programme (statics): tension-only tiedowns that "
    "keep their limit, Coulomb friction, small displacements; no bounce of a rough road"
)
_LIMITS: dict[Limit, tuple[str, str]] = {
    "working load limit": ("", "tiedown.counted_working_load_limit"),
    "breaking strength": ("_at_breaking_strength", "tiedown.counted_breaking_strength"),
}


def _held(view: View, limit: Limit, *, friction: bool) -> dict[str, Number]:
    """Largest acceleration each way in every row, all ways at once."""
    if view.load.tiedowns is None:
        return dict.fromkeys(WAYS, NOT_STATED)
    found: dict[Body, list[float]] = {}
    rows = []
    for body in bodies(view, limit, friction=friction):
        if body not in found:
            answers = restraint.largest_accelerations(body, list(WAYS.values()), friction=friction)
            found[body] = answers.tolist()
        rows.append(found[body])
    table = np.array(rows).T
    return {
        way: column if len(column) > 1 else float(column[0])
        for way, column in zip(WAYS, table, strict=True)
    }


def _held_all_ways(view: View, limit: Limit, *, friction: bool) -> dict[str, Number]:
    """What `_held` finds, kept for all facts that ask for it."""
    key = ("holds", limit, friction, view.subject)
    found: dict[str, Number] = view.facts.once(key, lambda: _held(view, limit, friction=friction))
    return found


for _limit, (_suffix, _limit_fact) in _LIMITS.items():
    for _friction in (True, False):
        for _way in WAYS:
            _without = "" if _friction else "_without_friction"
            _words = "" if _friction else ", friction left out"

            @fact(
                f"article.holds_{_way}{_without}{_suffix}",
                "gravities",
                f"held against moving {_way}, by {_limit}{_words}",
                each="article",
                fields=BODY_FIELDS,
                instead=BODY_INSTEAD,
                uses=(
                    *BODY_FACTS,
                    _limit_fact,
                    *(("article.friction_along_deck",) if _friction else ()),
                ),
                source=_SOURCE,
            )
            def holds(
                view: View,
                *,
                way: str = _way,
                limit: Limit = _limit,
                friction: bool = _friction,
            ) -> Number:
                """Largest acceleration, in g, that its tiedowns, the deck and blocks hold this way.

                Hard braking needs the figure for forward. The search stops at 10 g.
                """
                return _held_all_ways(view, limit, friction=friction)[way]


@fact(
    "article.holds_least_way",
    "gravities",
    "held in the worst direction all around",
    each="article",
    fields=BODY_FIELDS,
    instead=BODY_INSTEAD,
    uses=(*BODY_FACTS, "tiedown.counted_working_load_limit", "article.friction_along_deck"),
    source=_SOURCE,
)
def holds_least_way(view: View) -> Number:
    """Least of the accelerations held in 36 directions all around, at working load limit."""
    if view.load.tiedowns is None:
        return NOT_STATED
    least: dict[Body, float] = {}
    rows = []
    for body in bodies(view, "working load limit", friction=True):
        if body not in least:
            least[body] = float(restraint.compass(body, HEADINGS).accelerations.min())
        rows.append(least[body])
    return np.array(rows) if len(rows) > 1 else rows[0]


for _way in ("forward", "rearward", "left", "right"):

    @fact(
        f"article.holds_{_way}_elastically",
        "gravities",
        f"held against moving {_way} before any tiedown is full",
        each="article",
        fields=(*BODY_FIELDS, "tiedowns.*.pretension", "tiedowns.*.stretch_at_limit"),
        instead=BODY_INSTEAD,
        uses=(
            *BODY_FACTS,
            "tiedown.counted_working_load_limit",
            "tiedown.working_load_limit",
            "tiedown.length",
        ),
        source="rigid article on tension-only springs with pre-tension (statics); no friction",
    )
    def holds_elastically(view: View, way: str = _way) -> Number:
        """Largest acceleration at which no tiedown is over its limit, as stiffness shares it out.

        Short and stiff tiedowns take more than their share, so this is at most what limit
        analysis finds without friction.
        """
        if view.load.tiedowns is None:
            return NOT_STATED
        most = np.atleast_1d(_held_all_ways(view, "working load limit", friction=False)[way])
        found: dict[tuple[Body, tuple[Spring, ...] | None], float] = {}
        rows = []
        for row, body in enumerate(bodies(view, "working load limit", friction=False)):
            stretch = springs(view, row)
            if (body, stretch) not in found:
                high = float(most[row if len(most) > 1 else 0])
                found[body, stretch] = _elastic(body, stretch, WAYS[way], high)
            rows.append(found[body, stretch])
        return np.array(rows) if len(rows) > 1 else rows[0]


@lru_cache(maxsize=64)
def _elastic(
    body: Body, stretch: tuple[Spring, ...] | None, direction: Vector, high: float
) -> float:
    """Largest acceleration the stretched tiedowns hold, in g, by bisection to 0.0001 g.

    `high` is the result of limit analysis, which no distribution of forces exceeds. Cached, because
    facts and reports ask for the same figure.
    """
    if not stretch or not body.is_stated:
        return NOT_STATED

    def within(acceleration: float) -> bool:
        found = stretched(body, stretch, direction, acceleration)
        return found.held and at_least(1.0, found.peak_utilisation) == 1

    low = 0.0
    if not within(low):
        return 0.0
    if within(high):
        return high
    while high - low > 1e-4:
        middle = (low + high) / 2
        low, high = (middle, high) if within(middle) else (low, middle)
    return low


def _sharing(
    body: Body, view: View, way: str, high: float
) -> tuple[float, Stretched] | tuple[None, None]:
    """The acceleration at which the first tiedown is full, and how they share it there."""
    stretch = springs(view, 0)
    first_full = _elastic(body, stretch, WAYS[way], high)
    if not stretch or not np.isfinite(first_full):
        return None, None
    return first_full, stretched(body, stretch, WAYS[way], first_full)


class Holding(Struct, frozen=True):
    """What holds one article against moving one way, in the load as stated.

    `slick_g` is what holds it that way on a deck without friction.
    `shared` is how the tiedowns share it out as they stretch, at the acceleration `shared_g` at
    which the first of them is full; None where pre-tension or stretch is not stated.
    """

    article: Subject
    way: str
    friction: bool
    body: Body
    held: restraint.Held
    slick_g: float
    shared_g: float | None
    shared: Stretched | None


def holdings(facts: Facts, *, friction: bool = True) -> Iterator[Holding]:
    """For each article whose restraint can be worked out, what holds it each way and what gives.

    At working load limit, for the load as stated.
    """
    if facts.load.tiedowns is None:
        return
    for subject in facts.subjects("article"):
        view = facts.view(subject)
        body = next(bodies(view, "working load limit", friction=friction))
        if body.is_stated:
            # Springs do not know of friction: on the slick body the facts have asked already.
            sliding = next(bodies(view, "working load limit", friction=False))
            for way, direction in WAYS.items():
                held = restraint.largest_acceleration(body, direction, friction=friction)
                slick = _slick(view, way)
                shared = _sharing(sliding, view, way, slick)
                yield Holding(subject, way, friction, body, held, slick, *shared)


def _slick(view: View, way: str) -> float:
    """Largest acceleration without friction in the load as stated, kept for all that ask for it."""
    return float(np.atleast_1d(_held_all_ways(view, "working load limit", friction=False)[way])[0])
