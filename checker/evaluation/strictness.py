"""The levels of strictness of a gate."""

from enum import StrEnum


class FailOn(StrEnum):
    """What stops a load at a gate; each level stops everything that the one before it stops.

    A must-rule that is not met, or not decided, stops a load at every level.
    """

    MUST = "must"
    SHOULD = "should"
    OPEN = "open"
    NEAR = "near"

    def includes(self, grade: "FailOn") -> bool:
        """True if this gate stops what that one stops."""
        grades = list(FailOn)
        return grades.index(self) >= grades.index(grade)
