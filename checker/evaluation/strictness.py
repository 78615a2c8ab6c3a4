"""How strict a gate is."""

from enum import StrEnum


class FailOn(StrEnum):
    """What stops a load at a gate; each grade stops all that the one before it stops.

    A must-rule that is not met, or not decided, stops a load at every gate.
    """

    MUST = "must"
    SHOULD = "should"
    OPEN = "open"
    NEAR = "near"

    def includes(self, grade: "FailOn") -> bool:
        """Whether this gate stops what that one stops."""
        grades = list(FailOn)
        return grades.index(self) >= grades.index(grade)
