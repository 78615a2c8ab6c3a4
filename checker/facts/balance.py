"""Trailer balance: gross weight, centre of gravity, tongue weight, axle and side loads."""

import numpy as np

from checker.arithmetic import NOT_STATED, Number, all_of
from checker.facts.catalogue import ANSWER, fact
from checker.facts.stated import add_stated
from checker.facts.view import View
from checker.mechanics import axles, balance

for _field in ("gvwr", "overall_width", "overall_length"):
    add_stated(f"trailer.{_field}", f"trailer.{_field}")


@fact(
    "cargo.weight",
    "load",
    "weight of everything on the deck",
    uses=("article.weight",),
)
def cargo_weight(view: View) -> Number:
    """Weight of all articles on the deck together."""
    weights = view.of_articles("article.weight")
    return sum(weights, start=0.0) if weights else NOT_STATED


@fact(
    "trailer.gross_weight",
    "load",
    "gross weight of the loaded trailer",
    fields=("trailer.empty_weight",),
    uses=("cargo.weight",),
)
def gross_weight(view: View) -> Number:
    """Empty trailer plus everything on it, the part on the coupling included."""
    return view.load.trailer.empty_weight + view["cargo.weight"]


@fact(
    "trailer.axle_group_position",
    "length",
    "axle group behind the ball",
    fields=("trailer.axles.*.x", "trailer.suspension"),
    instead=("trailer.deck_level",),
    source="statics; equal springs carry alike only under an equaliser or a level deck",
)
def axle_group_position(view: View) -> Number:
    """Where the axles carry as one: the axle, or the middle of axles that share equally.

    Independently sprung axles share equally only while the deck stands level.
    """
    trailer = view.load.trailer
    if not trailer.axles:
        return NOT_STATED
    middle = sum((axle.x for axle in trailer.axles), start=0.0) / len(trailer.axles)
    if len(trailer.axles) == 1 or trailer.suspension == "equalised":
        return middle
    if trailer.suspension == "independent":
        return np.where(np.equal(trailer.deck_level, 1), middle, np.nan)[()]
    return NOT_STATED


@fact(
    "hitch.tongue_weight",
    "load",
    "tongue weight",
    fields=("trailer.empty_tongue_weight",),
    uses=("trailer.axle_group_position", "article.weight", "article.cg_position"),
)
def tongue_weight(view: View) -> Number:
    """Weight the loaded trailer puts on the coupling, level and standing still."""
    weights = view.of_articles("article.weight")
    if not weights:
        return NOT_STATED
    positions = view.of_articles("article.cg_position")
    tongue, _ = balance.support_loads(weights, positions, view["trailer.axle_group_position"])
    return view.load.trailer.empty_tongue_weight + tongue


@fact(
    "hitch.tongue_share",
    "ratio",
    "share of the loaded trailer's weight on the tongue",
    uses=("hitch.tongue_weight", "trailer.gross_weight"),
)
def tongue_share(view: View) -> Number:
    """Tongue weight as a share of the whole loaded trailer's weight."""
    return view["hitch.tongue_weight"] / view["trailer.gross_weight"]


@fact(
    "trailer.axle_group_load",
    "load",
    "load on the trailer's axles",
    uses=("trailer.gross_weight", "hitch.tongue_weight"),
)
def axle_group_load(view: View) -> Number:
    """What all trailer axles carry together: gross weight less tongue weight."""
    return view["trailer.gross_weight"] - view["hitch.tongue_weight"]


@fact(
    "cargo.share_on_tongue",
    "ratio",
    "share of the cargo's own weight carried by the tongue",
    uses=("cargo.weight", "article.load_on_tongue"),
)
def cargo_share_on_tongue(view: View) -> Number:
    """Share of the articles' own weight that the tongue carries, the empty trailer left out."""
    loads = view.of_articles("article.load_on_tongue")
    return sum(loads, start=0.0) / view["cargo.weight"] if loads else NOT_STATED


