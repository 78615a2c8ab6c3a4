"""The outcome of a load in every row, from the verdicts of its rules."""

from enum import StrEnum
from typing import Final

import numpy as np

from checker.evaluation.rule_rows import MET, Codes, Flags, Indices, RuleRows
from checker.load.model import Load
from checker.rulebooks.model import Rulebooks
from checker.rulebooks.unread_jurisdictions import law_was_not_read, unread_jurisdictions


class Outcome(StrEnum):
    """The outcome of a check; only must-rules count."""

    HOLD = "hold"
    OPEN = "open"
    NO_RULE_BROKEN = "no rule broken"


OUTCOMES: Final = tuple(Outcome)
HOLD, OPEN, NO_RULE_BROKEN = range(len(OUTCOMES))


class OutcomeRows:
    """The outcome of every row, built up from the must-rules one by one.

    A rule excused by a variance decides nothing.
    """

    def __init__(self, rows: int) -> None:
        """Start with no rule evaluated: a load of which no rule was met is not passed."""
        self.broken, self.undecided, self.met = (np.zeros(rows, dtype=bool) for _ in range(3))

    def add(self, each: RuleRows) -> None:
        """Count one more rule; should-rules do not count."""
        if each.rule.level == "must":
            self.broken |= each.broken
            self.undecided |= each.undecided
            self.met |= each.verdicts == MET

    def take(self, rows: Indices) -> "OutcomeRows":
        """The same for some of the rows."""
        found = OutcomeRows(rows.size)
        found.broken, found.undecided = self.broken[rows], self.undecided[rows]
        found.met = self.met[rows]
        return found

    def joined(self, other: "OutcomeRows") -> "OutcomeRows":
        """The same with the rules of another one for the same rows."""
        found = OutcomeRows(self.met.size)
        found.broken, found.undecided = (
            self.broken | other.broken,
            self.undecided | other.undecided,
        )
        found.met = self.met | other.met
        return found

    def differs(self, other: "OutcomeRows") -> Flags:
        """True in rows whose outcome may differ, whatever other rules there are."""
        found: Flags = (
            (self.broken != other.broken)
            | (self.undecided != other.undecided)
            | (self.met != other.met)
        )
        return found

    def outcomes(self, load: Load, rulebooks: Rulebooks) -> Codes:
        """The outcome of each row of the load, as an index into OUTCOMES.

        Hold where a must-rule is not met; open where a must-rule is undecided, none was met, or the
        law of a jurisdiction was not read.
        """
        unread = unread_jurisdictions(load.trip.places, rulebooks)
        is_open = self.undecided | ~self.met | law_was_not_read(unread, rulebooks)
        found = np.where(is_open, OPEN, NO_RULE_BROKEN)
        found[self.broken] = HOLD
        return found.astype(np.int8)
