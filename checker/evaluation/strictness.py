"""The levels of strictness of a gate."""

from enum import StrEnum
from typing import Final


class FailOn(StrEnum):
    """What stops a load at a gate.

    From `must` to `near` each level stops everything that the one before it stops. `unread` stops
    what `open` stops, and loads that touch law which nobody read. A must-rule that is not met, or
    not decided, stops a load at every level.
    """

    MUST = "must"
    SHOULD = "should"
    OPEN = "open"
    NEAR = "near"
    UNREAD = "unread"

    def includes(self, level: "FailOn") -> bool:
        """True if this gate stops what that one stops."""
        return level in _INCLUDED[self]


# Asked of every finding, so looked up and not counted out.
_LEVELS: Final = tuple(FailOn)
_INCLUDED: Final = {
    **{gate: frozenset(_LEVELS[: index + 1]) for index, gate in enumerate(_LEVELS)},
    FailOn.UNREAD: frozenset(_LEVELS) - {FailOn.NEAR},
}
