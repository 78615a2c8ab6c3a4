"""A quantity that was read, and the error for a text that is none."""

from typing import Final

from msgspec import Struct

LONGEST_TEXT: Final = 80  # characters; the longest honest quantity is about 40


class UnitError(ValueError):
    """A text that is not the wanted quantity; `suggestion` is a text to write instead, if any."""

    def __init__(self, found: str, wanted: str, suggestion: str | None = None) -> None:
        """Keep the parts; very long or unprintable text is escaped and never suggested."""
        tamed = "".join(c if c.isprintable() else "?" for c in found[:LONGEST_TEXT])
        self.found = tamed + ("..." if len(found) > LONGEST_TEXT else "")
        self.wanted = wanted
        self.suggestion = suggestion if suggestion and suggestion.isprintable() else None
        super().__init__(found, wanted, suggestion)

    def __str__(self) -> str:
        """The error on one line."""
        line = f"found '{self.found}', wanted {self.wanted}"
        return line if self.suggestion is None else f"{line}; did you mean '{self.suggestion}'?"


class Quantity(Struct, frozen=True):
    """A number with what it measures.

    `value` and `half_width` (0.0 without a tolerance) are in N, m, s and rad. `unit` is the unit
    written ("" for a bare number; the first one of a sum). `metric` is True for a metric unit,
    False for a US one, None for one that is neither.
    """

    value: float
    half_width: float
    kind: str
    unit: str
    metric: bool | None
