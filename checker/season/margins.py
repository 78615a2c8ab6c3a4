"""Margins of comparisons over many hauls: where one is a share of its limit, and says something."""

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from checker.facts.catalogue import catalogue
from checker.rulebooks.formula_pieces import Leaf
from checker.units.arithmetic import Number, everywhere


def shares(
    margins: NDArray[np.float64],
    leaf: NDArray[np.intp],
    relative: Sequence["NDArray[np.bool_] | bool"],
) -> NDArray[np.float64]:
    """Margins that are a share of a limit, NaN for others."""
    for place, told in enumerate(relative):
        if not everywhere(told):
            margins = np.where((leaf == place) & np.logical_not(told), np.nan, margins)
    return margins


def is_relative(leaf: Leaf, env: Mapping[str, Number]) -> "NDArray[np.bool_] | bool":
    """Where the margin of a comparison is a share of its right side, which is not 0."""
    if leaf.operator is None or leaf.right is None:
        return False
    right = leaf.right.value(env)
    return bool(right != 0) if isinstance(right, float) else np.not_equal(right, 0)


def speaks_for_itself(leaf: Leaf) -> bool:
    """Whether a share of the limit says little: of counted things, and of equality."""
    names = leaf.left.names | (leaf.right.names if leaf.right else frozenset())
    known = catalogue()
    counts = any(known[name].kind == "count" for name in names & known.keys())
    return counts or (leaf.operator == "==" and bool(leaf.wanted))
