"""Ways for the articles of a load to stand on the deck."""

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from checker.load.model import Article, Load

Numbers = NDArray[np.float64]
Indices = NDArray[np.intp]

FACINGS = ("forward", "rearward")

_MOST_PLACES = 20_000
_HAIR = 1e-6
"""In m, far below what a tape can read."""


class Places(NamedTuple):
    """Ways for all articles to stand, one a row: arrays (rows, articles)."""

    facings: Indices
    x: Numbers
    y: Numbers

    @property
    def size(self) -> int:
        """How many rows there are."""
        return len(self.x)

    def take(self, rows: Any) -> "Places":
        """Some of the rows."""
        return Places(self.facings[rows], self.x[rows], self.y[rows])

    def then(self, other: "Places") -> "Places":
        """These rows, then the others."""
        return Places(*(np.concatenate(pair) for pair in zip(self, other, strict=True)))


def places_today(load: Load) -> Places | None:
    """How everything stands as stated; None where that is not stated of all."""
    if not all(each.placed.facing for each in load.articles):
        return None
    x = np.array([[float(each.placed.x) for each in load.articles]])
    y = np.array([[float(each.placed.y) for each in load.articles]])
    if np.isnan(x + y).any():
        return None
    facings = [[FACINGS.index(each.placed.facing or "") for each in load.articles]]
    return Places(np.array(facings, dtype=np.intp), x, y)


def places_of(load: Load, step: float, clearance: float = 0.0) -> Places:
    """Ways to stand on the deck, first as it stands today, by steps of that many metres.

    Each article is at least `clearance` from the ends and sides of the deck, if it has the room,
    and two articles twice that from each other.
    One article is tried at every step along and across and facing both ways. Several keep their
    place across, and the step along the deck is as small as the number of ways allows.
    """
    today = places_today(load)
    rows: list[Places] = [] if today is None else [today]
    single = len(load.articles) == 1
    along = step
    while True:
        ranges = [_range(load, each, along, clearance) for each in load.articles]
        if single or np.prod([2.0 * len(each) for each in ranges]) <= _MOST_PLACES:
            break
        along *= 2
    across = [
        _across(load, each, step, clearance) if single else np.array([_stated_or_zero(each)])
        for each in load.articles
    ]
    axes = [
        axis
        for facing_x_y in zip(ranges, across, strict=True)
        for axis in (np.arange(len(FACINGS)), *facing_x_y)
    ]
    grid = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, len(axes))
    rows.append(Places(grid[:, 0::3].astype(np.intp), grid[:, 1::3], grid[:, 2::3]))
    found = rows[0] if len(rows) == 1 else rows[0].then(rows[1])
    return found.take(~overlapping(load, found, clearance))


def places_around(load: Load, step: float, place: Places, clearance: float = 0.0) -> Places:
    """Ways to stand close to one way: each article a few steps along or across, or turned."""
    rows = [place]
    for article in range(len(load.articles)):
        for steps in (-8, -4, -2, -1, 1, 2, 4, 8):
            along = place.x.copy()
            along[0, article] = np.round(along[0, article] / step + steps) * step
            across = place.y.copy()
            across[0, article] = np.round(across[0, article] / step + steps) * step
            rows += [place._replace(x=along), place._replace(y=across)]
        turned = place.facings.copy()
        turned[0, article] = 1 - turned[0, article]
        rows.append(place._replace(facings=turned))
    found = rows[0]
    for each in rows[1:]:
        found = found.then(each)
    good = ~overlapping(load, found, clearance) & on_deck(load, found, clearance)
    good[0] = True
    return found.take(good)


def on_deck(load: Load, places: Places, clearance: float = 0.0) -> NDArray[np.bool_]:
    """True in rows in which every article stands within the deck's ends and sides."""
    deck, found = load.trailer.deck, np.ones(places.size, dtype=bool)
    for number, each in enumerate(load.articles):
        free = max((float(deck.width) - float(each.width)) / 2 - clearance, 0.0) + _HAIR
        front, rear = float(deck.front) + clearance, float(deck.rear) - clearance
        found &= places.x[:, number] >= front - _HAIR
        found &= places.x[:, number] + float(each.length) <= rear + _HAIR
        found &= np.abs(places.y[:, number]) <= free
    return found


def overlapping(load: Load, places: Places, clearance: float = 0.0) -> NDArray[np.bool_]:
    """True in rows in which two articles could meet when each misses its place by that much."""
    found = np.zeros(places.size, dtype=bool)
    for one, first in enumerate(load.articles):
        for other, second in enumerate(load.articles[:one]):
            ends = np.minimum(
                places.x[:, one] + first.length, places.x[:, other] + second.length
            ) - np.maximum(places.x[:, one], places.x[:, other])
            gap = np.abs(places.y[:, one] - places.y[:, other])
            beside = gap < (first.width + second.width) / 2 + 2 * clearance
            found |= (ends > -2 * clearance) & beside
    return found


def _range(load: Load, article: Article, step: float, clearance: float) -> Numbers:
    """Whole steps behind the ball at which the article stands within the deck's ends."""
    deck = load.trailer.deck
    first = np.ceil((float(deck.front) + clearance) / step - 1e-9)
    last = np.floor((float(deck.rear) - float(article.length) - clearance) / step + 1e-9)
    return np.arange(first, max(last, first) + 1) * step


def _across(load: Load, article: Article, step: float, clearance: float) -> Numbers:
    """Whole steps to the left at which it stands within the deck's sides; 0 if it is wider."""
    free = max((float(load.trailer.deck.width) - float(article.width)) / 2 - clearance, 0.0)
    steps = np.floor(free / step + 1e-9)
    return np.arange(-steps, steps + 1) * step


def _stated_or_zero(article: Article) -> float:
    across = float(article.placed.y)
    return 0.0 if np.isnan(across) else across
