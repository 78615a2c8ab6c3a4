"""The verdicts that a rule can have for a load."""

from enum import StrEnum


class Verdict(StrEnum):
    """The verdict of one rule on one load. Undecided is never a pass."""

    MET = "met"
    NOT_MET = "not met"
    TOO_CLOSE = "too close to call"
    NOT_STATED = "not stated"
    DOES_NOT_APPLY = "does not apply"


# The worse verdict counts for a rule with US and metric figures or with several subjects.
WORST_FIRST = (
    Verdict.NOT_MET,
    Verdict.NOT_STATED,
    Verdict.TOO_CLOSE,
    Verdict.MET,
    Verdict.DOES_NOT_APPLY,
)
