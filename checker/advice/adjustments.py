"""What a crew can change about a load, one thing at a time.

The position of an article, how much of it there is, the strength of its tiedowns, and single
ratings of a part that can be exchanged.
"""

from collections.abc import Callable, Iterator

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from checker.documents.problems import DataPath
from checker.load.build import Profile, field_path
from checker.load.model import Load
from checker.mechanics.quantities import POUND_FORCE

Values = dict[DataPath, NDArray[np.float64]]

_STEPS = 100
_LIGHTEST_SHARE = 0.2
_STRONGEST_FACTOR = 12.0
_GOODS = ("palletised goods", "other")
"""Articles of which a crew can carry less."""
_LIGHTEST_MACHINE = 0.9
"""Share of a machine that stays when its tank is emptied and what is hung on it is taken off."""
_STRONGEST = 15800 * POUND_FORCE
"""Working load limit of a 5/8 in grade 70 chain (49 CFR 393.108), the strongest in use."""


class Adjustment(Struct, frozen=True):
    """One thing to change: candidate values, nearest to today's first, and the fields they set.

    Nobody can go further from today's value than to `furthest`; the candidates do, to show room.
    """

    kind: str
    article: str
    fields: frozenset[str]
    candidates: tuple[NDArray[np.float64], ...]
    values: Callable[[NDArray[np.float64]], Values]
    furthest: float | None = None

    @property
    def today(self) -> float:
        """The value as stated."""
        return float(self.candidates[0][0])

    def within_reach(self, candidates: NDArray[np.float64]) -> NDArray[np.float64]:
        """The candidates that somebody can go to, and the furthest of all values."""
        if self.furthest is None:
            return candidates
        near = candidates[abs(candidates - self.today) < abs(self.furthest - self.today)]
        last = candidates[-1] if len(near) == len(candidates) else self.furthest
        return np.append(near, last)


def adjustments(profile: Profile) -> Iterator[Adjustment]:
    """Every adjustment that can be made to this load, article by article."""
    load = profile.stated
    for index in range(len(load.articles)):
        yield from _move(load, index)
        yield from _lighten(load, index)
        yield from _strengthen(load, index)


def _move(load: Load, index: int) -> Iterator[Adjustment]:
    """Along the deck, both ways from its present position."""
    machine, deck = load.articles[index], load.trailer.deck
    path: DataPath = ("articles", index, "placed", "x")
    today = float(machine.placed.x)
    front, last = float(deck.front), float(deck.rear) - float(machine.length)
    if np.isnan([today, front, last]).any():
        return
    yield Adjustment(
        kind="move",
        article=machine.name,
        fields=frozenset({field_path(path)}),
        candidates=(
            np.linspace(today, max(last, today), _STEPS),
            np.linspace(today, min(front, today), _STEPS),
        ),
        values=lambda positions: {path: positions},
    )


def _lighten(load: Load, index: int) -> Iterator[Adjustment]:
    """Less of the same article, with its balance kept."""
    machine = load.articles[index]
    at: DataPath = ("articles", index)
    weights = {
        (*at, "weight"): float(machine.weight),
        (*at, "axles", "front", "weight"): float(machine.axles.front.weight),
        (*at, "axles", "rear", "weight"): float(machine.axles.rear.weight),
    }
    stated = {path: weight for path, weight in weights.items() if not np.isnan(weight)}
    today = weights[(*at, "weight")]
    if np.isnan(today):
        return
    yield Adjustment(
        kind="lighten",
        article=machine.name,
        fields=frozenset({field_path((*at, "weight"))}),
        candidates=(np.linspace(today, _LIGHTEST_SHARE * today, _STEPS),),
        values=lambda heavy: {path: weight * (heavy / today) for path, weight in stated.items()},
        furthest=(_LIGHTEST_SHARE if machine.type in _GOODS else _LIGHTEST_MACHINE) * today,
    )


def _strengthen(load: Load, index: int) -> Iterator[Adjustment]:
    """All its tiedowns exchanged for stronger ones, hooks and tensioners included."""
    machine = load.articles[index]
    ratings: dict[DataPath, float] = {}
    for number, tiedown in enumerate(load.tiedowns or ()):
        if tiedown.article is machine:
            parts = {
                "marked_working_load_limit": tiedown.marked_working_load_limit,
                "hooks_working_load_limit": tiedown.hooks_working_load_limit,
                "tensioner_working_load_limit": tiedown.tensioner_working_load_limit,
            }
            ratings |= {
                ("tiedowns", number, part): float(rating)
                for part, rating in parts.items()
                if not np.isnan(rating)
            }
    if not ratings:
        return
    weakest = min(ratings.values())
    yield Adjustment(
        kind="strengthen",
        article=machine.name,
        fields=frozenset(field_path(path) for path in ratings),
        candidates=(np.linspace(weakest, _STRONGEST_FACTOR * weakest, _STEPS),),
        values=lambda least: {path: np.maximum(rating, least) for path, rating in ratings.items()},
        furthest=max(_STRONGEST, weakest),
    )
