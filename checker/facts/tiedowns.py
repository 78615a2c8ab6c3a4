"""Each tiedown: where it hooks, how it runs, and which ways it pulls."""

import math
from functools import reduce
from itertools import pairwise
from typing import TypeAlias

import numpy as np

from checker.facts.articles import along_deck
from checker.facts.catalogue import ANSWER, STATED, fact
from checker.facts.stated import add_choice
from checker.facts.view import View
from checker.load.model import Anchor, Article, Attachment, Tiedown
from checker.mechanics import tiedown_geometry
from checker.units.arithmetic import (
    NOT_STATED,
    Number,
    all_of,
    any_of,
    at_least,
    both,
    either,
    negated,
)

LEAST_PULL = math.sin(math.radians(3))
"""A tiedown within 3 degrees of square to a direction does not count as pulling that way."""

_AXES = {
    "forward": (0, -1.0),
    "rearward": (0, 1.0),
    "left": (1, 1.0),
    "right": (1, -1.0),
    "down": (2, -1.0),
}
WAYS = tuple(_AXES)


for _name, _field, _words, _meaning in (
    ("is_direct", "path", ("direct",), "It runs from an anchor to the article."),
    (
        "is_steel_strapping",
        "device",
        ("steel strapping",),
        "It is steel strapping, which is not tightened on the road.",
    ),
    ("is_chain", "device", ("chain",), "It is a chain."),
    ("is_webbing", "device", ("webbing",), "It is a strap of webbing."),
    ("is_wire_rope", "device", ("wire rope",), "It is a wire rope."),
    (
        "is_winch_line",
        "device",
        ("winch line",),
        "It is the line of the loading winch, which is no tiedown.",
    ),
):
    add_choice(f"tiedown.{_name}", f"tiedowns.*.{_field}", _words, _meaning)

_ENDS = ("tiedowns.*.anchor", "tiedowns.*.attachment")
_COURSE = ("tiedowns.*.over", "tiedowns.*.far_anchor")
_GEOMETRY = (
    "trailer.anchors.*.x",
    "trailer.anchors.*.y",
    "trailer.anchors.*.z",
    "articles.*.attachments.*.x",
    "articles.*.attachments.*.y",
    "articles.*.attachments.*.z",
    "articles.*.placed.x",
    "articles.*.placed.y",
    "articles.*.placed.facing",
    "articles.*.length",
)


@fact(
    "tiedown.hooks_an_accessory",
    ANSWER,
    "it hooks to an accessory",
    each="tiedown",
    fields=("articles.*.attachments.*.part", "tiedowns.*.attachment"),
    instead=("tiedowns.*.path",),
    source=STATED,
)
def hooks_an_accessory(view: View) -> Number:
    """On the article it hooks to an accessory, such as a guard or rack, and not to the frame."""
    if view.tiedown.path in ("same side", "other side"):
        return 0.0
    point = view.tiedown.attachment
    part = point.part if point else None
    return NOT_STATED if part is None else float(part in ("accessory", "other"))


@fact(
    "tiedown.hooks_a_tie_down_point",
    ANSWER,
    "it hooks to a point made for tying down",
    each="tiedown",
    fields=("articles.*.attachments.*.part", "tiedowns.*.attachment"),
    instead=("tiedowns.*.path",),
    source=STATED,
)
def hooks_a_tie_down_point(view: View) -> Number:
    """On the article it hooks to a point its maker made for tying down."""
    if view.tiedown.path in ("same side", "other side"):
        return 0.0
    point = view.tiedown.attachment
    part = point.part if point else None
    return NOT_STATED if part is None else float(part == "tie-down point")


@fact(
    "tiedown.anchor_encloses_hook",
    ANSWER,
    "its anchor encloses the hook",
    each="tiedown",
    fields=(
        "trailer.anchors.*.encloses_hook",
        "tiedowns.*.path",
        "tiedowns.*.anchor",
        "tiedowns.*.far_anchor",
    ),
    source=STATED,
)
def anchor_encloses_hook(view: View) -> Number:
    """On the trailer its hooks sit inside a closed shape, such as a D-ring or stake pocket."""
    tiedown = view.tiedown
    anchors = [tiedown.anchor] if tiedown.path == "direct" else [tiedown.anchor, tiedown.far_anchor]
    hooks = all_of(anchor.encloses_hook if anchor else NOT_STATED for anchor in anchors)
    return both(hooks, NOT_STATED) if tiedown.path is None else hooks


@fact(
    "tiedown.length",
    "length",
    "length along its course",
    each="tiedown",
    fields=(*_ENDS, *_COURSE, *_GEOMETRY, "tiedowns.*.path"),
    source="geometry",
)
def length(view: View) -> Number:
    """Length from anchor to attachment, or over the article from anchor to anchor."""
    stations = course(view.tiedown)
    spans = (tiedown_geometry.direction_cosines(*pair)[1] for pair in pairwise(stations))
    return sum(spans, start=0.0)


