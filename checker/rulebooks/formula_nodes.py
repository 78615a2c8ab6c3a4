"""The nodes of a parsed formula: numbers, and truths that give a yes or no.

Reading the rules makes thousands of them, so they are tuples, which are the quickest to make.
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


class AnyDimension(Enum):
    """A dimension that fits any other, so that no fault is reported."""

    ZERO = "the number 0: 0 lb is as much nothing as 0 ft"
    FAULTY = "already reported; what follows from it is not worth a second message"


class Decision(NamedTuple):
    """The truth, the margin and the index of the deciding leaf, by row."""

    truth: Number
    margin: Number
    leaf: Number


class NumberNode(NamedTuple):
    """A part of a formula that gives a number."""

    start: int
    end: int
    dimension: Dimension | AnyDimension
    names: frozenset[str]
    value: Value


class Leaf(NamedTuple):
    """A comparison, or (operator None) a yes/no name; `wanted` is 0 under an odd count of nots."""

    left: NumberNode
    operator: str | None
    right: NumberNode | None
    wanted: float = 1.0


class TruthNode(NamedTuple):
    """A part of a formula that gives a yes or no."""

    names: frozenset[str]
    value: Value
    leaves: tuple[Leaf, ...]
    decide: Callable[[Env], Decision]


Node: TypeAlias = NumberNode | TruthNode


def dimension_of(dimension: Dimension | AnyDimension) -> Dimension:
    """The dimension; that of a plain number where any dimension fits."""
    return PLAIN if isinstance(dimension, AnyDimension) else dimension


def dimension_words(dimension: Dimension | AnyDimension) -> str:
    """The name of the dimension as a crew knows it."""
    return in_words(dimension_of(dimension))


# Replaces a part whose fault is already reported; it is never evaluated.
REPORTED: Final = NumberNode(0, 0, AnyDimension.FAULTY, frozenset(), lambda _env: math.nan)
