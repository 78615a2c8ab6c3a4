"""Formulas of national and international standards, solved for the share of weight that is held.

A standard asks whether lashings hold a stated share of the weight; these facts give the share they
hold, in g, and a rule compares it with its own coefficient. Each is named for its standard. The
factors of the formulas (conversion of friction, safety of friction lashings) are the standards' own
and are here with their clause; coefficients of acceleration belong to rules.

The standards differ in the friction they allow, in the rating they count and in what they leave
out. Figures of one standard say nothing about another's.
"""

from collections.abc import Callable, Iterator, Sequence

import numpy as np

from checker.facts.catalogue import fact
from checker.facts.lashing_strength import weakest
from checker.facts.tiedowns import LEAST_PULL, legs_of, point_on_trailer
from checker.facts.view import View
from checker.load.model import Tiedown
from checker.mechanics.standards import css_code, en_12195_1
from checker.mechanics.tiedown_geometry import angle_above_deck
from checker.units.arithmetic import (
    NOT_STATED,
    Number,
    all_of,
    any_of,
    at_least,
    more_than,
    negated,
)

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


GEOMETRY = (
    "articles.*.placed.x",
    "articles.*.placed.y",
    "articles.*.placed.facing",
    "tiedowns",
)
POINTS = (
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
    "tiedowns.*.over_wheel",
)
BLOCKS = ("articles.*.blocks.*.stops", "articles.*.blocks.*.strength")


def lashings(view: View) -> Sequence[View]:
    """The tiedowns of the article in view, winch lines left out."""
    return view.facts.once(("lashings", view.subject), lambda: list(_lashings(view)))


def _lashings(view: View) -> Iterator[View]:
    for subject in view.facts.subjects("tiedown"):
        seen = view.facts.view(subject)
        if seen.tiedown.article is view.article and seen.tiedown.device != "winch line":
            yield seen


def friction_under(view: View, way: str) -> Number:
    """Friction that counts this way: along the deck none under wheels that are free to roll."""
    friction = view["article.friction"]
    if way in ("left", "right"):
        return friction
    return friction * negated(view["article.free_to_roll"])


def blocking(view: View, way: str) -> Number:
    """Strength of the blocks that stop it from moving this way; zero where none is stated."""
    strengths = [block.strength for block in view.article.blocks if block.stops == way]
    return sum(strengths, start=0.0)


def _goes_round(tiedown: Tiedown) -> Number:
    """1 for a half-loop: both ends on one side, and round the article's far side."""
    middle = tiedown.article.placed.y
    anchors = (tiedown.anchor, tiedown.far_anchor)
    ends = [anchor.y - middle if anchor else NOT_STATED for anchor in anchors]
    passed = [point_on_trailer(tiedown.article, point)[1] - middle for point in tiedown.over]
    on_one_side = more_than(ends[0] * ends[1], 0.0)
    beyond = any_of(more_than(0.0, ends[0] * across) for across in passed)
    return all_of((negated(tiedown.over_wheel), on_one_side, beyond))


def pulls(view: View, way: str, *, loops: bool) -> Sequence[tuple[View, Number, Number]]:
    """Each lashing that may hold it this way, with its direction cosines.

    The first is against the movement, the second towards the deck; for a half-loop those of both
    its legs together.
    """
    key = ("pulls", view.subject, way, loops)
    return view.facts.once(key, lambda: list(_pulls(view, way, loops=loops)))


def _pulls(view: View, way: str, *, loops: bool) -> Iterator[tuple[View, Number, Number]]:
    axis, sign = WAYS[way]
    for seen in lashings(view):
        along, down = (
            sum((factor * leg[place] for leg in legs_of(seen)), start=0.0)
            for place, factor in ((axis, sign), (2, -1.0))
        )
        match seen.tiedown.path:
            case None:
                yield seen, NOT_STATED, NOT_STATED
            case "direct":
                yield seen, along, down
            case "same side" if loops and way in ("left", "right"):
                round_it = _goes_round(seen.tiedown)
                # What does not go round it pulls it nowhere.
                yield seen, np.where(np.equal(round_it, 0), 0.0, along * round_it)[()], down


