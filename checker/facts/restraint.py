"""How much braking, swerving and bouncing each article is held against, in g.

The assumption behind every figure: a rigid article, tiedowns that only pull and keep their limit
while others fill up, Coulomb friction, small displacements, a deck and anchors that do not give.
It is a lower bound of limit analysis and says nothing of the bounce of a rough road. Webbing is
not ductile at its breaking strength, so the figures at working load limit are the ones to use.
A tiedown over the article counts with its pre-tension only: it does not tighten by itself.
"""

from collections.abc import Iterator, Sequence

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
from checker.mechanics.restraint import governs
from checker.mechanics.restraint.bodies import Bodies, side_by_side
from checker.mechanics.restraint.body import Array, Vector
from checker.mechanics.restraint.elastic import Settled, StretchedTiedowns
from checker.mechanics.restraint.held_set import FORWARD, LEFT, REARWARD, RIGHT, UP, HeldSet
from checker.units.arithmetic import NOT_STATED, Number

WAYS: dict[str, Vector] = {
    "forward": FORWARD,
    "rearward": REARWARD,
    "left": LEFT,
    "right": RIGHT,
    "up": UP,
}

ALONG_DECK = ("forward", "rearward", "left", "right")

_SOURCE = (
    "limit analysis of a rigid article by linear programme (statics): tension-only tiedowns that "
    "keep their limit, Coulomb friction, small displacements; no bounce of a rough road"
)
_LIMITS: dict[Limit, tuple[str, str]] = {
    "working load limit": ("", "tiedown.counted_working_load_limit"),
    "breaking strength": ("_at_breaking_strength", "tiedown.counted_breaking_strength"),
}


def _held_set(view: View, limit: Limit, *, friction: bool) -> tuple[HeldSet, int]:
    """What the article is held against in every row, and the first of the rows with such friction.

    At working load limit the rows come with friction, then once more without: together, because
    most loads are asked both. Kept for all facts that ask.
    """
    both = limit == "working load limit"

    def ask() -> HeldSet:
        if not both:
            return HeldSet(bodies(view, limit, friction=friction))
        return HeldSet(side_by_side([bodies(view, limit, friction=rubs) for rubs in (True, False)]))

    key = ("held", limit, both or friction, view.subject)
    found: HeldSet = view.facts.once(key, ask)
    return found, view.load.rows if both and not friction else 0


def _held_all_ways(view: View, limit: Limit, *, friction: bool) -> dict[str, Number]:
    """Largest acceleration each way in every row, all ways at once."""
    if view.load.tiedowns is None:
        return dict.fromkeys(WAYS, NOT_STATED)
    held_set, first = _held_set(view, limit, friction=friction)
    held = held_set.largest(list(WAYS.values()))
    own = held[:, first : first + view.load.rows]
    return {way: _number(each) for way, each in zip(WAYS, own, strict=True)}


def _number(rows: Array) -> Number:
    return rows if len(rows) > 1 else float(rows[0])


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
    """Least of the accelerations held in all directions around, at working load limit."""
    if view.load.tiedowns is None:
        return NOT_STATED
    held_set, _ = _held_set(view, "working load limit", friction=True)
    return _number(held_set.least_around(view.load.rows))


for _way in ALONG_DECK:

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
        return _number(_first_full(view, way))


def _stretched(view: View) -> StretchedTiedowns:
    """The article on its springs in every row; without friction, which springs do not know of."""
    key = ("stretched", view.subject)
    found: StretchedTiedowns = view.facts.once(
        key,
        lambda: StretchedTiedowns(
            bodies(view, "working load limit", friction=False), springs(view)
        ),
    )
    return found


def _first_full(view: View, way: str) -> Array:
    """Acceleration in g, in every row, at which the first tiedown is full."""
    # All ways along the deck together; upward is for reports alone.
    ways = ALONG_DECK if way in ALONG_DECK else (way,)

    def ask() -> Array:
        held = _held_all_ways(view, "working load limit", friction=False)
        most = np.empty((len(ways), view.load.rows))
        for index, each in enumerate(ways):
            most[index] = held[each]
        return _stretched(view).first_full([WAYS[each] for each in ways], most)

    every: Array = view.facts.once(("first full", ways, view.subject), ask)
    found: Array = every[ways.index(way)]
    return found


class Holding(Struct, frozen=True):
    """What holds one article against moving one way, in the load as stated.

    `bodies` are the article in every row, the load as stated first. `slick_g` is what holds it
    that way on a deck without friction.
    `shared` is how the tiedowns share it out as they stretch, at the acceleration `shared_g` at
    which the first of them is full; None where pre-tension or stretch is not stated.
    """

    article: Subject
    way: str
    friction: bool
    bodies: Bodies
    held: governs.Held
    slick_g: float
    shared_g: float | None
    shared: Settled | None


def holdings(facts: Facts, *, friction: bool = True) -> Sequence[Holding]:
    """For each article whose restraint can be worked out, what holds it each way and what gives.

    At working load limit, for the load as stated; kept for all reports that ask.
    """
    found: Sequence[Holding] = facts.once(
        ("holdings", friction), lambda: tuple(_holdings(facts, friction=friction))
    )
    return found


def _holdings(facts: Facts, *, friction: bool) -> Iterator[Holding]:
    if facts.load.tiedowns is None:
        return
    for subject in facts.subjects("article"):
        view = facts.view(subject)
        found = bodies(view, "working load limit", friction=friction)
        if not found.stated[0]:
            continue
        every = governs.largest_accelerations(found, list(WAYS.values()))
        for way, held in zip(WAYS, every, strict=True):
            slick = _held_all_ways(view, "working load limit", friction=False)[way]
            full = float(_first_full(view, way)[0])
            yield Holding(
                article=subject,
                way=way,
                friction=friction,
                bodies=found,
                held=held,
                slick_g=float(np.atleast_1d(slick)[0]),
                shared_g=None if np.isnan(full) else full,
                shared=None if np.isnan(full) else carried(view, way, full),
            )


def carried(view: View, way: str, acceleration_g: float) -> Settled:
    """How the tiedowns share out an acceleration one way, in every row."""
    rows = view.load.rows
    directions = np.repeat(np.array(WAYS[way])[:, np.newaxis], rows, axis=1)
    return _stretched(view).under(directions, np.full(rows, acceleration_g))
