"""Usual values of a field of load profiles, to try what stating it would decide."""

from collections.abc import Iterator
from functools import cache
from typing import Any, Final, NamedTuple

import numpy as np

from checker.documents.schemas import field_node, word_for_none
from checker.load.plausible.doubts import DOUBTS
from checker.load.plausible.entry import Entry
from checker.logs.columns import ColumnError, column_of
from checker.logs.decode import FigureDecoder
from checker.logs.model import Column, Role
from checker.units.arithmetic import NONE

_SCALES: Final = (1.0, 0.1, 10.0)
"""Shares of an example that are tried where nothing says what is usual."""
_COUNTS: Final = ("0", "1", "2", "4", "9", "16")
"""Numbers of things that are tried, small ones and more than a limit of seats or years."""


class Value(NamedTuple):
    """A value as a log states it; `si` is its number, None of a word or a list."""

    text: Any
    si: float | None

    @property
    def is_word(self) -> bool:
        """True of an answer, a word, and the word for a figure that does not exist."""
        return self.text in ("yes", "no") or (
            isinstance(self.text, str) and self.si in (None, NONE)
        )


@cache
def usual_values(field: str) -> tuple[Value, ...]:
    """Values of a field: both answers, every word, or figures from the least to the most usual.

    None of a section, or of a name that only its profile can know.
    """
    try:
        column = column_of(field)
    except ColumnError:
        return ()
    node = field_node(field)
    if column.role is Role.ANSWER:
        return Value("yes", 1.0), Value("no", 0.0)
    if column.role is Role.QUANTITY:
        return tuple(_figures(column, node.get("examples", _COUNTS)))
    if column.role is Role.LIST:
        return (Value([str(each) for each in node["items"].get("examples", ())], None),)
    return tuple(Value(word, None) for word in node.get("enum", ()))


def _figures(column: Column, examples: Any) -> Iterator[Value]:
    texts = [str(each) for each in examples]
    bounds = list(_usual_bounds(column.field))
    none = word_for_none(column.field)
    decode = FigureDecoder(column, {})
    for text in dict.fromkeys((*bounds, *texts, *([none] if none else ()))):
        (value,) = decode([text]).values.tolist()
        if np.isinf(value) or bounds or texts == list(_COUNTS):
            yield Value(text, value)
        else:
            yield from (Value(text, value * scale) for scale in _SCALES)


def _usual_bounds(field: str) -> Iterator[str]:
    """The least and the most that is usual of a field, as the list of doubtful figures has them."""
    parts = field.split(".")
    for entry in DOUBTS:
        of_field = entry.at.split(".")
        same = len(of_field) == len(parts) and all(
            one in ("*", other) for one, other in zip(of_field, parts, strict=True)
        )
        if same and (bound := _bound(entry)):
            yield bound


def _bound(entry: Entry) -> str:
    """The constant of an entry that says no more than that a figure is too low or too high."""
    if len(entry.where) != 1:
        return ""
    field, _, bound = entry.where[0].partition(" ")
    return bound.lstrip("<> ") if field == entry.at else ""
