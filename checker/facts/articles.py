"""Each article on the deck: where its weight is, which way it faces, how far it projects."""

import numpy as np

from checker.facts.catalogue import ANSWER, COMMON_PRACTICE, STATED, fact
from checker.facts.stated import add_choice
from checker.facts.view import View
from checker.load.model import Article
from checker.mechanics import balance
from checker.units.arithmetic import NOT_STATED, Number, at_least, both, either, negated

_MACHINES = ("wheeled machine", "tracked machine")
_ASKED_WHETHER_IT_DRIVES = ("implement", "other")
for _name, _types, _meaning in (
    ("is_road_vehicle", ("road vehicle",), "It is a car, light truck or van."),
    ("is_tracked", ("tracked machine",), "It runs on tracks."),
    ("is_palletised", ("palletised goods",), "It is goods on a pallet."),
):
    add_choice(f"article.{_name}", "articles.*.type", _types, _meaning)
for _route in ("heavy machine", "road vehicle", "general"):
    add_choice(
        f"article.follows_{_route.replace(' ', '_')}_rule",
        "articles.*.securement_route",
        (_route,),
        f"The crew chose the {_route} rule for it, where the law leaves the choice.",
    )


def _is_one_of(article: Article, types: tuple[str, ...]) -> Number:
    """Its type is one of these, or its type leaves that open and it drives itself."""
    if article.type in _ASKED_WHETHER_IT_DRIVES:
        return article.self_propelled
    return NOT_STATED if article.type is None else float(article.type in types)


@fact(
    "article.is_machine",
    ANSWER,
    "it runs on wheels or tracks and is no road vehicle",
    each="article",
    fields=("articles.*.type",),
    instead=("articles.*.self_propelled",),
    source=STATED,
)
def is_machine(view: View) -> Number:
    """It runs on wheels or tracks and is no road vehicle.

    An implement, or what is typed other, is a machine where it drives itself.
    """
    return _is_one_of(view.article, _MACHINES)


@fact(
    "article.can_roll",
    ANSWER,
    "it has wheels or tracks and can roll",
    each="article",
    fields=("articles.*.type",),
    instead=("articles.*.self_propelled",),
    source=STATED,
)
def can_roll(view: View) -> Number:
    """It is a machine or a road vehicle, by its type or because it drives itself."""
    return _is_one_of(view.article, (*_MACHINES, "road vehicle"))


def along_deck(article: Article, from_own_front: Number) -> Number:
    """Distance behind the ball of a point given behind the article's own front end."""
    match article.placed.facing:
        case "forward":
            return article.placed.x + from_own_front
        case "rearward":
            return article.placed.x + article.length - from_own_front
    return NOT_STATED


_WEIGHED = (
    "articles.*.axles.front.x",
    "articles.*.axles.front.weight",
    "articles.*.axles.rear.x",
    "articles.*.axles.rear.weight",
)
PLACE = ("articles.*.placed.x", "articles.*.placed.facing")


@fact(
    "article.cg_from_front",
    "length",
    "its centre of gravity behind its own front end",
    each="article",
    fields=("articles.*.cg.x",),
    instead=_WEIGHED,
    sums=(
        "article.cg.x",
        "article.axles.front.x + (article.axles.rear.x - article.axles.front.x) * "
        "article.axles.rear.weight / (article.axles.front.weight + "
        "article.axles.rear.weight)",
    ),
)
def cg_from_front(view: View) -> Number:
    """Centre of gravity behind the article's own front end: stated, else from its axle weights."""
    article = view.article
    front, rear = article.axles.front, article.axles.rear
    weighed = front.x + balance.cg_from_axle_weights(front.weight, rear.weight, rear.x - front.x)
    return np.where(np.isnan(article.cg.x), weighed, article.cg.x)[()]


@fact(
    "article.cg_position",
    "length",
    "its centre of gravity behind the ball",
    each="article",
    fields=PLACE,
    instead=("articles.*.length",),
    uses=("article.cg_from_front",),
    sums=(
        "article.placed.x + article.cg_from_front",
        "article.placed.x + article.length - article.cg_from_front",
    ),
)
def cg_position(view: View) -> Number:
    """Centre of gravity of the article, behind the ball."""
    return along_deck(view.article, view["article.cg_from_front"])


@fact(
    "article.cg_lateral",
    "length",
    "its centre of gravity left of the trailer's centre line",
    each="article",
    fields=("articles.*.placed.y", "articles.*.placed.facing", "articles.*.cg.y"),
    sums=(
        "article.placed.y + article.cg.y",
        "article.placed.y - article.cg.y",
    ),
)
def cg_lateral(view: View) -> Number:
    """How far left of the trailer's centre line the article's centre of gravity lies."""
    article = view.article
    match article.placed.facing:
        case "forward":
            return article.placed.y + article.cg.y
        case "rearward":
            return article.placed.y - article.cg.y
    return NOT_STATED


