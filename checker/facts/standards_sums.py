"""Formulas of national and international standards, solved for the share of weight that is held.

A standard asks whether lashings hold a stated share of the weight; these facts give the share they
hold, in g, and a rule compares it with its own coefficient. Each is named for its standard. The
factors of the formulas (conversion of friction, safety of friction lashings) are the standards' own
and are here with their clause; coefficients of acceleration belong to rules.

The standards differ in the friction they allow, in the rating they count and in what they leave
out. Figures of one standard say nothing about another's.
"""

from collections.abc import Callable, Iterator
from functools import reduce

import numpy as np

from checker.facts.articles import along_deck
from checker.facts.catalogue import fact
from checker.facts.tiedowns import legs, point_on_trailer
from checker.facts.view import View
from checker.mechanics.quantities import quotient
from checker.mechanics.standards import css_code, en_12195_1
from checker.mechanics.tiedown_geometry import Direction, angle_above_deck
from checker.units.arithmetic import NOT_STATED, Number

FRICTION_CONVERSION = 0.75
"""On the friction under directly lashed cargo, EN 12195-1:2010 and CTU Code annex 7."""

FRICTION_LASHING_SAFETY = {"forward": 1.25, "rearward": 1.1, "left": 1.1, "right": 1.1}
"""Safety factor of friction lashings, EN 12195-1:2010 5.4.2, read in GDV's forms."""

WAYS = {"forward": (0, 1.0), "rearward": (0, -1.0), "left": (1, -1.0), "right": (1, 1.0)}
"""Axis and sign in which a lashing pulls that holds the article from moving this way."""

_ROPES = ("manila", "polypropylene", "polyester", "nylon", "double braided nylon")
_CSS_DEVICES = {
    "webbing": "web lashing",
    "chain": "chain",
    "wire rope": "wire rope, re-usable",
    "steel strapping": "steel band, single use",
    **{f"{rope} rope": "fibre rope" for rope in _ROPES},
}


_GEOMETRY = (
    "articles.*.placed.x",
    "articles.*.placed.y",
    "articles.*.placed.facing",
    "tiedowns",
)
_POINTS = (
    "articles.*.length",
    "articles.*.attachments.*.x",
    "articles.*.attachments.*.y",
    "articles.*.attachments.*.z",
    "trailer.anchors.*.x",
    "trailer.anchors.*.y",
    "trailer.anchors.*.z",
    "tiedowns.*.anchor",
    "tiedowns.*.far_anchor",
    "tiedowns.*.attachment",
    "tiedowns.*.over",
    "tiedowns.*.path",
    "tiedowns.*.device",
)
_BLOCKS = ("articles.*.blocks.*.stops", "articles.*.blocks.*.strength")
_EDGES = ("articles.*.cg.z", "articles.*.type")
_EDGE_POINTS = (
    "articles.*.width",
    "articles.*.axles.front.x",
    "articles.*.axles.front.track",
    "articles.*.axles.rear.x",
    "articles.*.axles.rear.track",
)


def _lashings(view: View) -> Iterator[View]:
    """Each tiedown of the article in view, winch lines left out."""
    for subject in view.facts.subjects("tiedown"):
        seen = view.facts.view(subject)
        if seen.tiedown.article is view.article and seen.tiedown.device != "winch line":
            yield seen


def _direction(seen: View) -> Direction:
    """Unit direction from attachment to anchor of a direct tiedown."""
    (direction,) = legs(seen.tiedown)
    return direction


def _blocking(view: View, way: str) -> Number:
    """Strength of the blocks that stop it from moving this way; zero where none is stated."""
    strengths = [block.strength for block in view.article.blocks if block.stops == way]
    return sum(strengths, start=0.0)


def _direct_sum(view: View, way: str, force: Callable[[View], Number], friction: Number) -> Number:
    """What direct lashings hold against sliding, in N: their pull, and friction from it."""
    if view.load.tiedowns is None or any(seen.tiedown.path is None for seen in _lashings(view)):
        return NOT_STATED
    axis, sign = WAYS[way]
    held: Number = 0.0
    for seen in _lashings(view):
        if seen.tiedown.path != "direct":
            continue
        pull = _direction(seen)
        held = held + en_12195_1.direct_lashing_effect(
            force(seen), sign * pull[axis], -pull[2], friction, FRICTION_CONVERSION
        )
    return held


