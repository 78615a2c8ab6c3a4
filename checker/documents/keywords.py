"""What the schemas ask that JSON Schema does not know: quantities with units, and days."""

import re
from collections.abc import Callable, Mapping
from datetime import date
from typing import Any

from msgspec import Struct

from checker.arithmetic import NONE
from checker.documents.problems import nearest, quoted
from checker.units import Quantity, UnitError, parse

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


def quantity_of(text: str, node: Mapping[str, Any]) -> Quantity:
    """The quantity that a text states in a field, infinite for the field's word for "none".

    Raises UnitError when the text is neither.
    """
    if text == node.get("word_for_none"):
        return Quantity(NONE, 0.0, node["quantity"], "", None)
    return parse(text, node["quantity"])


def quantity_fault(value: object, node: Mapping[str, Any]) -> QuantityFault | None:
    """The keyword `quantity`: text with a unit of that kind, of the sign that the node states."""
    if not isinstance(value, str) or node["type"] != "string":
        return None
    try:
        quantity = quantity_of(value, node)
    except UnitError as error:
        word = node.get("word_for_none")
        guess = nearest(value, [word]) if word else None
        guess = guess or error.suggestion
        wanted = f"{error.wanted}, or '{word}'" if word else error.wanted
        return QuantityFault(f"'{error.found}'", wanted, guess and quoted(guess))
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
