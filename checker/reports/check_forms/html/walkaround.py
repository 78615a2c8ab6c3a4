"""The walk-around as a list to tick by hand, and where to stop and look again."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from checker.evaluation.check import Check, Finding
from checker.rulebooks.verdicts import Verdict
from checker.units.arithmetic import Number
from checker.units.formatting import System

_SAID = {
    Verdict.MET: "the profile says so",
    Verdict.NOT_MET: "the profile says it is NOT so",
    Verdict.TOO_CLOSE: "too close to call",
    Verdict.NOT_STATED: "nobody has said",
}


@dataclass(frozen=True, slots=True)
class ToTick:
    """One thing to look at: what should be found, and what the profile says of it."""

    what: str
    said: str
    wanting: bool


@dataclass(frozen=True, slots=True)
class Stop:
    """A stop to look at the load again, or a rule on such stops."""

    what: str
    said: str
    wanting: bool


def to_tick(check: Check) -> list[ToTick]:
    """Everything rules want looked at before leaving; one entry for what several of them want.

    Rules on the same fact ask for the same look.
    """
    found: dict[object, ToTick] = {}
    for finding in _asked(check, "walk-around"):
        key = finding.rule.requires.text
        if key not in found:
            wanting = finding.verdict is not Verdict.MET
            found[key] = ToTick(finding.rule.title, _SAID[finding.verdict], wanting)
    return list(found.values())


def stops(check: Check, system: System) -> tuple[list[str], list[Stop]]:
    """The stops the profile plans, and what the rules say of stops."""
    planned = [f"after {_distance(each, system)}" for each in check.load.trip.load_checks or ()]
    rules = [
        Stop(finding.rule.title, _SAID[finding.verdict], finding.verdict is not Verdict.MET)
        for finding in _asked(check, "trip")
        if any(name.startswith("trip.") and "check" in name for name in finding.rule.facts)
    ]
    return planned, rules


def _distance(value: Number, system: System) -> str:
    metres = float(np.atleast_1d(value)[0])
    miles = metres / 1609.344
    return f"{miles:.3g} mi" if system == "us" else f"{metres / 1000:.3g} km"


def _asked(check: Check, question: str) -> Iterator[Finding]:
    undecided = [entry.book for entry in check.in_force if entry.verdict is Verdict.NOT_STATED]
    for finding in check.findings:
        applies = finding.verdict is not Verdict.DOES_NOT_APPLY and finding.book not in undecided
        if applies and finding.rule.question == question:
            yield finding
