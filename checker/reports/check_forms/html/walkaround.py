"""The walk-around as a checklist to tick by hand, and the stops to check the load."""

from collections.abc import Iterator
from dataclasses import dataclass

from checker.evaluation.check import Check
from checker.evaluation.finding import Finding
from checker.rulebooks.verdicts import Verdict
from checker.units.arithmetic import Number, as_stated
from checker.units.formatting import DISTANCE, System

_STATES = {
    Verdict.MET: "yes, as stated in the profile",
    Verdict.NOT_MET: "NO, as stated in the profile",
    Verdict.TOO_CLOSE: "too close to call",
    Verdict.NOT_STATED: "not stated",
}


@dataclass(frozen=True, slots=True)
class ChecklistItem:
    """One thing to check on the walk-around, and its answer in the profile."""

    what: str
    state: str
    wanting: bool


@dataclass(frozen=True, slots=True)
class Stop:
    """A rule about stops to check the load on the way, and its answer in the profile."""

    what: str
    state: str
    wanting: bool


def checklist(check: Check) -> list[ChecklistItem]:
    """The walk-around questions of all rules; rules that ask the same question share one entry."""
    found: dict[object, ChecklistItem] = {}
    for finding in _asked(check, "walk-around"):
        key = finding.rule.requires.text
        if key not in found:
            wanting = finding.verdict is not Verdict.MET
            found[key] = ChecklistItem(finding.title, _STATES[finding.verdict], wanting)
    return list(found.values())


def stops(check: Check, system: System) -> tuple[list[str], list[Stop]]:
    """The planned stops as text, and the rules about stops."""
    planned = [f"after {_distance(each, system)}" for each in check.load.trip.load_checks or ()]
    rules = [
        Stop(finding.title, _STATES[finding.verdict], finding.verdict is not Verdict.MET)
        for finding in _asked(check, "trip")
        if any(name.startswith("trip.") and "check" in name for name in finding.rule.facts)
    ]
    return planned, rules


def _distance(value: Number, system: System) -> str:
    metres = as_stated(value)
    if DISTANCE in system.metric:
        return f"{metres / 1000:.3g} km"
    return f"{metres / 1609.344:.3g} mi"


def _asked(check: Check, question: str) -> Iterator[Finding]:
    undecided = [entry.book for entry in check.in_force if entry.verdict is Verdict.NOT_STATED]
    for finding in check.findings:
        applies = finding.verdict is not Verdict.DOES_NOT_APPLY and finding.book not in undecided
        if applies and finding.rule.question == question:
            yield finding
