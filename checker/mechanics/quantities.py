"""Conversion and division helpers that all mechanics modules share."""

import numpy as np

from checker.units.arithmetic import NOT_STATED, Number

# Newtons per kilogram of weight, metres per second squared (CGPM 1901, resolution on weight).
STANDARD_GRAVITY = 9.80665

# Newtons per pound of force: 0.45359237 kg exactly (international pound) in standard gravity.
POUND_FORCE = 0.45359237 * STANDARD_GRAVITY

# Metres per international foot, exact.
FOOT = 0.3048


def as_number(result: object) -> Number:
    """A float for a single value, an array for many."""
    if type(result) is float:
        return result
    array = np.asarray(result, dtype=float)
    return array if array.ndim else float(array)


def quotient(numerator: Number, denominator: Number) -> Number:
    """Numerator / denominator, and NaN (not known) where the denominator is zero.

    A Python float would raise and an array would give infinity. From a track or a total weight of
    zero nothing follows, so the result is "not known" for both.
    """
    if type(numerator) is float and type(denominator) is float:
        # Ten times quicker than numpy for one number, and the same to the bit.
        return numerator / denominator if denominator else NOT_STATED
    return as_number(np.divide(numerator, np.where(np.equal(denominator, 0), np.nan, denominator)))
