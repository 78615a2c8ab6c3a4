"""What a run of checks came to, as every report of many loads takes it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from checker.advice.fixes import Fix
from checker.documents.problems import Mark, Problem
from checker.engine import Check, Finding
from checker.gate import FailOn
from checker.rulebooks.model import Place
from checker.unit_words import System


@dataclass(frozen=True, slots=True)
class Checked:
    """A load with its findings, and the smallest changes that would meet its broken rules."""

    check: Check
    fixes: Mapping[str, Sequence[Fix]]


@dataclass(frozen=True, slots=True)
class Unreadable:
    """A file that could not be judged, with everything there is to mend in it."""

    file: str
    problems: Sequence[Problem]


@dataclass(frozen=True, slots=True)
class Gathered:
    """All loads of a run and the files that could not be read, and how the run was asked for."""

    checked: Sequence[Checked]
    unreadable: Sequence[Unreadable]
    system: System
    fail_on: FailOn
    near: float
    version: str


def governing_place(finding: Finding, check: Check) -> Place:
    """The line of the profile, or of what it refers to, that decides a finding.

    That is where the first stated fact of the deciding comparison stands, else the first of any
    fact that the rule looked at, else the top of the profile.
    """
    deciding = finding.governing.names if finding.governing else ()
    used = sorted(finding.facts, key=lambda each: each.fact.name not in deciding)
    for each in used:
        for origin in each.origins.values():
            return Place(origin.file, origin.mark)
    return Place(str(check.load.file), Mark(1, 1))
