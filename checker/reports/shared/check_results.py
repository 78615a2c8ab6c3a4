"""The results of a run of checks, as every report of several loads uses them."""

from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property

from msgspec import Struct

from checker.advice.fixes import Fix
from checker.advice.nearest import NearestOnDemand
from checker.documents.problems import Problem
from checker.documents.settings import FILE
from checker.evaluation.check import Check
from checker.evaluation.finding import Finding
from checker.evaluation.gate import Stop, is_near, stop
from checker.evaluation.strictness import FailOn
from checker.reports.shared.actions import finding_action, named_fields
from checker.reports.shared.comparison_words import found_and_wanted
from checker.reports.shared.line_to_edit import SharedLine, line_to_edit, shared_lines
from checker.reports.shared.words import (
    margin_words,
    number_of,
    subject_that_decides,
    variance_words,
)
from checker.rulebooks.citations import Location
from checker.rulebooks.unread_subjects import SUBJECTS
from checker.rulebooks.verdicts import Verdict
from checker.units.formatting import System


class CheckedLoad(Struct, frozen=True):
    """A load with its findings, its units, and the smallest changes that would meet its rules."""

    check: Check
    fixes: Mapping[str, Sequence[Fix]]
    system: System
    nearest: NearestOnDemand | None = None
    """The nearest arrangement, where one may be looked for."""


class Unreadable(Struct, frozen=True):
    """A file that could not be checked, with all its problems."""

    file: str
    problems: Sequence[Problem]


class CheckRun(Struct, frozen=True, dict=True):  # a dict, to cache computed values
    """All loads of a run, the files that could not be read, and the options of the run."""

    checked: Sequence[CheckedLoad]
    unreadable: Sequence[Unreadable]
    fail_on: FailOn
    near: float
    version: str
    ignored: Mapping[str, int] = {}
    """How many files in folders each pattern of the settings excluded."""
    full: bool = False
    """True to list rules that do not apply, too, and the working of every rule."""

    @cached_property
    def _to_report(self) -> dict[int, tuple[CheckedLoad, list["FindingToReport"]]]:
        """The findings to report of each load by its id, because every form asks for them."""
        return {}

    def findings_to_list(self, checked: CheckedLoad) -> list[Finding]:
        """The findings of a load that a report lists: of the rules that apply, unless `full`."""
        return [
            each
            for each in checked.check.findings
            if self.full or each.verdict is not Verdict.DOES_NOT_APPLY
        ]


def ignored_words(ignored: Mapping[str, int]) -> str:
    """How many files in folders the settings excluded."""
    each = [f"{number_of(number, 'file')} by '{name}'" for name, number in ignored.items()]
    return f"Not read, as {FILE} says: {', '.join(each)}"


def note_lines(check: Check) -> list[str]:
    """What the profile notes for readers, a line for each note."""
    return [f"Note: {' '.join(text.split())}" for text in check.load.notes]


class FindingToReport(Struct, frozen=True, dict=True):  # a dict, to cache computed values
    """A finding that needs a look, and why it stops its load, if it does."""

    finding: Finding
    stop: Stop | None
    checked: CheckedLoad

    @cached_property
    def location(self) -> Location:
        """The line of the load's own file to edit."""
        return line_to_edit(self.finding, self.checked.check)

    @cached_property
    def shared(self) -> Sequence[SharedLine]:
        """The lines of other files behind it."""
        return shared_lines(self.finding, self.checked.check)

    @cached_property
    def summary(self) -> str:
        """What was found and what is wanted, as one sentence."""
        return summary_words(self.finding, self.checked.check, self.checked.system)

    @cached_property
    def action(self) -> str:
        """What to change."""
        fixes = self.checked.fixes.get(self.finding.rule.id, ())
        return finding_action(self.finding, fixes, self.checked.check, self.checked.system)


def findings_to_report(checked: CheckedLoad, run: CheckRun) -> list[FindingToReport]:
    """Every finding of a load that needs a look, in rule order.

    Those are the ones not met, undecided, or met by no more than the share that counts as near.
    """
    known = run._to_report
    if id(checked) not in known:
        known[id(checked)] = checked, list(_to_report(checked, run))
    return known[id(checked)][1]