def _capacity(seen: View) -> Number:
    return _if_tiedown(seen, seen.tiedown.lashing_capacity)


def _if_tiedown(seen: View, strength: Number) -> Number:
    """The strength of a tiedown; NaN where its device is not stated, as it may be a winch line."""
    return NOT_STATED if seen.tiedown.device is None else strength


def _securing_load(seen: View) -> Number:
    """MSL by the CSS Code's table: a share of the breaking strength by kind of device."""
    kind = _CSS_DEVICES.get(seen.tiedown.device or "")
    if kind is None:
        return NOT_STATED
    return css_code.maximum_securing_load(kind, seen.tiedown.breaking_strength)


def _over_the_top(view: View) -> Iterator[tuple[Number, Number]]:
    """For each leg of a lashing over the article: half the hand tension, and its angle.

    The standards assume two equal legs; where they are not equal, each presses at its own angle.
    """
    for seen in _lashings(view):
        if seen.tiedown.path != "direct":
            for leg in legs(seen.tiedown):
                tension = _if_tiedown(seen, seen.tiedown.standard_tension)
                yield tension / 2, angle_above_deck(leg)


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


def _righting(view: View, way: str) -> Number:
    """Moment of the direct lashings against tipping this way, at their capacity."""
    axis, sign = WAYS[way]
    lever = _lever(view, way)
    middle = (view["article.cg_position"], view["article.cg_lateral"])[axis]
    edge = middle - sign * lever
    moment: Number = 0.0
    for seen in _lashings(view):
        tiedown = seen.tiedown
        if tiedown.path is None or (tiedown.path == "direct" and tiedown.attachment is None):
            return NOT_STATED
        if tiedown.path != "direct" or tiedown.attachment is None:
            continue
        pull = _direction(seen)
        attached_at = point_on_trailer(tiedown.article, tiedown.attachment)
        plan = np.arctan2(np.abs(pull[1 - axis]), sign * pull[axis])
        moment = moment + en_12195_1.direct_lashing_righting_moment(
            _capacity(seen),
            angle_above_deck(pull),
            plan,
            sign * (attached_at[axis] - edge),
            attached_at[2],
        )
    return moment


