"""The outcome of a check in words: the headline, and how many rules came to each verdict."""

from collections import Counter
from collections.abc import Iterable, Sequence

from checker.evaluation.check import Check
from checker.evaluation.finding import Finding
from checker.evaluation.gate import Stop, is_near, outcome_at, stop
from checker.evaluation.outcome import Outcome
from checker.evaluation.route import Leg
from checker.evaluation.strictness import FailOn
from checker.reports.shared.words import join_words, number_of
from checker.rulebooks.verdicts import Verdict

_HEADLINES = {
    Outcome.HOLD: "HOLD: do not leave until this is fixed",
    Outcome.OPEN: "OPEN: not everything could be decided",
    Outcome.NO_RULE_BROKEN: "NO RULE BROKEN",
}
_IN_LISTS = {
    Outcome.HOLD: "HOLD",
    Outcome.OPEN: "OPEN",
    Outcome.NO_RULE_BROKEN: "no rule broken",
}
_AS_STATED = ", by what the profile states"
OF_THOSE_LOOKED_AT = ", of those looked at"
"""Follows "no rule broken" where some law of the trip was not read."""


def headline(check: Check, fail_on: FailOn = FailOn.MUST, near: float = 0.0) -> str:
    """The outcome at a gate in words, with what failed it, should-rules, variances and doubts."""
    failed = gate_words(check, fail_on, near)
    at_gate = outcome_at(check, fail_on, near)
    if failed and at_gate is not check.outcome:
        stops = f"{_IN_LISTS[at_gate]} at the gate (--fail-on {fail_on}): {join_words(failed)}"
        return "; ".join(
            [stops, _without_gate(check), *excused_words(check), *warning_words(check)]
        )
    unmet = [
        each for each in findings_of_verdict(check, Verdict.NOT_MET, "should") if not each.variance
    ]
    parts = excused_words(check)
    words = _HEADLINES[check.outcome]
    partly = OF_THOSE_LOOKED_AT if check.unread_subjects else ""
    if failed:
        parts.append(f"--fail-on {fail_on} also stops it for {join_words(failed)}")
    elif check.outcome is Outcome.NO_RULE_BROKEN and unmet:
        rules = number_of(len(unmet), "should-rule")
        words = f"NO MUST-RULE BROKEN{partly}, but {rules} not met: review them before leaving"
    elif check.outcome is Outcome.NO_RULE_BROKEN and parts:
        words = f"NO OTHER RULE BROKEN{partly or _AS_STATED}"
    elif check.outcome is Outcome.NO_RULE_BROKEN:
        words = f"NO RULE BROKEN{partly or _AS_STATED}"
    elif check.outcome is Outcome.OPEN and unmet:
        parts.append(f"{number_of(len(unmet), 'should-rule')} not met")
    return "; ".join([words, *parts, *warning_words(check)])


def gate_words(check: Check, fail_on: FailOn, near: float) -> list[str]:
    """What stops a load at a gate and would not stop it where only must-rules do."""
    if fail_on is FailOn.MUST:
        return []
    found: Counter[Stop] = Counter()
    for finding in check.findings:
        why = stop(finding, fail_on, near)
        if why is not None and stop(finding, FailOn.MUST, near) is None:
            found[why] += 1
    words = [
        f"{number_of(found[why], kind)} {ending}"
        for why, kind, ending in (
            (Stop.BROKEN, "should-rule", "not met"),
            (Stop.UNDECIDED, "should-rule", "undecided"),
            (Stop.NEAR, "rule", f"met by no more than {near * 100:g} % of the limit"),
        )
        if found[why]
    ]
    places = join_words([*check.unread_subjects]) if fail_on.includes(FailOn.UNREAD) else ""
    return words + ([f"law not read for {places}"] if places else [])


def _without_gate(check: Check) -> str:
    """The outcome by must-rules alone, behind what failed the gate."""
    if check.outcome is Outcome.OPEN:
        return "not everything could be decided"
    return f"no must-rule broken{OF_THOSE_LOOKED_AT if check.unread_subjects else ''}"


def listed_outcome(outcome: Outcome, check: Check) -> str:
    """The outcome of one load among several, in few words."""
    words = _in_list(outcome, partly=bool(check.unread_subjects))
    return "; ".join([words, *excused_words(check)])


def leg_outcome(leg: Leg) -> str:
    """The outcome of one place of a trip, in few words."""
    return _in_list(leg.outcome, partly=bool(leg.unread))


def _in_list(outcome: Outcome, *, partly: bool) -> str:
    looked_at = OF_THOSE_LOOKED_AT if partly and outcome is Outcome.NO_RULE_BROKEN else ""
    return _IN_LISTS[outcome] + looked_at


def excused_words(check: Check) -> list[str]:
    """How many rules are not met, or too close to call, under a variance."""
    excused = [finding.verdict for finding in check.findings if finding.variance]
    ways = ((Verdict.NOT_MET, "not met"), (Verdict.TOO_CLOSE, "too close to call"))
    return [
        f"{number_of(excused.count(verdict), 'rule')} {words} under a variance"
        for verdict, words in ways
        if verdict in excused
    ]


def warning_words(check: Check) -> list[str]:
    """The part of the headline about doubtful figures and jurisdictions whose law was not read."""
    parts = [f"no rulebook read for {join_words(check.unread)}"] if check.unread else []
    return parts + ([number_of(len(check.doubts), "doubtful figure")] if check.doubts else [])


def sources_due_for_review(check: Check) -> list[str]:
    """Titles of sources behind the findings that are due for another look."""
    cited = [finding.rule.citation for finding in check.findings]
    cited += [value.citation for finding in check.findings for _, value in finding.thresholds]
    stale = {each.source for each in cited if each.source and each.source.look_again < check.on}
    return sorted(f"{source.title} (since {source.look_again})" for source in stale)


def counts(findings: Iterable[Finding]) -> dict[Verdict, int]:
    """The number of rules with each verdict, zeros included."""
    totals = dict.fromkeys(Verdict, 0)
    for finding in findings:
        totals[finding.verdict] += 1
    return totals


def total_words(findings: Sequence[Finding]) -> str:
    """The number of rules, and of each verdict that occurs."""
    parts = [
        number_that_do_not_apply(number)
        if verdict is Verdict.DOES_NOT_APPLY
        else f"{number} {verdict}"
        for verdict, number in counts(findings).items()
        if number
    ]
    return f"{number_of(len(findings), 'rule')}: {', '.join(parts)}"


def number_that_do_not_apply(number: int) -> str:
    """How many rules do not apply, such as `52 do not apply`."""
    return f"{number or 'none'} {'does' if number == 1 else 'do'} not apply"


def near_words(check: Check, near: float) -> str | None:
    """The rules met by no more than a share of their limit, by id; None where there are none."""
    close = [finding.rule.id for finding in check.findings if is_near(finding, near)]
    if not close:
        return None
    return f"Met, but by no more than {near:.0%}: {', '.join(close)}".replace("%", " %")


def findings_of_verdict(check: Check, verdict: Verdict, level: str) -> list[Finding]:
    """The findings of one verdict and level, in rule order."""
    return [f for f in check.findings if f.verdict is verdict and f.rule.level == level]
