"""Tipping by EN 12195-1: the share of its weight that an article is held against, in g.

Its own weight counts always. Directly lashed it is held at LC (5.5.3.2), under lashings over the
top by what normal hand force leaves in them, STF (5.4.3.1). Blocks are not counted.
"""

from functools import reduce

import numpy as np

from checker.facts.articles import along_deck
from checker.facts.catalogue import fact
from checker.facts.standards_sums import (
    FRICTION_LASHING_SAFETY,
    GEOMETRY,
    POINTS,
    WAYS,
    hand_tension,
    lashings,
    over_the_top,
)
from checker.facts.tiedowns import course, legs_of, point_on_trailer
from checker.facts.view import View
from checker.mechanics.quantities import quotient
from checker.mechanics.standards import en_12195_1
from checker.mechanics.tiedown_geometry import angle_above_deck
from checker.units.arithmetic import NOT_STATED, Number

_EDGES = ("articles.*.cg.z", "articles.*.type")
_EDGE_POINTS = (
    "articles.*.length",
    "articles.*.width",
    "articles.*.axles.front.x",
    "articles.*.axles.front.track",
    "articles.*.axles.rear.x",
    "articles.*.axles.rear.track",
)
_CENTRE = ("article.weight", "article.cg_position", "article.cg_lateral")


def _lever(view: View, way: str) -> Number:
    """Horizontal distance from the centre of gravity to the edge it would tip over."""
    article = view.article
    if article.type is None:
        return NOT_STATED
    machine = article.type in ("wheeled machine", "tracked machine", "road vehicle")
    front, rear = article.axles.front, article.axles.rear
    if way in ("forward", "rearward"):
        ends = [front.x, rear.x] if machine else [0.0, article.length]
        positions = [along_deck(article, end) for end in ends]
        middle = view["article.cg_position"]
        if way == "forward":
            return middle - reduce(np.minimum, positions)
        return reduce(np.maximum, positions) - middle
    across = np.minimum(front.track, rear.track) if machine else article.width
    offset = view["article.cg_lateral"] - article.placed.y
    return across / 2 + (-offset if way == "left" else offset)


def _edge(view: View, way: str) -> Number:
    """Where on its axis that edge lies."""
    axis, sign = WAYS[way]
    middle = (view["article.cg_position"], view["article.cg_lateral"])[axis]
    return middle - sign * _lever(view, way)


def _held(view: View, way: str, moment: Number) -> Number:
    """Share of its weight that its own weight and a moment hold from tipping."""
    weight, height = view["article.weight"], view.article.cg.z
    return quotient(weight * _lever(view, way) + moment, weight * height)


def _direct_moment(view: View, way: str) -> Number:
    """Moment of the direct lashings against tipping this way, at their LC."""
    axis, sign = WAYS[way]
    edge = _edge(view, way)
    moment: Number = 0.0
    for seen in lashings(view):
        tiedown = seen.tiedown
        if tiedown.path is None or (tiedown.path == "direct" and tiedown.attachment is None):
            return NOT_STATED
        if tiedown.path != "direct" or tiedown.attachment is None:
            continue
        (pull,) = legs_of(seen)
        attached_at = point_on_trailer(tiedown.article, tiedown.attachment)
        plan = np.arctan2(np.abs(pull[1 - axis]), sign * pull[axis])
        strength = NOT_STATED if tiedown.device is None else seen["tiedown.lashing_strength"]
        moment = moment + en_12195_1.direct_lashing_righting_moment(
            strength,
            angle_above_deck(pull),
            plan,
            sign * (attached_at[axis] - edge),
            attached_at[2],
        )
    return moment


def _friction_moment(view: View, way: str, *, half_capacity: bool) -> Number:
    """Moment of the lashings over the top, less their safety factor."""
    axis, sign = WAYS[way]
    edge = _edge(view, way)
    moment: Number = 0.0
    for seen in over_the_top(view):
        stations = course(seen.tiedown)
        tension = seen["tiedown.lashing_strength"] / 2 if half_capacity else hand_tension(seen)
        legs_of_it = zip((stations[1], stations[-2]), legs_of(seen), strict=True)
        own = sum(
            (
                en_12195_1.leg_righting_moment(
                    tension, -leg[2], sign * leg[axis], sign * (at[axis] - edge), at[2]
                )
                for at, leg in legs_of_it
            ),
            start=0.0,
        )
        moment = moment + np.maximum(0.0, own)
    return moment / FRICTION_LASHING_SAFETY[way]


for _way in WAYS:

    @fact(
        f"article.en_12195_1_direct_tilting_{_way}",
        "gravities",
        f"held from tipping {_way} by direct lashing, EN 12195-1",
        each="article",
        fields=(*_EDGES, *GEOMETRY),
        instead=(*POINTS, *_EDGE_POINTS),
        uses=(*_CENTRE, "tiedown.lashing_strength"),
        source="EN 12195-1:2010 5.5.3.2, moments read in GDV 4.1.2",
    )
    def en_direct_tilting(view: View, way: str = _way) -> Number:
        """Share of its weight held from tipping: its own weight and direct lashings at LC."""
        if view.load.tiedowns is None:
            return NOT_STATED
        return _held(view, way, _direct_moment(view, way))

    @fact(
        f"article.en_12195_1_friction_tilting_{_way}",
        "gravities",
        f"held from tipping {_way} by lashings over the top, EN 12195-1",
        each="article",
        fields=(*_EDGES, *GEOMETRY),
        instead=(*POINTS, *_EDGE_POINTS),
        uses=(*_CENTRE, "tiedown.lashing_tension"),
        source="EN 12195-1:2010 5.4.3.1, derived; matches memory of the standard",
    )
    def en_friction_tilting(view: View, way: str = _way) -> Number:
        """Share of its weight held from tipping: its own weight, lashings over it at STF."""
        if view.load.tiedowns is None:
            return NOT_STATED
        return _held(view, way, _friction_moment(view, way, half_capacity=False))


for _way in ("left", "right"):

    @fact(
        f"article.en_12195_1_friction_tilting_at_half_capacity_{_way}",
        "gravities",
        f"held from tipping {_way} by lashings over the top at half of LC, EN 12195-1",
        each="article",
        fields=(*_EDGES, *GEOMETRY),
        instead=(*POINTS, *_EDGE_POINTS),
        uses=(*_CENTRE, "tiedown.lashing_strength"),
        source="EN 12195-1:2010 5.4.3.1, second case sideways: the IRU's draft of 2009, text seen",
    )
    def en_friction_tilting_at_half_capacity(view: View, way: str = _way) -> Number:
        """Share of its weight held from tipping: its own weight, lashings over it at half of LC."""
        if view.load.tiedowns is None:
            return NOT_STATED
        return _held(view, way, _friction_moment(view, way, half_capacity=True))


for _way in WAYS:

    @fact(
        f"article.stands_{_way}",
        "gravities",
        f"held from tipping {_way} by its own weight",
        each="article",
        fields=(*_EDGES, "articles.*.placed.x", "articles.*.placed.y", "articles.*.placed.facing"),
        instead=_EDGE_POINTS,
        uses=("article.cg_position", "article.cg_lateral"),
        source="EN 12195-1:2010 5.2, from memory; statics",
    )
    def stands(view: View, way: str = _way) -> Number:
        """Share of its weight at which it tips by itself: lever over height of its middle."""
        return quotient(_lever(view, way), view.article.cg.z)
