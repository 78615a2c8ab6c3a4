"""The outcome of a load in every row, from the verdicts of its rules."""

from enum import StrEnum
from typing import Final

import numpy as np

from checker.evaluation.rule_rows import (
    DOES_NOT_APPLY,
    MET,
    NOT_MET,
    Codes,
    Flags,
    Indices,
    RuleRows,
)
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
        self._worst: Codes = np.full(rows, DOES_NOT_APPLY, dtype=np.int8)
        self._met: Flags = np.zeros(rows, dtype=bool)

    @property
    def broken(self) -> Flags:
        """True in rows where a must-rule is not met."""
        found: Flags = self._worst == NOT_MET
        return found

    def add(self, each: RuleRows) -> None:
        """Count one more rule; should-rules do not count."""
        if each.rule.level == "must":
            verdicts = each.counted
            np.minimum(self._worst, verdicts, out=self._worst)
            self._met |= verdicts == MET

    def take(self, rows: Indices) -> "OutcomeRows":
        """The same for some of the rows."""
        found = OutcomeRows(rows.size)
        found._worst, found._met = self._worst[rows], self._met[rows]
        return found

    def joined(self, other: "OutcomeRows") -> "OutcomeRows":
        """The same with the rules of another one for the same rows."""
        found = OutcomeRows(self._met.size)
        found._worst = np.minimum(self._worst, other._worst)
        found._met = self._met | other._met
        return found

    def differs(self, other: "OutcomeRows") -> Flags:
        """True in rows whose outcome may differ, whatever other rules there are."""
        found: Flags = (self._worst != other._worst) | (self._met != other._met)
        return found

    def outcomes(self, load: Load, rulebooks: Rulebooks) -> Codes:
        """The outcome of each row of the load, as an index into OUTCOMES.

        Hold where a must-rule is not met; open where a must-rule is undecided, none was met, or the
        law of a jurisdiction was not read.
        """
        unread = unread_jurisdictions(load.trip.places, rulebooks)
        undecided = self._worst < MET
        is_open = undecided | ~self._met | law_was_not_read(unread, rulebooks)
        found = np.where(is_open, OPEN, NO_RULE_BROKEN)
        found[self.broken] = HOLD
        return found.astype(np.int8)