@fact(
    "article.share_on_tongue",
    "ratio",
    "share of its own weight carried by the tongue",
    each="article",
    uses=("article.cg_position", "trailer.axle_group_position"),
    sums=("1 - article.cg_position / trailer.axle_group_position",),
)
def share_on_tongue(view: View) -> Number:
    """Share of the article's own weight that the tongue carries; below zero it lifts the tongue."""
    return balance.share_on_tongue(view["article.cg_position"], view["trailer.axle_group_position"])


@fact(
    "article.share_on_axles",
    "ratio",
    "share of its own weight carried by the axles",
    each="article",
    uses=("article.share_on_tongue",),
    sums=("1 - article.share_on_tongue",),
)
def share_on_axles(view: View) -> Number:
    """Share of the article's own weight that the trailer's axles carry."""
    return 1.0 - view["article.share_on_tongue"]


@fact(
    "article.load_on_tongue",
    "load",
    "its part of the tongue weight",
    each="article",
    uses=("article.weight", "article.share_on_tongue"),
    sums=("article.weight * article.share_on_tongue",),
)
def load_on_tongue(view: View) -> Number:
    """What the article adds to the tongue weight."""
    return view["article.weight"] * view["article.share_on_tongue"]


@fact(
    "article.heavy_end_toward_axles",
    ANSWER,
    "its heavy end is the one nearer the axles",
    each="article",
    fields=("articles.*.length",),
    uses=("article.cg_position", "article.middle_position", "trailer.axle_group_position"),
    source=COMMON_PRACTICE,
)
def heavy_end_toward_axles(view: View) -> Number:
    """The end nearer its centre of gravity is the end nearer the trailer's axles.

    Always yes for an article whose middle is over the axles, or whose weight is even.
    """
    middle = view["article.middle_position"]
    toward_axles = view["trailer.axle_group_position"] - middle
    toward_heavy_end = view["article.cg_position"] - middle
    return at_least(toward_axles * toward_heavy_end, 0.0)


@fact(
    "article.cg_off_middle",
    "length",
    "its centre of gravity from its middle",
    each="article",
    fields=("articles.*.length",),
    uses=("article.cg_from_front",),
    sums=("abs(article.cg_from_front - article.length / 2)",),
)
def cg_off_middle(view: View) -> Number:
    """How far, forward or rearward, the centre of gravity lies from the middle of the article."""
    return np.abs(view["article.cg_from_front"] - view.article.length / 2)


@fact(
    "article.middle_position",
    "length",
    "its middle behind the ball",
    each="article",
    fields=("articles.*.placed.x", "articles.*.length"),
    sums=("article.placed.x + article.length / 2",),
)
def middle_position(view: View) -> Number:
    """The article's middle, behind the ball."""
    return view.article.placed.x + view.article.length / 2


@fact(
    "article.front_gap",
    "length",
    "gap to the front edge of the deck",
    each="article",
    fields=("trailer.deck.front", "articles.*.placed.x"),
    sums=("article.placed.x - trailer.deck.front",),
)
def front_gap(view: View) -> Number:
    """Free deck from the article's front to the front edge or rail; negative if it overhangs."""
    return view.article.placed.x - view.load.trailer.deck.front


@fact(
    "article.held_against_rolling",
    ANSWER,
    "parking brake set or transmission in park",
    each="article",
    fields=("articles.*.parking_brake_set", "articles.*.in_park"),
    source=COMMON_PRACTICE,
)
def held_against_rolling(view: View) -> Number:
    """Its parking brake is set, or its transmission is in park."""
    return either(view.article.parking_brake_set, view.article.in_park)


@fact(
    "article.free_to_roll",
    ANSWER,
    "its wheels are free to roll",
    each="article",
    uses=("article.can_roll", "article.held_against_rolling", "article.chocked"),
    source=COMMON_PRACTICE,
)
def free_to_roll(view: View) -> Number:
    """It has wheels or tracks, and neither brake nor gearbox nor chocks hold them."""
    held = either(view["article.held_against_rolling"], view["article.chocked"])
    return both(view["article.can_roll"], negated(held))


@fact(
    "article.friction_along_deck",
    "number",
    "friction along the deck",
    each="article",
    uses=("article.friction", "article.can_roll", "article.held_against_rolling"),
    source="statics; wheels rub along the deck only while brake or gearbox holds them",
)
def friction_along_deck(view: View) -> Number:
    """Friction coefficient under it; zero where it stands on wheels that are free to roll."""
    rolls = both(view["article.can_roll"], negated(view["article.held_against_rolling"]))
    return view["article.friction"] * negated(rolls)


@fact(
    "article.articulation_held",
    ANSWER,
    "held against bending in the middle",
    each="article",
    fields=("articles.*.articulated", "articles.*.articulation_locked"),
    source=STATED,
)
def articulation_held(view: View) -> Number:
    """It has no articulation, or its articulation lock is fitted."""
    return either(negated(view.article.articulated), view.article.articulation_locked)
