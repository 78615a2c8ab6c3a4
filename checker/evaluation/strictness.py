"""The levels of strictness of a gate."""

from enum import StrEnum


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
        levels = list(FailOn)
        if self is FailOn.UNREAD:
            return level is not FailOn.NEAR
        return levels.index(self) >= levels.index(level)
