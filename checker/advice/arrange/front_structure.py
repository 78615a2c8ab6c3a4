"""What a load says of an article against the front structure, when the article moves."""

from typing import TYPE_CHECKING

import numpy as np

from checker.advice.arrange.places import Places
from checker.load.build import Profile
from checker.load.model import Article

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from checker.documents.problems import DataPath

_TOUCHING = 0.0127
"""Half an inch, in m: closer than that a machine rests against the structure."""

TOUCHES = "articles.*.touches_front_structure"
BLOCKED = "articles.*.blocking.forward"


def is_blocked_by_it(article: Article) -> bool:
    """True if nothing but the structure stops the article from moving forward today."""
    has_block = any(each.stops == "forward" for each in article.blocks)
    return bool(
        article.touches_front_structure == 1 and article.blocking.forward == 1 and not has_block
    )


def answers(profile: Profile, places: Places) -> "Iterator[tuple[DataPath, NDArray[np.bool_]]]":
    """Answers that a load states today, with True in the rows in which they are yes.

    An article that only the structure stops from moving forward is not blocked once it stands
    away from it.
    """
    load = profile.stated
    structure = float(load.trailer.front_structure.x)
    if np.isnan(structure):
        return
    for number, article in enumerate(load.articles):
        field = f"articles.{number + 1}"
        if f"{field}.touches_front_structure" not in load.origins:
            continue
        touches = places.x[:, number] - structure <= _TOUCHING
        touched = article.touches_front_structure == 1
        moved = np.abs(places.x[:, number] - float(article.placed.x)) > _TOUCHING / 10
        yield (
            ("articles", number, "touches_front_structure"),
            np.where(moved, touches, touched),
        )
        if is_blocked_by_it(article):
            yield ("articles", number, "blocking", "forward"), ~moved | touches