@fact(
    "tiedown.angle_above_deck",
    "angle",
    "angle above the deck",
    each="tiedown",
    fields=(*_ENDS, *_COURSE, *_GEOMETRY, "tiedowns.*.path"),
    source="geometry",
)
def angle_above_deck(view: View) -> Number:
    """How steeply it rises from its anchor, at its flatter leg: 0 flat on the deck, 90 upright."""
    return reduce(np.minimum, map(tiedown_geometry.angle_above_deck, legs_of(view)))


def point_on_trailer(article: Article, point: Attachment) -> tuple[Number, Number, Number]:
    """The position on the trailer of a point of the article, as placed."""
    turned = -1.0 if article.placed.facing == "rearward" else 1.0
    across = article.placed.y + turned * point.y
    return along_deck(article, point.x), across, point.z


for _way in WAYS:

    @fact(
        f"tiedown.share_{_way}",
        "ratio",
        f"share of its tension that pulls {_way}",
        each="tiedown",
        fields=(*_ENDS, *_COURSE, *_GEOMETRY, "tiedowns.*.path"),
        source="geometry; the direction cosine, for each leg of one over the article",
    )
    def share(view: View, way: str = _way) -> Number:
        """Part of a unit of tension that pulls the article this way.

        A wanted force this way needs that force divided by this share as tension. A tiedown over
        the article pulls with both legs, so its share downward can reach two.
        """
        axis, sign = _AXES[way]
        directions = legs_of(view)
        along = sum((sign * direction[axis] for direction in directions), start=0.0)
        return np.maximum(along, 0.0)


def _pull_of_wheel_strap(view: View, way: str) -> Number:
    """Whether a leg of a strap over a wheel pulls that way; NaN for what slides over an article."""
    if view.tiedown.path != "same side":
        return NOT_STATED
    axis, sign = _AXES[way]
    pulls = any_of(at_least(sign * leg[axis], LEAST_PULL) for leg in legs_of(view))
    return np.where(np.equal(view.tiedown.over_wheel, 1), pulls, NOT_STATED)[()]


def _pull(view: View, way: str) -> Number:
    """Whether the tiedown pulls the article that way: as measured, else as stated by eye."""
    tiedown = view.tiedown
    if tiedown.path in ("same side", "other side"):
        measured: Number = 1.0 if way == "down" else _pull_of_wheel_strap(view, way)
    else:
        measured = at_least(view[f"tiedown.share_{way}"], LEAST_PULL)
    stated = NOT_STATED if tiedown.pulls is None else float(way in tiedown.pulls)
    return np.where(np.isnan(measured), stated, measured)[()]


for _way in WAYS:

    @fact(
        f"tiedown.pulls_{_way}",
        ANSWER,
        f"it pulls {_way}",
        each="tiedown",
        fields=("tiedowns.*.path",),
        instead=("tiedowns.*.pulls", "tiedowns.*.over_wheel"),
        uses=(f"tiedown.share_{_way}",),
        source="geometry, 3 degrees or more out of square; else as stated by eye",
    )
    def pulls(view: View, way: str = _way) -> Number:
        """Whether the tiedown pulls the article this way, and so holds it from going the other."""
        return _pull(view, way)


for _limit_name, _limit_label in (
    ("working_load_limit", "working load limit"),
    ("breaking_strength", "breaking strength"),
):

    @fact(
        f"tiedown.counted_{_limit_name}",
        "load",
        f"{_limit_label} as far as it can be counted on",
        each="tiedown",
        fields=("tiedowns.*.path", "tiedowns.*.pretension"),
        uses=(f"tiedown.{_limit_name}",),
        source="statics; a tiedown that does not tighten as the load moves keeps its pre-tension",
    )
    def counted(view: View, limit: str = f"tiedown.{_limit_name}") -> Number:
        """The limit of a direct tiedown; of one over the article at most its pre-tension.

        A tiedown over the article hardly tightens when the article starts to move, so only its
        pre-tension presses the article on the deck.
        """
        match view.tiedown.path:
            case None:
                return NOT_STATED
            case "direct":
                return view[limit]
        return np.minimum(view[limit], view.tiedown.pretension)


@fact(
    "tiedown.rated_pull_down",
    "load",
    "downward part of its working load limit",
    each="tiedown",
    fields=(*_ENDS, *_COURSE, *_GEOMETRY, "tiedowns.*.path"),
    uses=("tiedown.working_load_limit",),
    source="statics; the vertical part of the limit, engineering and not part of any legal sum",
)
def rated_pull_down(view: View) -> Number:
    """How hard the tiedown at its working load limit presses the article on the deck.

    One over the article presses with both its legs, the one down to each anchor.
    """
    steep = [direction[2] for direction in legs_of(view)]
    down = sum((np.maximum(-up, 0.0) for up in steep), start=0.0)
    return view["tiedown.working_load_limit"] * down


