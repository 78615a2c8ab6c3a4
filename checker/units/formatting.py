"""Numbers to text: quantities written for people, in US units, metric ones or both."""

import math
from collections.abc import Mapping, Sequence
from datetime import date
from enum import StrEnum
from typing import Final

from msgspec import Struct

from checker.units.kinds import KINDS, METRIC_LENGTHS, SECONDS_OF_A_DAY
from checker.units.table import FACTORS

FORCE: Final = "force"
"""The strength or pull of a tiedown: a load that may have a unit of its own, as its label does."""
DISTANCE: Final = "distance"
"""A length on the road, from a mile or a kilometre on."""
OF_TWO_SYSTEMS: Final = frozenset({DISTANCE}.union(k.name for k in KINDS.values() if k.us != k.si))
"""The kinds of quantity that have US and metric units."""


class Units(StrEnum):
    """Units of a report: those of each profile, or the same for all."""

    PROFILE = "profile"
    US = "us"
    SI = "si"
    MIXED = "mixed"


class System(Struct, frozen=True):
    """The units in which quantities are written.

    `metric` has the kinds written in metric units, and DISTANCE where roads are measured in
    kilometres; all others are written in US units. `force` is the unit of FORCE; None for that of
    other loads.
    """

    metric: frozenset[str] = frozenset()
    force: str | None = None


US: Final = System()
SI: Final = System(OF_TWO_SYSTEMS)
MIXED: Final = System(OF_TWO_SYSTEMS - {"speed", DISTANCE})
"""Metric, but miles and miles per hour on the road."""
SYSTEMS: Final[Mapping[Units, System]] = {Units.US: US, Units.SI: SI, Units.MIXED: MIXED}

# The size (in SI) from which a unit is shown; the first that fits is used.
_ROAD_US: Final = (1609.344, "mi")
_ROAD_METRIC: Final = (1000.0, "km")
_LENGTHS_US: Final = ((3.048, "ft"), (0.0, "in"))
_LENGTHS_METRIC: Final = ((0.1, "m"), (1e-9, "mm"), (0.0, "m"))
_DURATIONS: Final = ((3600.0, "h"), (60.0, "min"), (1e-9, "s"), (0.0, "h"))
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
    if kind == "day":
        return _day(value)
    return _written(value, _display_unit([value], kind, system), digits)


def show_stated(value: float, kind: str, system: System) -> str:
    """As `show`, but a figure too small for its decimals has an exponent: it does not read as 0."""
    text = show(value, kind, system)
    if value == 0 or text.partition(" ")[0] != "0":
        return text
    unit = _display_unit([value], kind, system)
    return f"{value / _size(unit):.4g} {unit}".rstrip()


def _day(value: float) -> str:
    """A day as `1988-07-01`."""
    if math.isnan(value):
        return "not stated"
    number = min(max(value / SECONDS_OF_A_DAY, 1), date.max.toordinal())
    return date.fromordinal(round(number)).isoformat()


def show_for_calculation(value: float, kind: str, system: System, *, digits: int = 5) -> str:
    """An SI `value` as text, in a unit that can be used in one calculation with other figures.

    Lengths below a mile or kilometre are in inches or metres throughout, and moments in the product
    of the units of loads and lengths. Other kinds are written as by `show`.
    """
    unit = _display_unit([value], kind, system)
    if kind == "length" and unit not in ("mi", "km"):
        unit = usual_unit("length", system)
    elif kind == "moment" and not math.isnan(value):
        parts = (usual_unit("load", system), usual_unit("length", system))
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
    if kind == "day":
        return _day(actual), _day(limit)
    unit = _display_unit([actual, limit], kind, system)
    while True:
        texts = _written(actual, unit, digits), _written(limit, unit, digits)
        if texts[0] != texts[1] or actual == limit or digits >= _MOST_DIGITS:
            return texts
        digits += 1


def _display_unit(values: Sequence[float], kind: str, system: System) -> str:
    """The unit that suits the largest of `values`."""
    size = max((abs(value) for value in values if math.isfinite(value)), default=0.0)
    return next((unit for least, unit in _sizes(kind, system) if size >= least), "")


def _sizes(kind: str, system: System) -> Sequence[tuple[float, str]]:
    """The units of a kind, each with the least size shown in it."""
    match kind:
        case "length":
            road = _ROAD_METRIC if DISTANCE in system.metric else _ROAD_US
            return (road, *(_LENGTHS_METRIC if kind in system.metric else _LENGTHS_US))
        case "duration":
            return _DURATIONS
    return ((0.0, usual_unit(kind, system)),)


def usual_unit(kind: str, system: System) -> str:
    """The unit in which a kind of quantity is written, of lengths the one between others."""
    if kind == FORCE:
        return system.force or usual_unit("load", system)
    return KINDS[kind].si if kind in system.metric else KINDS[kind].us


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