def acting(view: View, way: str, *, loops: bool) -> Number:
    """How many lashings pull against moving this way."""
    return sum((at_least(along, LEAST_PULL) for _, along, _ in pulls(view, way, loops=loops)), 0.0)


def direct_sum(
    view: View, way: str, force: Callable[[View], Number], friction: Number, *, loops: bool = True
) -> Number:
    """What direct lashings and half-loops hold against sliding, in N: pull, and friction by it."""
    if view.load.tiedowns is None:
        return NOT_STATED
    held: Number = 0.0
    for seen, along, down in pulls(view, way, loops=loops):
        held = held + en_12195_1.direct_lashing_effect(
            _if_tiedown(seen, force(seen)), along, down, friction, FRICTION_CONVERSION
        )
    return held


def _capacity(seen: View) -> Number:
    return seen["tiedown.lashing_strength"]


def _if_tiedown(seen: View, strength: Number) -> Number:
    """The strength of a tiedown; NaN where its device is not stated, as it may be a winch line."""
    return NOT_STATED if seen.tiedown.device is None else strength


def _securing_load(seen: View) -> Number:
    """MSL by the CSS Code's table: a share of the breaking strength by kind of device."""
    kind = _CSS_DEVICES.get(seen.tiedown.device or "")
    if kind is None:
        return NOT_STATED
    return weakest(seen, css_code.maximum_securing_load(kind, seen.tiedown.breaking_strength))


def _drawn_to(seen: View) -> Number:
    """The tension an Australian tie-down counts with: as drawn or as marked, the higher."""
    tension = np.fmax(seen.tiedown.pretension, seen.tiedown.standard_tension)
    return _if_tiedown(seen, weakest(seen, tension))


def over_the_top(view: View) -> Iterator[View]:
    """Each lashing that goes over or around the article."""
    return (seen for seen in lashings(view) if seen.tiedown.path != "direct")


def hand_tension(seen: View) -> Number:
    """The tension in a lashing over the top: STF, or what a weaker part may carry."""
    return _if_tiedown(seen, seen["tiedown.lashing_tension"])


def _pressing(view: View, tension: Callable[[View], Number]) -> Iterator[tuple[Number, Number]]:
    """For each leg of a lashing over the article: half its tension, and the leg's angle.

    The standards assume two equal legs; where they are not equal, each presses at its own angle.
    """
    for seen in over_the_top(view):
        for leg in legs_of(seen):
            yield tension(seen) / 2, angle_above_deck(leg)


