"""What stops a load at the gate: from must-rules not met up to everything near its limit."""

from collections.abc import Sequence
from enum import StrEnum
from functools import cache
from typing import Final

import numpy as np

from checker.evaluation.check import Check
from checker.evaluation.dated_rule import counts_things as counts
from checker.evaluation.finding import Finding
from checker.evaluation.outcome import Outcome
from checker.evaluation.rule_rows import (
    NOT_MET,
    NOT_STATED,
    TOO_CLOSE,
    VERDICTS,
    Codes,
    RuleRows,
)
from checker.evaluation.strictness import FailOn


class Stop(StrEnum):
    """The reason why a rule stops a load."""

    BROKEN = "not met"
    UNDECIDED = "undecided"
    NEAR = "near the limit"


STOPS: Final[Sequence[Stop | None]] = (None, *Stop)
_NONE, _BROKEN, _UNDECIDED, _NEAR = range(len(STOPS))


def stops(rows: RuleRows, fail_on: FailOn, near: float) -> Codes:
    """The reason why a rule stops each row at a gate, as an index into STOPS; 0 where it does not.

    `near` is the share of its limit by which a rule must be met at the strictest gate. Under a
    variance only missing facts stop a load.
    """
    must = rows.rule.level == "must"
    of_verdict = _of_verdict(
        broken=must or fail_on.includes(FailOn.SHOULD),
        undecided=must or fail_on.includes(FailOn.OPEN),
    )
    found: Codes = of_verdict[rows.counted]
    if fail_on.includes(FailOn.NEAR):
        found = np.where(rows.near(near), np.int8(_NEAR), found)
    return found


@cache
def _of_verdict(*, broken: bool, undecided: bool) -> Codes:
    """The reason by verdict, at a gate that stops what is broken, or undecided."""
    found = np.full(len(VERDICTS), _NONE, dtype=np.int8)
    found[NOT_MET] = _BROKEN if broken else _NONE
    found[[NOT_STATED, TOO_CLOSE]] = _UNDECIDED if undecided else _NONE
    return found


def stop(finding: Finding, fail_on: FailOn, near: float) -> Stop | None:
    """The reason why one finding stops its load at a gate, or None where it does not."""
    return STOPS[int(stops(finding.rows, fail_on, near)[0])]


def is_near(finding: Finding, share: float) -> bool:
    """True if a rule is met by no more than a share of its limit, where a share is meaningful."""
    return bool(finding.rows.near(share)[0])


def counts_things(finding: Finding) -> bool:
    """True if the rule compares a number of things, where a share of the limit means little."""
    return finding.governing is not None and counts(finding.governing.names)


def outcome_at(check: Check, fail_on: FailOn, near: float) -> Outcome:
    """The outcome of a load at a gate: hold where it is stopped by more than what is unknown."""
    # What the loosest gate stops is what the outcome counts.
    if check.outcome is Outcome.HOLD or fail_on is FailOn.MUST:
        return check.outcome
    found = {stop(finding, fail_on, near) for finding in check.findings}
    if found & {Stop.BROKEN, Stop.NEAR}:
        return Outcome.HOLD
    if check.outcome is Outcome.OPEN or Stop.UNDECIDED in found:
        return Outcome.OPEN
    if fail_on.includes(FailOn.UNREAD) and (check.unread or check.unread_subjects):
        return Outcome.OPEN
    return Outcome.NO_RULE_BROKEN
