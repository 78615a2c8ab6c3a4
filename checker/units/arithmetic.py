"""Arithmetic on one value or an array: comparison tolerance, three-valued truth, whole steps.

Every number of a load is a float, or an array with one row per variant of the load. NaN means "not
stated", and sums and products pass it on. Truth is a number too: 1 yes, 0 no, NaN unknown. Plain
comparisons and `and`/`or` would turn NaN into false; the functions here keep it NaN.
"""

import math
from collections.abc import Iterable
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

Number: TypeAlias = float | NDArray[np.float64]
Compared: TypeAlias = bool | NDArray[np.bool_]

NOT_STATED = math.nan
NONE = math.inf
"""The value of a quantity stated by the field's word for "none": a point for which no rating exists
limits nothing."""

# The one comparison tolerance of the project: two sides closer than this share of the larger one
# are equal, and equality at a limit meets it. It absorbs rounding (4 x 550 lb against 2200 lb)
# and is far below anything a scale or a tape can read.
RELATIVE_TOLERANCE = 1e-9


# A single load is floats throughout, and for one float numpy takes ten times as long as Python;
# many hauls mostly agree, which one pass over the array shows. So the helpers below test that
# first, and return one number where they can.


def everywhere(compared: Compared) -> bool:
    """True if a comparison holds in every row."""
    return compared if isinstance(compared, bool) else bool(compared.all())


def anywhere(compared: Compared) -> bool:
    """True if a comparison holds in any row."""
    if isinstance(compared, bool | np.bool_):  # numpy's own, for two numbers
        return bool(compared)
    return bool(compared.any())


def _slack(left: Number, right: Number) -> Number:
    if isinstance(left, float) and isinstance(right, float):
        return RELATIVE_TOLERANCE * max(abs(left), abs(right))
    larger: NDArray[np.float64] = np.maximum(np.abs(left), np.abs(right))
    return RELATIVE_TOLERANCE * larger


def _known(truth: Compared, left: Number, right: Number) -> Number:
    """`truth` as 1 or 0, and NaN wherever an operand is not stated."""
    if isinstance(left, float) and isinstance(right, float):
        return NOT_STATED if math.isnan(left) or math.isnan(right) else float(truth)
    result = np.asarray(truth, dtype=float)
    for side in (left, right):
        unknown = np.isnan(side)
        if unknown.any():
            result = np.where(unknown, np.nan, result)
    return result if result.ndim else float(result)


def at_least(left: Number, right: Number) -> Number:
    """1 where left >= right or both are equal within the tolerance, 0 where not, NaN unknown."""
    plain = left >= right
    if everywhere(plain):
        return 1.0
    return _known(plain | (left >= right - _slack(left, right)), left, right)


def more_than(left: Number, right: Number) -> Number:
    """1 where left exceeds right by more than the tolerance, 0 where not, NaN unknown."""
    if everywhere(left <= right):
        return 0.0
    return _known(left > right + _slack(left, right), left, right)


def equal(left: Number, right: Number) -> Number:
    """1 where both sides agree within the tolerance, 0 where not, NaN unknown."""
    slack = _slack(left, right)
    return _known((left - right <= slack) & (right - left <= slack), left, right)


def both(left: Number, right: Number) -> Number:
    """Three-valued and: no if either is known to be no, else unknown if either is unknown."""
    if isinstance(left, float) and left in (0, 1):
        return right if left else 0.0
    if isinstance(right, float):
        if right in (0, 1):
            return left if right else 0.0
        if isinstance(left, float):  # so neither is known
            return NOT_STATED
    result: Number = left * right
    if np.isnan(result).any():
        decided_no = np.logical_or(np.equal(left, 0), np.equal(right, 0))
        result = np.where(decided_no, 0.0, result)
    return result if np.ndim(result) else float(result)


def either(left: Number, right: Number) -> Number:
    """Three-valued or: yes if either is known to be yes, else unknown if either is unknown."""
    if isinstance(left, float) and left in (0, 1):
        return 1.0 if left else right
    if isinstance(right, float):
        if right in (0, 1):
            return 1.0 if right else left
        if isinstance(left, float):  # so neither is known
            return NOT_STATED
    result: Number = np.maximum(left, right)
    if np.isnan(result).any():
        decided_yes = np.logical_or(np.equal(left, 1), np.equal(right, 1))
        result = np.where(decided_yes, 1.0, result)
    return result if np.ndim(result) else float(result)


def all_of(truths: Iterable[Number]) -> Number:
    """Three-valued and over any number of truths; yes where there are none."""
    result: Number = 1.0
    for truth in truths:
        result = both(result, truth)
    return result


def any_of(truths: Iterable[Number]) -> Number:
    """Three-valued or over any number of truths; no where there are none."""
    result: Number = 0.0
    for truth in truths:
        result = either(result, truth)
    return result


def negated(truth: Number) -> Number:
    """Three-valued not."""
    return 1.0 - truth


def is_none(value: Number) -> Number:
    """1 where a quantity is stated not to exist, 0 where it is stated, NaN unknown."""
    result = np.where(np.isnan(value), np.nan, np.isposinf(value))
    return result if result.ndim else float(result)


def as_stated(value: Number) -> float:
    """The number as stated: the first row."""
    return float(np.atleast_1d(value)[0])


def steps_up(value: Number) -> Number:
    """Next whole number at or above value; a value within the tolerance of one counts as it.

    30 ft and 10 ft are 9.144 m and 3.048 m: plain ceil of their quotient minus one gives 3, not 2.
    """
    result = np.ceil(np.subtract(value, RELATIVE_TOLERANCE * np.maximum(np.abs(value), 1.0)))
    return result if np.ndim(result) else float(result)


def steps_down(value: Number) -> Number:
    """Last whole number at or below value; a value within the tolerance of one counts as it."""
    result = np.floor(np.add(value, RELATIVE_TOLERANCE * np.maximum(np.abs(value), 1.0)))
    return result if np.ndim(result) else float(result)