for _way in WAYS:

    @fact(
        f"article.en_12195_1_direct_sliding_{_way}",
        "gravities",
        f"held from sliding {_way} by direct lashing, EN 12195-1",
        each="article",
        fields=("articles.*.friction", *_GEOMETRY),
        instead=(*_POINTS, *_BLOCKS),
        uses=("article.weight", "tiedown.lashing_capacity"),
        source="EN 12195-1:2010 5.5.2 and 5.5.3.1, read in GDV's form 1b; blocking as in 5.3",
    )
    def en_direct_sliding(view: View, way: str = _way) -> Number:
        """Share of its weight held from sliding: friction at 0.75, lashings at LC, blocks."""
        friction = view.article.friction
        held = _direct_sum(view, way, _capacity, friction) + _blocking(view, way)
        return FRICTION_CONVERSION * friction + held / view["article.weight"]

    @fact(
        f"article.en_12195_1_direct_tilting_{_way}",
        "gravities",
        f"held from tipping {_way} by direct lashing, EN 12195-1",
        each="article",
        fields=(*_EDGES, *_GEOMETRY),
        instead=(*_POINTS, *_EDGE_POINTS),
        uses=(
            "article.weight",
            "article.cg_position",
            "article.cg_lateral",
            "tiedown.lashing_capacity",
        ),
        source="EN 12195-1:2010 5.5.3.2, moments read in GDV 4.1.2",
    )
    def en_direct_tilting(view: View, way: str = _way) -> Number:
        """Share of its weight held from tipping: its own weight and lashings at LC."""
        if view.load.tiedowns is None:
            return NOT_STATED
        weight, height = view["article.weight"], view.article.cg.z
        return quotient(weight * _lever(view, way) + _righting(view, way), weight * height)

    @fact(
        f"article.en_12195_1_friction_sliding_{_way}",
        "gravities",
        f"held from sliding {_way} by friction lashing, EN 12195-1",
        each="article",
        fields=("articles.*.friction", *_GEOMETRY),
        instead=(*_POINTS, *_BLOCKS),
        uses=("article.weight", "tiedown.standard_tension"),
        source="EN 12195-1:2010 5.4.2, read in GDV's form 1a",
    )
    def en_friction_sliding(view: View, way: str = _way) -> Number:
        """Share of its weight held from sliding by its weight, lashings over it at STF, blocks."""
        if view.load.tiedowns is None:
            return NOT_STATED
        friction = view.article.friction
        effects = [
            en_12195_1.friction_lashing_effect(friction, tension, angle)
            for tension, angle in _over_the_top(view)
        ]
        held = sum(effects, start=0.0) / FRICTION_LASHING_SAFETY[way] + _blocking(view, way)
        return friction + held / view["article.weight"]

    @fact(
        f"article.australia_direct_{_way}",
        "gravities",
        f"held {_way} by direct restraint, Australian guide",
        each="article",
        fields=_GEOMETRY,
        instead=_POINTS,
        uses=("article.weight", "tiedown.lashing_capacity"),
        source="NTC Load Restraint Guide 2018 pp. 281-282, through industry training and NHVR",
    )
    def australia_direct(view: View, way: str = _way) -> Number:
        """Share of its weight held by LC times angle effect, friction left out."""
        return _direct_sum(view, way, _capacity, 0.0) / view["article.weight"]

    @fact(
        f"article.australia_tie_down_{_way}",
        "gravities",
        f"held {_way} by tie-down, Australian guide",
        each="article",
        fields=("articles.*.friction", *_GEOMETRY),
        instead=_POINTS,
        uses=("article.weight", "tiedown.standard_tension"),
        source="NTC Load Restraint Guide, tie-down form, from memory; pre-tension as stated (STF)",
    )
    def australia_tie_down(view: View, way: str = _way) -> Number:
        """Share of its weight held by friction under its weight and lashings over it."""
        del way  # the same in every direction
        if view.load.tiedowns is None:
            return NOT_STATED
        friction = view.article.friction
        legs_of_each = 2.0
        pressed = sum(
            (legs_of_each * tension * np.sin(angle) for tension, angle in _over_the_top(view)),
            start=0.0,
        )
        return friction * (1.0 + pressed / view["article.weight"])

    @fact(
        f"article.ctu_code_direct_{_way}",
        "gravities",
        f"held from sliding {_way} by direct lashing, CTU Code",
        each="article",
        fields=("articles.*.friction", *_GEOMETRY),
        instead=(*_POINTS, *_BLOCKS),
        uses=("article.weight", "tiedown.breaking_strength"),
        source="CTU Code annex 7 balance with MSL of CSS Code annex 13 table 1, text seen",
    )
    def ctu_direct(view: View, way: str = _way) -> Number:
        """Share of its weight held from sliding: friction at 0.75, lashings at MSL, blocks."""
        friction = view.article.friction
        held = _direct_sum(view, way, _securing_load, friction) + _blocking(view, way)
        return FRICTION_CONVERSION * friction + held / view["article.weight"]


@fact(
    "article.new_zealand_strength_ratio",
    "ratio",
    "rated strength of its lashings over its weight, New Zealand code",
    each="article",
    fields=("tiedowns", "tiedowns.*.device"),
    uses=("article.weight", "tiedown.breaking_strength"),
    source="Truck Loading Code 2014: chain and wire at breaking load, webbing and rope at half",
)
def new_zealand_strength_ratio(view: View) -> Number:
    """Rated strengths added up by the New Zealand rule of rating, over the article's weight."""
    if view.load.tiedowns is None:
        return NOT_STATED
    rated: Number = 0.0
    for seen in _lashings(view):
        device = seen.tiedown.device
        share = NOT_STATED if device is None else 1.0 if device in ("chain", "wire rope") else 0.5
        rated = rated + share * seen.tiedown.breaking_strength
    return rated / view["article.weight"]
