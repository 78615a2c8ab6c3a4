"""A load with many of its numbers and answers changed, each in a row of its own."""

from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from checker.documents.schema_keywords import quantity_of
from checker.facts.view import Facts
from checker.load.references import Merged
from checker.rulebooks.model import Rulebooks
from checker.units.arithmetic import Number
from tests.stated_fields import Leaf, built, merged_load

DAY = date(2026, 6, 1)
merged_once = cache(merged_load)
"""As `merged_load`; each file is read once."""


def looked_up(leaf: Leaf) -> bool:
    """Sizes by which a printed table is read; these are changed one at a time."""
    return leaf.path[0] == "tiedowns" and leaf.path[-1] in ("size", "thickness")


def is_answer(node: Mapping[str, Any]) -> bool:
    return node.get("enum") == ["yes", "no"]


def varies_by_row(leaf: Leaf) -> bool:
    """True for numbers and answers, of which each row of a load may have its own."""
    return is_answer(leaf.node) or ("quantity" in leaf.node and not looked_up(leaf))


def number(leaf: Leaf) -> float:
    """What is stated, as the load holds it."""
    if is_answer(leaf.node):
        return 1.0 if leaf.stated == "yes" else 0.0
    return quantity_of(str(leaf.stated), leaf.node).value


def with_changes(merged: Merged, changes: Sequence[tuple[Leaf, float]], books: Rulebooks) -> Facts:
    """The facts of the load as stated in its first row, then of a row for each change."""
    rows: dict[tuple[str | int, ...], NDArray[np.float64]] = {}
    for row, (leaf, value) in enumerate(changes, start=1):
        rows.setdefault(leaf.path, np.full(1 + len(changes), number(leaf)))[row] = value
    return Facts(built(merged, merged.data, rows), books.unmarked_on(DAY))


def same(first: Number, second: Number) -> NDArray[np.bool_]:
    return np.isclose(first, second, rtol=1e-12, atol=0.0, equal_nan=True)


def changes_that_move(
    value: Number, changes: Sequence[tuple[Leaf, Any]]
) -> Iterator[tuple[Leaf, Any]]:
    """The changes in whose rows a fact is not what it is in the first row."""
    column = np.broadcast_to(value, 1 + len(changes))
    for row in np.flatnonzero(~same(column[1:], column[0])):
        yield changes[row]
