"""Numbers to text: quantities written for people, in US or metric units."""

import math
from collections.abc import Mapping, Sequence
from typing import Final, Literal

from checker.units.kinds import KINDS, METRIC_LENGTHS
from checker.units.table import FACTORS

System = Literal["us", "si"]

# The size (in SI) from which a unit is shown; the first that fits is used.
_SIZES: Final[Mapping[tuple[str, str], tuple[tuple[float, str], ...]]] = {
    ("length", "us"): ((1609.344, "mi"), (3.048, "ft"), (0.0, "in")),
    ("length", "si"): ((1000.0, "km"), (0.1, "m"), (1e-9, "mm"), (0.0, "m")),
    ("duration", "us"): ((3600.0, "h"), (60.0, "min"), (1e-9, "s"), (0.0, "h")),
    ("duration", "si"): ((3600.0, "h"), (60.0, "min"), (1e-9, "s"), (0.0, "h")),
}
_LONGEST_IN_FEET_AND_INCHES: Final = 100 * 0.3048  # m; a longer tape is read in feet alone
# Significant figures that can show what comparison distinguishes: 1e-9 of the larger is equal.
_MOST_DIGITS: Final = 10

# 1.5875 m is 1.588 m to a person; the float is a hair below and would become 1.587.
_HALF_UP: Final = 1 + 2**-51  # two steps of the float, the noise of a conversion


def show(value: float, kind: str, system: System, *, digits: int = 4) -> str:
    """Write an SI `value` for people, in the units of `system`: `3,680 lb`, `16 ft 2 in`.

    At least `digits` significant figures, whole units never rounded away, no trailing zeros, no
    exponent. US lengths are in inches below 10 ft, in feet and inches below 100 ft, then in feet,
    from 1 mi on in miles. Metric lengths have no thousands commas. NaN is `not stated`.
    """
    return _written(value, _display_unit([value], kind, system), digits)


def show_for_calculation(value: float, kind: str, system: System, *, digits: int = 5) -> str:
    """An SI `value` as text, in a unit that can be used in one calculation with other figures.

    Lengths below a mile or kilometre are in inches or metres throughout, and moments in the product
    of the units of loads and lengths. Other kinds are written as by `show`.
    """
    unit = _display_unit([value], kind, system)
    load, length = KINDS["load"], KINDS["length"]
    if kind == "length" and unit not in ("mi", "km"):
        unit = length.us if system == "us" else length.si
    elif kind == "moment" and not math.isnan(value):
        parts = (load.us, length.us) if system == "us" else (load.si, length.si)
        size = _size(parts[0]) * _size(parts[1])
        return f"{_written(value / size, '', digits)} {'*'.join(parts)}"
    else:
        return show(value, kind, system, digits=digits)
    # Feet and inches are only for a tape; here a length has one unit.
    return _written(value, unit, digits)


def show_apart(
    actual: float, limit: float, kind: str, system: System, *, digits: int = 4
) -> tuple[str, str]:
    """Both values as text in one unit, with enough figures to tell them apart.

    `2,200.04 lb` against a limit of `2,200 lb` must not read as equal. Values that differ by
    rounding alone, and so count as equal, still read the same.
    """
    unit = _display_unit([actual, limit], kind, system)
    while True:
        texts = _written(actual, unit, digits), _written(limit, unit, digits)
        if texts[0] != texts[1] or actual == limit or digits >= _MOST_DIGITS:
            return texts
        digits += 1


def _display_unit(values: Sequence[float], kind: str, system: System) -> str:
    """The unit that suits the largest of `values`."""
    size = max((abs(value) for value in values if math.isfinite(value)), default=0.0)
    for least, unit in _SIZES.get((kind, system), ()):
        if size >= least:
            return unit
    return KINDS[kind].us if system == "us" else KINDS[kind].si


def _written(value: float, unit: str, digits: int) -> str:
    if math.isnan(value):
        return "not stated"
    if math.isinf(value):
        return "infinite" if value > 0 else "minus infinite"
    if unit == "ft" and abs(value) < _LONGEST_IN_FEET_AND_INCHES:
        return _feet_and_inches(value, digits)
    number = _plain(value / _size(unit), digits)
    if unit in METRIC_LENGTHS:  # `1,234 km` is read by many as 1.234 km
        number = number.replace(",", "")
    return f"{number} {unit}" if unit else number


def _size(unit: str) -> float:
    top, bottom = FACTORS[unit] if unit else (1, 1)
    return top / bottom


def _decimals(value: float, digits: int) -> int:
    """The number of decimals for `digits` significant figures, at most two leading zeros deep."""
    magnitude = math.floor(math.log10(abs(value))) if value else 0
    return min(max(digits - 1 - magnitude, 0), digits + 2)


def _plain(value: float, digits: int) -> str:
    text = _trimmed(f"{value * _HALF_UP:,.{_decimals(value, digits)}f}")
    return "0" if text == "-0" else text


def _trimmed(text: str) -> str:
    return text.rstrip("0").rstrip(".") if "." in text else text


def _feet_and_inches(value: float, digits: int) -> str:
    inches = abs(value) * _HALF_UP / _size("in")
    # Rounded before it is split: 16 ft 11.99 in must become 17 ft, never 16 ft 12 in.
    decimals = _decimals(inches, digits)
    feet, rest = divmod(round(inches, decimals), 12)
    tail = _trimmed(f"{rest:.{decimals}f}")
    sign = "-" if value < 0 else ""
    return f"{sign}{feet:.0f} ft" + ("" if tail == "0" else f" {tail} in")
