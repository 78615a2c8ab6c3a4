"""Trailer balance: gross weight, centre of gravity, tongue weight, axle and side loads."""

from functools import reduce

import numpy as np

from checker.facts.catalogue import ANSWER, STATED, fact
from checker.facts.view import View
from checker.mechanics import axles, balance
from checker.mechanics.quantities import quotient
from checker.units.arithmetic import NOT_STATED, Number, all_of


@fact(
    "cargo.on_deck",
    ANSWER,
    "something stands on the deck",
    fields=("articles",),
    source=STATED,
)
def cargo_on_deck(view: View) -> Number:
    """The list of articles is not empty."""
    load = view.load
    return 1.0 if load.articles else 0.0 if load.deck_empty else NOT_STATED


@fact(
    "cargo.weight",
    "load",
    "weight of everything on the deck",
    uses=("article.weight",),
    sums=("sum(article.weight)",),
)
def cargo_weight(view: View) -> Number:
    """Weight of all articles on the deck together."""
    weights = view.of_articles("article.weight")
    return sum(weights, start=0.0) if weights or view.load.deck_empty else NOT_STATED


@fact(
    "trailer.gross_weight",
    "load",
    "gross weight of the loaded trailer",
    fields=("trailer.empty_weight",),
    uses=("cargo.weight",),
    sums=("trailer.empty_weight + cargo.weight",),
)
def gross_weight(view: View) -> Number:
    """Weight of the empty trailer and everything on it, including the part on the coupling."""
    return view.load.trailer.empty_weight + view["cargo.weight"]


@fact(
    "trailer.axle_group_position",
    "length",
    "axle group behind the ball",
    fields=("trailer.axles.*.x", "trailer.suspension"),
    instead=("trailer.axles.*.spring_rate",),
    source="statics; an equaliser shares evenly, independent springs by their rates",
    sums=("sum(axle.x) / trailer.axle_count",),
)
def axle_group_position(view: View) -> Number:
    """Distance behind the ball of the axles as one support, at the present deck angle.

    The axle; the middle of axles under an equaliser; for independently sprung axles the mean of
    their positions, each weighted by its spring rate.
    """
    trailer = view.load.trailer
    positions = [axle.x for axle in trailer.axles]
    if len(positions) == 1 or trailer.suspension == "equalised":
        return sum(positions, start=0.0) / len(positions) if positions else NOT_STATED
    if trailer.suspension == "independent" and positions:
        return axles.independent_axle_group(positions, _spring_rates(view))
    return NOT_STATED


def _spring_rates(view: View) -> list[Number]:
    return [axle.spring_rate for axle in view.load.trailer.axles]


def _is_independent(view: View) -> bool:
    """True if the deck angle decides what each axle carries."""
    return view.load.trailer.suspension == "independent" and len(view.load.trailer.axles) > 1


@fact(
    "trailer.moment_about_ball",
    "moment",
    "moment of the loaded trailer's weight about the ball",
    fields=("trailer.empty_weight", "trailer.empty_tongue_weight"),
    uses=("article.weight", "article.cg_position", "trailer.axle_group_position"),
    source="statics; the empty trailer's tongue weight is taken as measured level",
    sums=(
        "(trailer.empty_weight - trailer.empty_tongue_weight) * "
        "trailer.axle_group_position + sum(article.weight * article.cg_position)",
    ),
)
def moment_about_ball(view: View) -> Number:
    """Weight of everything times its distance behind the ball."""
    trailer = view.load.trailer
    weights = view.of_articles("article.weight")
    positions = view.of_articles("article.cg_position")
    if not weights and not view.load.deck_empty:
        return NOT_STATED
    on_axles = trailer.empty_weight - trailer.empty_tongue_weight
    empty = on_axles * view["trailer.axle_group_position"]
    return sum((w * x for w, x in zip(weights, positions, strict=True)), start=empty)


def _on_springs(view: View) -> tuple[tuple[Number, ...], Number]:
    """Axle loads of independently sprung axles and the tongue weight, at the stated ball height."""
    trailer = view.load.trailer
    gross, positions = view["trailer.gross_weight"], [axle.x for axle in trailer.axles]
    rates = _spring_rates(view)
    cg = quotient(view["trailer.moment_about_ball"], gross)
    level = axles.level_deck_ball_lowering(gross, cg, positions, rates)
    below_level = np.where(np.equal(trailer.deck_level, 1), 0.0, trailer.ball_below_level)[()]
    return axles.independent_axle_loads(gross, cg, positions, rates, level + below_level)


