"""What a formula is made of once read: parts that give a number, truths that give a yes or no.

These are made by the thousand when rules are read, so they are tuples: nothing is made as quickly.
"""

import math
from collections.abc import Callable, Mapping
from enum import Enum
from typing import Final, NamedTuple, TypeAlias

from checker.rulebooks.dimensions import PLAIN, Dimension, in_words
from checker.units.arithmetic import Number

# Every name used, with a float or an array with one row per variant.
Env: TypeAlias = Mapping[str, Number]
Value: TypeAlias = Callable[[Env], Number]


class Loose(Enum):
    """Sorts that raise no complaint about dimension."""

    ZERO = "the number 0: 0 lb is as much nothing as 0 ft"
    FAULTY = "already reported; what follows from it is not worth a second message"


class Decision(NamedTuple):
    """A truth with the robustness margin and the index of the leaf that decides it, by row."""

    truth: Number
    margin: Number
    leaf: Number


class NumberNode(NamedTuple):
    """A piece of a formula that gives a number."""

    start: int
    end: int
    sort: Dimension | Loose
    names: frozenset[str]
    value: Value


class Leaf(NamedTuple):
    """A comparison, or (operator None) a yes/no name; `wanted` is 0 under an odd count of nots."""

    left: NumberNode
    operator: str | None
    right: NumberNode | None
    wanted: float = 1.0


class TruthNode(NamedTuple):
    """A piece of a formula that gives a yes or no."""

    names: frozenset[str]
    value: Value
    leaves: tuple[Leaf, ...]
    decide: Callable[[Env], Decision]


Node: TypeAlias = NumberNode | TruthNode


def dimension_of(sort: Dimension | Loose) -> Dimension:
    """Dimension of a sort; of one that is loose, that of a plain number."""
    return PLAIN if isinstance(sort, Loose) else sort


def sort_in_words(sort: Dimension | Loose) -> str:
    """Name the sort as a crew would."""
    return in_words(dimension_of(sort))


# Stands for a piece already reported; it is never worked out.
REPORTED: Final = NumberNode(0, 0, Loose.FAULTY, frozenset(), lambda _env: math.nan)
