"""Check that figures which cannot be the other way round are not: a slip of the pen, not a load.

A schema sees one field at a time; these faults lie between two.
"""

from collections.abc import Iterator, Mapping
from typing import Any, NamedTuple

from checker.arithmetic import more_than
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


class Ordered(NamedTuple):
    """Two fields of a load of which the first is no more than the second, and the kind of both."""

    less: DataPath
    more: DataPath
    kind: str
    found: str
    wanted: str


def ordered(data: Mapping[str, Any]) -> Iterator[Ordered]:
    """All such fields of a load, stated or not."""
    articles = data.get("articles")
    parts = [("trailer",), *(("articles", index) for index in range(_entries(articles)))]
    for at in parts:
        for less, more, kind, found in _TRAILER if at == ("trailer",) else _ARTICLE:
            yield Ordered((*at, *less), (*at, *more), kind, found, f"no more than {'.'.join(more)}")


def order_problems(merged: Merged) -> list[Problem]:
    """Every pair of figures that stands the wrong way round, at the first of them."""
    problems = []
    for pair in ordered(merged.data):
        one, other = (_ends(merged.data, path, pair.kind) for path in (pair.less, pair.more))
        if one is not None and other is not None and more_than(one[0], other[1]) == 1:
            file, mark = merged.places[pair.less]
            problems.append(Problem(file, mark, pair.found, pair.wanted))
    return problems


def _entries(data: object) -> int:
    return len(data) if isinstance(data, list) else 0


def _ends(data: Any, path: DataPath, kind: str) -> tuple[float, float] | None:
    """Least and most that a stated figure may be; None where it is not stated as such."""
    for key in path:
        if isinstance(key, int):
            data = data[key]
        else:
            data = data.get(key) if isinstance(data, Mapping) else None
    try:
        quantity = parse(data, kind) if isinstance(data, str) else None
    except ValueError:  # the schema tells
        return None
    if quantity is None:
        return None
    return quantity.value - quantity.half_width, quantity.value + quantity.half_width
