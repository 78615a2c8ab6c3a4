"""Check that figures which cannot be the other way round are not: a slip of the pen, not a load.

A schema sees one field at a time; these faults lie between two.
"""

from collections.abc import Iterator, Mapping
from typing import Any

from checker.documents.problems import DataPath, Problem
from checker.load.references import Merged
from checker.units import parse

# The first is no more than the second, of one kind, with the words for what is wrong.
_TRAILER = (
    (("deck", "front"), ("deck", "rear"), "length", "a deck that ends before it begins"),
    (
        ("empty_tongue_weight",),
        ("empty_weight",),
        "load",
        "an empty tongue heavier than the empty trailer",
    ),
)
_ARTICLE = (
    (("cg", "x"), ("length",), "length", "a centre of gravity behind its rear end"),
    (("axles", "front", "x"), ("axles", "rear", "x"), "length", "a front axle behind the rear one"),
    (("axles", "rear", "x"), ("length",), "length", "a rear axle behind its rear end"),
)


def order_problems(merged: Merged) -> list[Problem]:
    """Every pair of figures that stands the wrong way round, at the first of them."""
    problems = list(_wrong(merged, ("trailer",), merged.data.get("trailer"), _TRAILER))
    articles = merged.data.get("articles")
    for index, article in enumerate(articles if isinstance(articles, list) else ()):
        problems += _wrong(merged, ("articles", index), article, _ARTICLE)
    return problems


def _wrong(merged: Merged, at: DataPath, data: Any, pairs: Any) -> Iterator[Problem]:
    for less, more, kind, said in pairs:
        one, other = _ends(data, less, kind), _ends(data, more, kind)
        if one is not None and other is not None and one[0] > other[1]:
            file, mark = merged.places[(*at, *less)]
            yield Problem(file, mark, said, f"no more than {'.'.join(more)}")


def _ends(data: Any, path: DataPath, kind: str) -> tuple[float, float] | None:
    """Least and most that a stated figure may be; None where it is not stated as such."""
    for key in path:
        data = data.get(key) if isinstance(data, Mapping) else None
    try:
        quantity = parse(data, kind) if isinstance(data, str) else None
    except ValueError:  # the schema tells
        return None
    if quantity is None:
        return None
    return quantity.value - quantity.half_width, quantity.value + quantity.half_width
