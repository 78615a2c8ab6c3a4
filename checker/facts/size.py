"""How large the articles and the loaded trailer are, and what stands past the deck."""

from functools import reduce

import numpy as np

from checker.facts.articles import PLACE, along_deck
from checker.facts.catalogue import ANSWER, fact
from checker.facts.view import View
from checker.mechanics.quantities import quotient
from checker.units.arithmetic import NOT_STATED, Number, all_of, at_least, both

_WATER = 9806.65
"""Weight of water, N for each cubic metre."""


@fact(
    "article.weight_to_water",
    "number",
    "its weight as a share of water in a box of its size",
    each="article",
    fields=("articles.*.weight", "articles.*.length", "articles.*.width", "articles.*.height"),
    source="1,000 kg of water in a cubic metre",
)
def weight_to_water(view: View) -> Number:
    """Its weight divided by that of water filling a box of its length, width and height."""
    article = view.article
    box = article.length * article.width * article.height
    return quotient(article.weight, box * _WATER)


@fact(
    "article.rear_projection",
    "length",
    "how far it sticks out past the rear of the deck",
    each="article",
    fields=("trailer.deck.rear", "articles.*.placed.x", "articles.*.length"),
    sums=("max(article.placed.x + article.length - trailer.deck.rear, 0)",),
)
def rear_projection(view: View) -> Number:
    """How far the article reaches past the rear edge of the deck; zero when it does not."""
    end = view.article.placed.x + view.article.length
    return np.maximum(end - view.load.trailer.deck.rear, 0.0)


@fact(
    "article.side_projection",
    "length",
    "how far it sticks out past the side of the trailer",
    each="article",
    fields=("trailer.overall_width", "articles.*.placed.y", "articles.*.width"),
    sums=("max(abs(article.placed.y) + article.width / 2 - trailer.overall_width / 2, 0)",),
)
def side_projection(view: View) -> Number:
    """How far the article reaches past the trailer's widest point on its worse side, or zero."""
    reach = np.abs(view.article.placed.y) + view.article.width / 2
    return np.maximum(reach - view.load.trailer.overall_width / 2, 0.0)


@fact(
    "article.wheels_on_deck",
    ANSWER,
    "all its wheels or tracks stand on the deck",
    each="article",
    fields=(
        "trailer.deck.front",
        "trailer.deck.rear",
        "articles.*.axles.front.x",
        "articles.*.axles.rear.x",
        *PLACE,
    ),
    instead=("articles.*.length",),
)
def wheels_on_deck(view: View) -> Number:
    """Both axles, or both ends of the tracks, stand between the front and rear deck edges."""
    deck = view.load.trailer.deck
    ends = (view.article.axles.front.x, view.article.axles.rear.x)
    positions = [along_deck(view.article, end) for end in ends]
    inside = [both(at_least(x, deck.front), at_least(deck.rear, x)) for x in positions]
    return all_of(inside)


@fact(
    "article.wheels_within_deck_sides",
    ANSWER,
    "all its wheels or tracks stand within the sides of the deck",
    each="article",
    fields=(
        "trailer.deck.width",
        "articles.*.placed.y",
        "articles.*.axles.front.track",
        "articles.*.axles.rear.track",
    ),
    source="geometry; the middle of each wheel or track",
)
def wheels_within_deck_sides(view: View) -> Number:
    """The middle of each wheel or track is above the deck, on both sides."""
    article, half = view.article, view.load.trailer.deck.width / 2
    axles = (article.axles.front, article.axles.rear)
    return all_of(at_least(half, np.abs(article.placed.y) + each.track / 2) for each in axles)


@fact(
    "load.overall_height",
    "length",
    "height of the load above the road",
    fields=("trailer.deck.height",),
    uses=("article.height",),
    source="geometry",
)
def load_overall_height(view: View) -> Number:
    """Height of the highest article above the road; of an empty deck, the deck's own."""
    deck = view.load.trailer.deck.height
    heights = view.of_articles("article.height")
    return deck + _largest(view, heights)


@fact(
    "load.front_behind_ball",
    "length",
    "front of the load behind the ball",
    fields=("articles.*.placed.x",),
)
def load_front_behind_ball(view: View) -> Number:
    """How far behind the ball the foremost article begins."""
    fronts = [article.placed.x for article in view.load.articles]
    return reduce(np.minimum, fronts) if fronts else NOT_STATED


@fact(
    "load.half_width",
    "length",
    "reach of the load to its wider side",
    fields=("articles.*.placed.y", "articles.*.width"),
)
def load_half_width(view: View) -> Number:
    """How far from the trailer's centre line the load reaches on the side where it is farthest."""
    placed = [(each.placed.y, each.width) for each in view.load.articles]
    return _largest(view, [np.abs(y) + width / 2 for y, width in placed])


@fact("load.side_projection", "length", "side projection", uses=("article.side_projection",))
def load_side_projection(view: View) -> Number:
    """Largest side projection of any article; zero if the deck is empty."""
    return _largest(view, view.of_articles("article.side_projection"))


@fact("load.rear_projection", "length", "rear projection", uses=("article.rear_projection",))
def load_rear_projection(view: View) -> Number:
    """Largest rear projection of any article; zero if the deck is empty."""
    return _largest(view, view.of_articles("article.rear_projection"))


@fact(
    "load.overall_width",
    "length",
    "width of trailer and load",
    fields=("trailer.overall_width", "articles.*.placed.y", "articles.*.width"),
    source="geometry; the farthest reach left and the farthest reach right",
)
def load_overall_width(view: View) -> Number:
    """Width of the trailer with its load, each side as far as trailer or load reaches there."""
    side = view.load.trailer.overall_width / 2
    placed = [(each.placed.y, each.width / 2) for each in view.load.articles]
    left = _largest(view, [y + half for y, half in placed])
    right = _largest(view, [half - y for y, half in placed])
    return np.maximum(side, left) + np.maximum(side, right)


_RIG = (
    "tow_vehicle.overall_length",
    "tow_vehicle.ball_behind_body",
    "trailer.overall_length",
    "trailer.deck.rear",
)


@fact(
    "combination.overall_length",
    "length",
    "length of tow vehicle and trailer together",
    fields=_RIG,
    uses=("load.rear_projection",),
    source="geometry; the trailer's length counts from the ball, its coupler's nose included",
)
def combination_length(view: View) -> Number:
    """From the front bumper to the end of trailer or load."""
    load = view.load
    end_of_load = load.trailer.deck.rear + view["load.rear_projection"]
    to_ball = load.tow_vehicle.overall_length + load.tow_vehicle.ball_behind_body
    return to_ball + np.maximum(load.trailer.overall_length, end_of_load)


@fact(
    "trailer.drawbar_length",
    "length",
    "length of the drawbar",
    fields=("trailer.deck.front",),
    sums=("trailer.deck.front",),
    source="geometry; the trailer's body counts from the front edge of its deck",
)
def drawbar_length(view: View) -> Number:
    """From the coupler to the front edge of the deck."""
    return view.load.trailer.deck.front


def _largest(view: View, values: list[Number]) -> Number:
    """The largest figure of any article: zero if the deck is empty, NaN if that is not stated."""
    if not values:
        return 0.0 if view.load.deck_empty else NOT_STATED
    return reduce(np.maximum, values)
