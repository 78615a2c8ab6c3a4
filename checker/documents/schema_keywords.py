"""The project's own schema keywords: quantities, days, codes of jurisdictions."""

import re
from collections.abc import Callable, Mapping
from datetime import date
from typing import Any

from msgspec import Struct

from checker.documents.problems import nearest, quoted
from checker.units.arithmetic import NONE
from checker.units.parsing import Quantity, UnitError, parse

_SIGNS: Mapping[str, tuple[Callable[[float], bool], str]] = {
    "positive": (lambda value: value > 0, "more than zero"),
    "not negative": (lambda value: value >= 0, "zero or more"),
}
_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")


class TextFault(Struct, frozen=True):
    """Why a text is not the quantity or code that a field needs, as parts of a problem."""

    found: str
    wanted: str
    suggestion: str | None = None


def quantity_of(text: str, node: Mapping[str, Any]) -> Quantity:
    """The quantity that a text states in a field; infinite for the field's word for "none".

    Raises UnitError when the text is neither.
    """
    if text == node.get("word_for_none"):
        return Quantity(NONE, 0.0, node["quantity"], "", None)
    return parse(text, node["quantity"])


def quantity_fault(value: object, node: Mapping[str, Any]) -> TextFault | None:
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
        return TextFault(f"'{error.found}'", wanted, guess and quoted(guess))
    holds, words = _SIGNS.get(node.get("sign", ""), (lambda _value: True, ""))
    if not holds(quantity.value - quantity.half_width):
        return TextFault(quoted(value), words)
    return None


def jurisdiction_fault(value: object, where: str) -> TextFault | None:
    """The keyword `jurisdiction`: a code of ISO 3166; of `rules` the word `any` is one too."""
    if not isinstance(value, str):
        return None
    # Imported for uncached files only: nothing else needs the codes.
    from checker.documents.jurisdiction_codes import code_fault

    return code_fault(value, anywhere=where == "rules")


def is_day(value: object) -> bool:
    """The format `date`: a day of the calendar as `2026-05-14`; anything but text passes."""
    if not isinstance(value, str):
        return True
    try:
        date.fromisoformat(value)
    except ValueError:
        return False
    return _DAY.fullmatch(value) is not None