@fact(
    "cargo.share_on_axles",
    "ratio",
    "share of the cargo's own weight carried by the axles",
    uses=("cargo.share_on_tongue",),
)
def cargo_share_on_axles(view: View) -> Number:
    """Share of the articles' own weight that the trailer's axles carry."""
    return 1.0 - view["cargo.share_on_tongue"]


@fact(
    "trailer.cg_position",
    "length",
    "centre of gravity behind the ball",
    uses=("trailer.axle_group_load", "hitch.tongue_weight", "trailer.axle_group_position"),
)
def cg_position(view: View) -> Number:
    """Centre of gravity of the loaded trailer, behind the ball."""
    return balance.cg_from_scales(
        view["trailer.axle_group_load"],
        view["hitch.tongue_weight"],
        view["trailer.axle_group_position"],
    )


@fact(
    "trailer.lateral_cg",
    "length",
    "centre of gravity left of the centre line",
    uses=("trailer.gross_weight", "article.weight", "article.cg_lateral"),
    source="statics; the empty trailer is taken as even left and right",
)
def lateral_cg(view: View) -> Number:
    """How far left of the trailer's centre line its loaded centre of gravity lies."""
    weights = view.of_articles("article.weight")
    places = view.of_articles("article.cg_lateral")
    moment = sum((w * y for w, y in zip(weights, places, strict=True)), start=0.0)
    return moment / view["trailer.gross_weight"]


@fact(
    "trailer.heavier_side_share",
    "ratio",
    "share of the axle load on the heavier side",
    fields=("trailer.track",),
    uses=("trailer.axle_group_load", "trailer.gross_weight", "trailer.lateral_cg"),
)
def heavier_side_share(view: View) -> Number:
    """The heavier side's part of what the axles carry; one half is even."""
    carried = view["trailer.axle_group_load"]
    left, right = balance.side_loads(
        carried,
        view["trailer.gross_weight"],
        view["trailer.lateral_cg"],
        view.load.trailer.track,
    )
    return np.maximum(left, right) / carried


@fact("trailer.axle_count", "count", "trailer axles", fields=("trailer.axles.*.x",))
def axle_count(view: View) -> Number:
    """How many axles the trailer has."""
    return float(len(view.load.trailer.axles)) if view.load.trailer.axles else NOT_STATED


@fact(
    "trailer.axle_rating_total",
    "load",
    "axle ratings together",
    fields=("trailer.axles.*.rating",),
)
def axle_rating_total(view: View) -> Number:
    """Ratings of all trailer axles added up."""
    ratings = [axle.rating for axle in view.load.trailer.axles]
    return sum(ratings, start=0.0) if ratings else NOT_STATED


@fact(
    "axle.load",
    "load",
    "load on the axle",
    each="axle",
    uses=("trailer.axle_group_load", "trailer.axle_group_position", "trailer.axle_count"),
)
def axle_load(view: View) -> Number:
    """What this trailer axle carries; the axles share equally or it is not known."""
    equal = axles.equalised_share(view["trailer.axle_group_load"], view["trailer.axle_count"])
    known = np.isfinite(view["trailer.axle_group_position"])
    return np.where(known, equal, np.nan)[()]


add_stated("axle.rating", "axle.rating", each="axle", label="axle rating")
add_stated("axle.tyre_rating", "axle.tyre_rating", each="axle", label="rating of one tyre")
add_stated("axle.has_brakes", "axle.brakes", each="axle", label="brakes on the axle")


@fact(
    "axle.tyre_load",
    "load",
    "load on one tyre",
    each="axle",
    fields=("trailer.axles.*.tyres",),
    uses=("axle.load",),
    source="statics; even left and right",
)
def tyre_load(view: View) -> Number:
    """What one tyre of this axle carries when both sides carry alike."""
    return view["axle.load"] / view.axle.tyres


@fact(
    "trailer.brakes_on_all_axles",
    ANSWER,
    "brakes act on every axle",
    fields=("trailer.axles.*.brakes",),
    source="as stated in the profile",
)
def brakes_on_all_axles(view: View) -> Number:
    """Brakes act on the wheels of every trailer axle."""
    axles_stated = view.load.trailer.axles
    return all_of(axle.brakes for axle in axles_stated) if axles_stated else NOT_STATED