_SPRINGS = (
    "trailer.axles.*.x",
    "trailer.axles.*.spring_rate",
    "trailer.deck_level",
    "trailer.ball_below_level",
)


@fact(
    "hitch.tongue_weight",
    "load",
    "tongue weight",
    fields=("trailer.suspension",),
    instead=_SPRINGS,
    uses=("trailer.gross_weight", "trailer.moment_about_ball", "trailer.axle_group_position"),
    source="statics; independently sprung axles as a rigid trailer on springs",
    sums=("trailer.gross_weight - trailer.moment_about_ball / trailer.axle_group_position",),
)
def tongue_weight(view: View) -> Number:
    """Weight the loaded trailer puts on the coupling, standing still, without weight distribution.

    On axles that share equally it does not depend on the deck angle. On independently sprung ones a
    low ball takes weight off the tongue and puts it on the front axle.
    """
    if _is_independent(view):
        _, tongue = _on_springs(view)
        return tongue
    return view["trailer.gross_weight"] - quotient(
        view["trailer.moment_about_ball"], view["trailer.axle_group_position"]
    )


@fact(
    "hitch.tongue_share",
    "ratio",
    "share of the loaded trailer's weight on the tongue",
    uses=("hitch.tongue_weight", "trailer.gross_weight"),
    sums=("hitch.tongue_weight / trailer.gross_weight",),
)
def tongue_share(view: View) -> Number:
    """Tongue weight as a share of the whole loaded trailer's weight."""
    return quotient(view["hitch.tongue_weight"], view["trailer.gross_weight"])


@fact(
    "trailer.axle_group_load",
    "load",
    "load on the trailer's axles",
    uses=("trailer.gross_weight", "hitch.tongue_weight", "hitch.load_moved_to_trailer"),
    sums=("trailer.gross_weight - (hitch.tongue_weight - hitch.load_moved_to_trailer)",),
)
def axle_group_load(view: View) -> Number:
    """What all trailer axles carry together: gross weight less what the tow vehicle carries."""
    on_tow_vehicle = view["hitch.tongue_weight"] - view["hitch.load_moved_to_trailer"]
    return view["trailer.gross_weight"] - on_tow_vehicle


@fact(
    "cargo.share_on_tongue",
    "ratio",
    "share of the cargo's own weight carried by the tongue",
    uses=("cargo.weight", "article.load_on_tongue"),
    sums=("sum(article.load_on_tongue) / cargo.weight",),
)
def cargo_share_on_tongue(view: View) -> Number:
    """Share of the articles' own weight that the tongue carries, the empty trailer left out."""
    loads = view.of_articles("article.load_on_tongue")
    return quotient(sum(loads, start=0.0), view["cargo.weight"]) if loads else NOT_STATED


@fact(
    "cargo.share_on_axles",
    "ratio",
    "share of the cargo's own weight carried by the axles",
    uses=("cargo.share_on_tongue",),
    sums=("1 - cargo.share_on_tongue",),
)
def cargo_share_on_axles(view: View) -> Number:
    """Share of the articles' own weight that the trailer's axles carry."""
    return 1.0 - view["cargo.share_on_tongue"]


@fact(
    "trailer.cg_position",
    "length",
    "centre of gravity behind the ball",
    uses=("trailer.moment_about_ball", "trailer.gross_weight"),
    sums=("trailer.moment_about_ball / trailer.gross_weight",),
)
def cg_position(view: View) -> Number:
    """Centre of gravity of the loaded trailer, behind the ball."""
    return quotient(view["trailer.moment_about_ball"], view["trailer.gross_weight"])


@fact(
    "trailer.cg_height",
    "length",
    "height of the loaded trailer's centre of gravity",
    fields=("trailer.empty_weight", "trailer.empty_cg_height", "trailer.deck.height"),
    uses=("article.weight", "article.cg_height", "trailer.gross_weight"),
    sums=(
        "(trailer.empty_weight * trailer.empty_cg_height + sum(article.weight * article.cg_height "
        "+ article.weight * trailer.deck.height)) / trailer.gross_weight",
    ),
)
def cg_height(view: View) -> Number:
    """Height of the loaded trailer's centre of gravity above the road."""
    trailer = view.load.trailer
    weights = view.of_articles("article.weight")
    heights = [trailer.deck.height + z for z in view.of_articles("article.cg_height")]
    empty = trailer.empty_weight * trailer.empty_cg_height
    moment = sum((w * z for w, z in zip(weights, heights, strict=True)), start=empty)
    return quotient(moment, view["trailer.gross_weight"])