for _way in WAYS:

    @fact(
        f"article.en_12195_1_direct_sliding_{_way}",
        "gravities",
        f"held from sliding {_way} by direct lashing, EN 12195-1",
        each="article",
        fields=GEOMETRY,
        instead=(*POINTS, *BLOCKS),
        uses=(
            "article.weight",
            "article.friction",
            "article.free_to_roll",
            "tiedown.lashing_strength",
        ),
        source="EN 12195-1:2010 5.5.2 and 5.5.3.1, read in GDV's form 1b; blocking as in 5.3",
    )
    def en_direct_sliding(view: View, way: str = _way) -> Number:
        """Share of its weight held from sliding: friction at 0.75, lashings at LC, blocks."""
        friction = friction_under(view, way)
        held = direct_sum(view, way, _capacity, friction) + blocking(view, way)
        return FRICTION_CONVERSION * friction + held / view["article.weight"]

    @fact(
        f"article.en_12195_1_friction_sliding_{_way}",
        "gravities",
        f"held from sliding {_way} by friction lashing, EN 12195-1",
        each="article",
        fields=GEOMETRY,
        instead=(*POINTS, *BLOCKS),
        uses=(
            "article.weight",
            "article.friction",
            "article.free_to_roll",
            "tiedown.lashing_tension",
        ),
        source="EN 12195-1:2010 5.4.2, read in GDV's form 1a",
    )
    def en_friction_sliding(view: View, way: str = _way) -> Number:
        """Share of its weight held from sliding by its weight, lashings over it at STF, blocks."""
        if view.load.tiedowns is None:
            return NOT_STATED
        friction = friction_under(view, way)
        effects = [
            en_12195_1.friction_lashing_effect(friction, tension, angle)
            for tension, angle in _pressing(view, hand_tension)
        ]
        held = sum(effects, start=0.0) / FRICTION_LASHING_SAFETY[way] + blocking(view, way)
        return friction + held / view["article.weight"]

    @fact(
        f"article.australia_direct_{_way}",
        "gravities",
        f"held {_way} by direct restraint, Australian guide",
        each="article",
        fields=GEOMETRY,
        instead=POINTS,
        uses=("article.weight", "tiedown.lashing_strength"),
        source="NTC Load Restraint Guide 2018 pp. 281-282, through industry training and NHVR",
    )
    def australia_direct(view: View, way: str = _way) -> Number:
        """Share of its weight held by LC times angle effect, friction left out."""
        return direct_sum(view, way, _capacity, 0.0, loops=False) / view["article.weight"]

    @fact(
        f"article.australia_tie_down_{_way}",
        "gravities",
        f"held {_way} by tie-down, Australian guide",
        each="article",
        fields=GEOMETRY,
        instead=(*POINTS, "tiedowns.*.pretension"),
        uses=(
            "article.weight",
            "article.friction",
            "tiedown.standard_tension",
            "tiedown.fittings_lashing_capacity",
            "tiedown.points_lashing_capacity",
        ),
        source=(
            "NTC Load Restraint Guide, tie-down form, from memory; pre-tension as stated: the "
            "tension it was drawn to, or STF, the higher"
        ),
    )
    def australia_tie_down(view: View, way: str = _way) -> Number:
        """Share of its weight held by friction under its weight and lashings over it."""
        del way  # the same in every direction
        if view.load.tiedowns is None:
            return NOT_STATED
        friction = view["article.friction"]
        legs_of_each = 2.0
        pressed = sum(
            (legs_of_each * each * np.sin(angle) for each, angle in _pressing(view, _drawn_to)),
            start=0.0,
        )
        return friction * (1.0 + pressed / view["article.weight"])

    @fact(
        f"article.ctu_code_direct_{_way}",
        "gravities",
        f"held from sliding {_way} by direct lashing, CTU Code",
        each="article",
        fields=GEOMETRY,
        instead=(*POINTS, *BLOCKS),
        uses=(
            "article.weight",
            "article.friction",
            "article.free_to_roll",
            "tiedown.breaking_strength",
            "tiedown.fittings_lashing_capacity",
            "tiedown.points_lashing_capacity",
        ),
        source="CTU Code annex 7 balance with MSL of CSS Code annex 13 table 1, text seen",
    )
    def ctu_direct(view: View, way: str = _way) -> Number:
        """Share of its weight held from sliding: friction at 0.75, lashings at MSL, blocks."""
        friction = friction_under(view, way)
        held = direct_sum(view, way, _securing_load, friction) + blocking(view, way)
        return FRICTION_CONVERSION * friction + held / view["article.weight"]


@fact(
    "article.new_zealand_strength_ratio",
    "ratio",
    "rated strength of its lashings over its weight, New Zealand code",
    each="article",
    fields=("tiedowns", "tiedowns.*.device"),
    uses=(
        "article.weight",
        "tiedown.breaking_strength",
        "tiedown.fittings_lashing_capacity",
        "tiedown.points_lashing_capacity",
    ),
    source="Truck Loading Code 2014: chain and wire at breaking load, webbing and rope at half",
)
def new_zealand_strength_ratio(view: View) -> Number:
    """Rated strengths added up by the New Zealand rule of rating, over the article's weight.

    A lashing counts no more than its weakest part.
    """
    if view.load.tiedowns is None:
        return NOT_STATED
    rated: Number = 0.0
    for seen in lashings(view):
        device = seen.tiedown.device
        share = NOT_STATED if device is None else 1.0 if device in ("chain", "wire rope") else 0.5
        rated = rated + weakest(seen, share * seen.tiedown.breaking_strength)
    return rated / view["article.weight"]
