"""What the schemas ask that JSON Schema does not know: quantities with units, and days."""

import re
from collections.abc import Callable, Mapping
from datetime import date
from typing import Any

from msgspec import Struct

from checker.documents.problems import quoted
from checker.units import UnitError, parse

_SIGNS: Mapping[str, tuple[Callable[[float], bool], str]] = {
    "positive": (lambda value: value > 0, "more than zero"),
    "not negative": (lambda value: value >= 0, "zero or more"),
}
_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")


class QuantityFault(Struct, frozen=True):
    """Why a text is not the quantity that a field wants, in the words of the units module."""

    found: str
    wanted: str
    suggestion: str | None = None


def quantity_fault(value: object, kind: str, node: Mapping[str, Any]) -> QuantityFault | None:
    """The keyword `quantity`: text with a unit of that kind, of the sign that the node states."""
    if not isinstance(value, str) or node["type"] != "string":
        return None
    try:
        quantity = parse(value, kind)
    except UnitError as error:
        guess = error.suggestion and quoted(error.suggestion)
        return QuantityFault(f"'{error.found}'", error.wanted, guess)
    holds, words = _SIGNS.get(node.get("sign", ""), (lambda _value: True, ""))
    if not holds(quantity.value - quantity.half_width):
        return QuantityFault(quoted(value), words)
    return None


def is_day(value: object) -> bool:
    """The format `date`: a day of the calendar as `2026-05-14`; anything but text passes."""
    if not isinstance(value, str):
        return True
    try:
        date.fromisoformat(value)
    except ValueError:
        return False
    return _DAY.fullmatch(value) is not None