@fact(
    "trailer.lateral_cg",
    "length",
    "centre of gravity left of the centre line",
    uses=("trailer.gross_weight", "article.weight", "article.cg_lateral"),
    source="statics; the empty trailer is taken as even left and right",
    sums=("sum(article.weight * article.cg_lateral) / trailer.gross_weight",),
)
def lateral_cg(view: View) -> Number:
    """How far left of the trailer's centre line its loaded centre of gravity lies."""
    weights = view.of_articles("article.weight")
    offsets = view.of_articles("article.cg_lateral")
    moment = sum((w * y for w, y in zip(weights, offsets, strict=True)), start=0.0)
    return quotient(moment, view["trailer.gross_weight"])


@fact(
    "trailer.heavier_side_share",
    "ratio",
    "share of the axle load on the heavier side",
    fields=("trailer.track",),
    uses=("trailer.axle_group_load", "trailer.gross_weight", "trailer.lateral_cg"),
    sums=(
        "1 / 2 + abs(trailer.gross_weight * trailer.lateral_cg / trailer.track) / "
        "trailer.axle_group_load",
    ),
)
def heavier_side_share(view: View) -> Number:
    """The heavier side's share of what the axles carry; one half is even."""
    carried = view["trailer.axle_group_load"]
    left, right = balance.side_loads(
        carried,
        view["trailer.gross_weight"],
        view["trailer.lateral_cg"],
        view.load.trailer.track,
    )
    return quotient(np.maximum(left, right), carried)


@fact("trailer.axle_count", "count", "trailer axles", fields=("trailer.axles.*.x",))
def axle_count(view: View) -> Number:
    """How many axles the trailer has."""
    return float(len(view.load.trailer.axles)) if view.load.trailer.axles else NOT_STATED


@fact("trailer.axle_spread", "length", "first to last axle", fields=("trailer.axles.*.x",))
def axle_spread(view: View) -> Number:
    """From the first trailer axle to the last; zero for one axle."""
    positions = [axle.x for axle in view.load.trailer.axles]
    if not positions:
        return NOT_STATED
    return reduce(np.maximum, positions) - reduce(np.minimum, positions)


@fact(
    "trailer.axle_rating_total",
    "load",
    "axle ratings together",
    fields=("trailer.axles.*.rating",),
    sums=("sum(axle.rating)",),
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
    fields=("trailer.suspension",),
    instead=_SPRINGS,
    uses=(
        "trailer.axle_group_load",
        "trailer.axle_count",
        "trailer.gross_weight",
        "trailer.moment_about_ball",
        "hitch.load_moved_to_trailer",
    ),
    source="statics; equal shares under an equaliser, else by the springs",
    sums=("trailer.axle_group_load / trailer.axle_count",),
)
def axle_load(view: View) -> Number:
    """What this trailer axle carries, shared equally or by its spring.

    The load that a weight-distributing hitch moves to independently sprung axles presses all
    springs of the level frame down alike, so each axle takes its part by its spring rate.
    """
    if not _is_independent(view):
        return axles.equalised_share(view["trailer.axle_group_load"], view["trailer.axle_count"])
    loads, _ = _on_springs(view)
    own = loads[view.load.trailer.axles.index(view.axle)]
    share = quotient(view.axle.spring_rate, sum(_spring_rates(view), start=0.0))
    return own + view["hitch.load_moved_to_trailer"] * share


@fact(
    "axle.tyre_load",
    "load",
    "load on one tyre",
    each="axle",
    fields=("trailer.axles.*.tyres",),
    uses=("axle.load",),
    source="statics; even left and right",
    sums=("axle.load / axle.tyres",),
)
def tyre_load(view: View) -> Number:
    """What one tyre of this axle carries if both sides carry the same."""
    return quotient(view["axle.load"], view.axle.tyres)


@fact(
    "axle.heavier_tyre_load",
    "load",
    "load on one tyre of the heavier side",
    each="axle",
    uses=("axle.tyre_load", "trailer.heavier_side_share"),
    source="statics; the sideways share of all axles together",
    sums=("2 * trailer.heavier_side_share * axle.tyre_load",),
)
def heavier_tyre_load(view: View) -> Number:
    """What one tyre of this axle carries on the side that carries more."""
    return 2.0 * view["trailer.heavier_side_share"] * view["axle.tyre_load"]


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
