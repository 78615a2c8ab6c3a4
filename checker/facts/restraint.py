"""How much braking, swerving and bouncing each article is held against, in g.

The assumption behind every figure: a rigid article, tiedowns that only pull and keep their limit
while others fill up, Coulomb friction, small displacements, a deck and anchors that do not give.
It is a lower bound of limit analysis and says nothing of the bounce of a rough road. Webbing is
not ductile at its breaking strength, so the figures at working load limit are the ones to use.
A tiedown over the article counts with its pre-tension only: it does not tighten by itself.
"""

import math
from collections.abc import Iterator, Mapping, Sequence

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
from checker.mechanics.restraint.arrays import Array, Vector
from checker.mechanics.restraint.bodies import Bodies
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

_AS_STATED = np.zeros(1, dtype=np.int64)
"""The row of the load as stated; the others are corners of its tolerances, or other hauls."""

ALONG_DECK = ("forward", "rearward", "left", "right")

_SOURCE = (
    "limit analysis of a rigid article by linear programme (statics): tension-only tiedowns that "
    "keep their limit, Coulomb friction, small displacements; no bounce of a rough road"
)
_LIMITS: dict[Limit, tuple[str, str]] = {
    "working load limit": ("", "tiedown.counted_working_load_limit"),
    "breaking strength": ("_at_breaking_strength", "tiedown.counted_breaking_strength"),
}


def _bodies(view: View, limit: Limit) -> Bodies:
    """The article in every row, as rigid bodies."""
    found: Bodies = view.facts.once(("bodies", limit, view.subject), lambda: bodies(view, limit))
    return found


def article_as_stated(view: View) -> Bodies:
    """The article of the load as stated, at working load limit: a single row."""
    return _bodies(view, "working load limit").take(_AS_STATED)


def _held_set(view: View, limit: Limit, *, friction: bool) -> tuple[HeldSet, int]:
    """The held set of the article in every row, and the index of the first row with such friction.

    At working load limit the rows with friction are followed by the same rows without it, because
    most loads need both and one batch is faster than two.
    """
    has_both = limit == "working load limit"

    def held_set() -> HeldSet:
        found = _bodies(view, limit)
        if has_both:
            return HeldSet(found.then_frictionless(), turned=found.count)
        return HeldSet(found if friction else found.frictionless(), turned=0)

    key = ("held", limit, has_both or friction, view.subject)
    found: HeldSet = view.facts.once(key, held_set)
    return found, view.load.rows if has_both and not friction else 0


def _held_all_ways(view: View, limit: Limit, *, friction: bool) -> dict[str, Number]:
    """Largest acceleration each way in every row, all ways at once."""
    if view.load.tiedowns is None:
        return dict.fromkeys(WAYS, NOT_STATED)

    def all_ways() -> dict[str, Number]:
        held_set, first = _held_set(view, limit, friction=friction)
        held = held_set.largest(list(WAYS.values()))
        own = held[:, first : first + view.load.rows]
        return {way: _number(each) for way, each in zip(WAYS, own, strict=True)}

    key = ("held all ways", limit, friction, view.subject)
    found: dict[str, Number] = view.facts.once(key, all_ways)
    return found


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
    "article.holds_up_at_lashing_capacity",
    "gravities",
    "held against moving up, by lashing capacity",
    each="article",
    fields=BODY_FIELDS,
    instead=BODY_INSTEAD,
    uses=(*BODY_FACTS, "tiedown.counted_lashing_capacity", "article.friction_along_deck"),
    source=_SOURCE,
)
def holds_up_at_lashing_capacity(view: View) -> Number:
    """Largest acceleration upward that its tiedowns hold at LC, those over it at STF."""
    return _held_all_ways(view, "lashing capacity", friction=True)["up"]


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
    return _number(held_set.least_around)


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


def _first_full(view: View, way: str) -> Array:
    """Acceleration in g, in every row, at which the first tiedown is full."""

    def all_along_deck() -> Array:
        held = _held_all_ways(view, "working load limit", friction=False)
        most = np.empty((len(ALONG_DECK), view.load.rows))
        for index, each in enumerate(ALONG_DECK):
            most[index] = held[each]
        stretched = StretchedTiedowns(_bodies(view, "working load limit"), springs(view))
        return stretched.first_full([WAYS[each] for each in ALONG_DECK], most)

    every: Array = view.facts.once(("first full", view.subject), all_along_deck)
    found: Array = every[ALONG_DECK.index(way)]
    return found


class Holding(Struct, frozen=True):
    """What holds one article against moving one way, in the load as stated.

    `body`: the article, the only row of its arrays. `slick_g`: what holds it that way on a deck
    without friction. `shared`: how the tiedowns share the load as they stretch, at `shared_g`, the
    acceleration at which the first is full; both None if pre-tension or stretch is not stated.
    """

    article: Subject
    way: str
    friction: bool
    body: Bodies
    held: governs.Held
    slick_g: float
    shared_g: float | None
    shared: Settled | None


def holdings(facts: Facts, *, friction: bool = True) -> Sequence[Holding]:
    """For each article with stated restraint, what holds it each way and what limits that.

    At working load limit, for the load as stated; computed once for all reports.
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
        stated = article_as_stated(view)
        body = stated if friction else stated.frictionless()
        if not body.stated[0]:
            continue
        held_slick = _held_all_ways(view, "working load limit", friction=False)
        slick = np.array([np.atleast_1d(each)[:1] for each in held_slick.values()])
        stretched = StretchedTiedowns(stated, springs(view).take(_AS_STATED))
        full = stretched.first_full(list(WAYS.values()), slick)[:, 0].tolist()
        every = governs.held_with_forces(body, list(WAYS.values()))
        known = {way: each for way, each in zip(WAYS, full, strict=True) if not math.isnan(each)}
        shared = carried(view, known)
        for index, (way, held) in enumerate(zip(WAYS, every, strict=True)):
            yield Holding(
                article=subject,
                way=way,
                friction=friction,
                body=body,
                held=held,
                slick_g=float(slick[index, 0]),
                shared_g=known.get(way),
                shared=shared.get(way),
            )


def carried(view: View, asked: Mapping[str, float]) -> Mapping[str, Settled]:
    """How the tiedowns of the load as stated share an acceleration in g each way; single rows."""
    if not asked:
        return {}
    rows = np.zeros(len(asked), dtype=np.int64)
    body = _bodies(view, "working load limit").take(rows)
    stretched = StretchedTiedowns(body, springs(view).take(rows))
    found = stretched.under([WAYS[way] for way in asked], np.array([*asked.values()]))
    return {way: found.take(np.array([row])) for row, way in enumerate(asked)}