def _to_report(checked: CheckedLoad, run: CheckRun) -> Iterator[FindingToReport]:
    for finding in checked.check.findings:
        if finding.verdict is Verdict.DOES_NOT_APPLY:
            continue  # stops nothing and is near no limit
        why = stop(finding, run.fail_on, run.near)
        met = finding.verdict is Verdict.MET
        if why is not None or not met or is_near(finding, run.near):
            yield FindingToReport(finding, why, checked)


def summary_words(finding: Finding, check: Check, system: System) -> str:
    """What was found and what is wanted, as one complete sentence."""
    if finding.verdict is Verdict.NOT_STATED:
        words = finding.reason or f"not stated: {named_fields(finding.missing)}"
    else:
        sides = found_and_wanted(finding, system)
        words = f"{sides.found}; wanted {sides.wanted}" if sides else str(finding.verdict)
        margin = margin_words(finding)
        words += f" ({margin})" if margin else ""
    if finding.variance:
        words += f". Excused {variance_words(finding.variance)}"
    return subject_that_decides(finding, check) + words


class WarningToReport(Struct, frozen=True):
    """A warning that does not change the outcome: its location and what to do."""

    name: str
    location: Location
    summary: str
    action: str

    @property
    def words(self) -> str:
        """The warning and what to do, in one paragraph."""
        return f"{self.summary} {self.action}"


DOUBTFUL, UNREAD, UNREAD_SUBJECTS = "doubtful-figure", "no-rulebook-read", "law-not-read"
UNREADABLE = "unreadable"
"""The name of a problem in a file, where a form wants one beside those of rules."""


def warnings(check: Check) -> list[WarningToReport]:
    """Jurisdictions and subjects whose law was not read, then figures far outside the usual."""
    found = [
        WarningToReport(
            UNREAD,
            _stated_at(check, jurisdiction),
            f"No rulebook read for {jurisdiction}: nothing of its law was checked.",
            "Look its law up before the trip.",
        )
        for jurisdiction in check.unread
    ]
    found += [
        WarningToReport(
            UNREAD_SUBJECTS,
            _stated_at(check, place),
            f"Not looked at in {place}: {', '.join(subjects)}: not in these rulebooks, which hold "
            f"{held_words(check, place)}.",
            "Look them up before the trip.",
        )
        for place, subjects in check.unread_subjects.items()
        if place not in check.unread
    ]
    return found + [
        WarningToReport(
            DOUBTFUL,
            Location(each.at.file, each.at.mark),
            f"Doubtful figure: {each.at.found}; usual: {each.at.wanted}. Why: {each.because}.",
            "Read or measure it again.",
        )
        for each in check.doubts
    ]


def held_words(check: Check, place: str) -> str:
    """The subjects of the law of a place that the rulebooks in force hold."""
    unread = check.unread_subjects.get(place, ())
    return ", ".join(each for each in SUBJECTS if each not in unread) or "none of its law"


def unread_by_place(run: CheckRun) -> list[str]:
    """For each place of the trips of a run, the subjects of its law that nobody read."""
    found: dict[str, dict[str, None]] = {}
    for each in run.checked:
        for place, subjects in each.check.unread_subjects.items():
            found.setdefault(place, {}).update(dict.fromkeys(subjects))
    return [f"Not looked at in {place}: {', '.join(subjects)}" for place, subjects in found.items()]


def stops_the_load(warning: WarningToReport, run: CheckRun) -> bool:
    """True if the gate stops a load for a warning: for law that nobody read."""
    return warning.name != DOUBTFUL and run.fail_on.includes(FailOn.UNREAD)


def _stated_at(check: Check, jurisdiction: str) -> Location:
    """The location where a profile states that its trip goes through a jurisdiction."""
    number = (check.load.trip.places or ()).index(jurisdiction) + 1
    origin = check.load.origins[f"trip.places.{number}"]
    return Location(origin.file, origin.mark)