Place: TypeAlias = tuple[Number, Number, Number]


def course(tiedown: Tiedown) -> list[Place]:
    """The points a tiedown runs through, from its anchor on; NaN for points not stated."""
    unknown = (NOT_STATED, NOT_STATED, NOT_STATED)

    def anchor_place(anchor: Anchor | None) -> Place:
        return (anchor.x, anchor.y, anchor.z) if anchor else unknown

    if tiedown.path is None:
        # Where it runs between its anchors decides which way it pulls.
        return [anchor_place(tiedown.anchor), unknown, anchor_place(tiedown.far_anchor)]
    points = [tiedown.attachment] if tiedown.path == "direct" else [*tiedown.over]
    places = [point_on_trailer(tiedown.article, point) for point in points if point]
    stations = [anchor_place(tiedown.anchor), *(places or [unknown])]
    if tiedown.path == "direct":
        return stations
    return [*stations, anchor_place(tiedown.far_anchor)]


def legs_of(view: View) -> list[tiedown_geometry.Direction]:
    """Unit directions in which the tiedown in view pulls the article: toward each of its anchors.

    Calculated once, because many facts use them.
    """
    return view.facts.once(("legs", view.subject), lambda: _legs(view.tiedown))


def _legs(tiedown: Tiedown) -> list[tiedown_geometry.Direction]:
    stations = course(tiedown)
    ends = [(stations[1], stations[0])]
    if tiedown.path != "direct":
        ends.append((stations[-2], stations[-1]))
    return [tiedown_geometry.direction_cosines(start, end)[0] for start, end in ends]


@fact(
    "tiedown.at_front",
    ANSWER,
    "it holds the article's front",
    each="tiedown",
    fields=(
        "tiedowns.*.attachment",
        "tiedowns.*.over",
        "articles.*.attachments.*.x",
        "articles.*.length",
        "articles.*.placed.facing",
    ),
    source="geometry",
)
def at_front(view: View) -> Number:
    """It is attached to, or first passes over, the half of the article nearer the coupler."""
    tiedown, article = view.tiedown, view.article
    point = tiedown.attachment or (tiedown.over[0] if tiedown.over else None)
    if point is None or article.placed.facing is None:
        return NOT_STATED
    in_own_front = at_least(article.length / 2, point.x)
    return negated(in_own_front) if article.placed.facing == "rearward" else in_own_front


@fact(
    "tiedown.at_left",
    ANSWER,
    "it holds the article's left",
    each="tiedown",
    fields=(
        "tiedowns.*.attachment",
        "tiedowns.*.over",
        "articles.*.attachments.*.y",
        "articles.*.placed.facing",
    ),
    instead=("tiedowns.*.anchor", "trailer.anchors.*.y", "articles.*.placed.y"),
    source="geometry",
)
def at_left(view: View) -> Number:
    """It is attached to, or first passes over, the article's side that is the trailer's left.

    A point in the article's middle, such as a drawbar eye, belongs to both sides: there the side
    on which the anchor lies counts.
    """
    tiedown, article = view.tiedown, view.article
    point = tiedown.attachment or (tiedown.over[0] if tiedown.over else None)
    if point is None or article.placed.facing is None:
        return NOT_STATED
    across = -point.y if article.placed.facing == "rearward" else point.y
    anchor_across = tiedown.anchor.y - article.placed.y if tiedown.anchor else NOT_STATED
    return at_least(np.where(np.equal(across, 0.0), anchor_across, across)[()], 0.0)


@fact(
    "tiedown.anchor_at_same_corner",
    ANSWER,
    "its anchor is at the same corner of the trailer",
    each="tiedown",
    fields=(*_ENDS, "trailer.anchors.*.x", "trailer.anchors.*.y", "articles.*.placed.y"),
    uses=("article.middle_position", "tiedown.at_front", "tiedown.at_left"),
    source="geometry",
)
def anchor_at_same_corner(view: View) -> Number:
    """Its anchor lies at the corner of the deck that belongs to the article's corner it holds."""
    anchor = view.tiedown.anchor
    if anchor is None:
        return NOT_STATED
    ahead = at_least(view["article.middle_position"], anchor.x)
    left = at_least(anchor.y, view.article.placed.y)
    same_end = either(
        both(ahead, view["tiedown.at_front"]), _neither(ahead, view["tiedown.at_front"])
    )
    same_side = either(both(left, view["tiedown.at_left"]), _neither(left, view["tiedown.at_left"]))
    return both(same_end, same_side)


def _neither(left: Number, right: Number) -> Number:
    return both(negated(left), negated(right))
