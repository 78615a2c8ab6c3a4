"""What stops a load at the gate: from the must-rules alone to everything that is close."""

from enum import StrEnum

from checker.evaluation.engine import Check, Finding, Outcome
from checker.evaluation.strictness import FailOn
from checker.rulebooks.verdicts import Verdict
from checker.units.arithmetic import at_least


class Stop(StrEnum):
    """Why a finding stops a load."""

    BROKEN = "not met"
    UNDECIDED = "undecided"
    NEAR = "near the limit"


def stop(finding: Finding, fail_on: FailOn, near: float) -> Stop | None:
    """Why one finding stops its load at a gate, or None where it does not.

    `near` is the share of its limit by which a rule must be met at the strictest gate. A finding
    under a variance stops nothing.
    """
    if finding.variance is not None:
        return None
    must = finding.rule.level == "must"
    match finding.verdict:
        case Verdict.NOT_MET if must or fail_on.includes(FailOn.SHOULD):
            return Stop.BROKEN
        case Verdict.TOO_CLOSE | Verdict.NOT_STATED if must or fail_on.includes(FailOn.OPEN):
            return Stop.UNDECIDED
        case Verdict.MET if fail_on is FailOn.NEAR and is_near(finding, near):
            return Stop.NEAR
    return None


def is_near(finding: Finding, share: float) -> bool:
    """Whether a rule is met by no more than a share of its limit, where that says something."""
    deciding = finding.governing
    return (
        finding.verdict is Verdict.MET
        and finding.margin is not None
        and at_least(share, finding.margin) == 1
        and not finding.rule.usual_at_limit
        and deciding is not None
        and deciding.operator != "=="
        and not counts_things(finding)
    )


def counts_things(finding: Finding) -> bool:
    """Whether the rule compares a number of things, where a share of the limit says little."""
    deciding = finding.governing
    return deciding is not None and any(
        used.fact.kind == "count" and used.fact.name in deciding.names for used in finding.facts
    )


def outcome_at(check: Check, fail_on: FailOn, near: float) -> Outcome:
    """What a load comes to at a gate: hold where it is stopped for more than a want of facts."""
    if check.outcome is Outcome.HOLD:
        return Outcome.HOLD
    stops = {stop(finding, fail_on, near) for finding in check.findings}
    if stops & {Stop.BROKEN, Stop.NEAR}:
        return Outcome.HOLD
    if check.outcome is Outcome.OPEN or Stop.UNDECIDED in stops:
        return Outcome.OPEN
    return Outcome.NO_RULE_BROKEN
