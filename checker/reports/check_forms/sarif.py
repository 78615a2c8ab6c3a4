"""SARIF 2.1.0 (OASIS): results at the deciding line of the profile, and their rules."""

import hashlib
from collections.abc import Mapping, Sequence
from pathlib import PurePath
from typing import Any
from urllib.parse import quote

from checker.documents.escaping import json_text
from checker.documents.problems import Mark, Problem
from checker.evaluation.check import Finding
from checker.evaluation.gate import Stop
from checker.reports.shared.actions import rule_actions
from checker.reports.shared.check_results import (
    UNREAD_SUBJECTS,
    CheckedLoad,
    CheckRun,
    FindingToReport,
    Unreadable,
    findings_to_report,
    note_lines,
    stops_the_load,
    warnings,
)
from checker.reports.shared.words import CAUTIONS, sources, statement_alone
from checker.rulebooks.citations import Location
from checker.rulebooks.model import Rule
from checker.rulebooks.verdicts import Verdict

_SCHEMA = (
    "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"
)
_KINDS = {Verdict.NOT_MET: "fail", Verdict.MET: "pass"}


def report(run: CheckRun) -> str:
    """All loads of a run as one SARIF log with one run; unreadable files are notifications."""
    listed = [
        (checked, each) for checked in run.checked for each in findings_to_report(checked, run)
    ]
    findings = [each.finding for _, each in listed]
    rules = list({finding.rule.id: finding for finding in findings}.values())
    rule_indices = {finding.rule.id: place for place, finding in enumerate(rules)}
    results = [_result(checked, each, rule_indices) for checked, each in listed]
    results += [result for checked in run.checked for result in _warned(checked, run)]
    problems = [problem for each in run.unreadable for problem in _all_of(each)]
    notes = [note for checked in run.checked for note in _notes(checked, run)]
    log = {
        "$schema": _SCHEMA,
        "version": "2.1.0",
        "runs": [
            {
                "tool": {
                    "driver": {
                        "name": "cinchbook",
                        "version": run.version,
                        "fullDescription": {"text": " ".join(CAUTIONS)},
                        "rules": [_rule(finding) for finding in rules],
                    }
                },
                "invocations": [
                    {
                        "executionSuccessful": not run.unreadable,
                        "toolExecutionNotifications": [
                            *(_notification(each) for each in problems),
                            *notes,
                        ],
                    }
                ],
                "columnKind": "unicodeCodePoints",
                "results": results,
            }
        ],
    }
    return json_text(log)


def _rule(finding: Finding) -> dict[str, Any]:
    rule = finding.rule
    cited = "; ".join(sources(finding))
    return {
        "id": rule.id,
        "name": rule.title,
        "shortDescription": {"text": rule.title},
        "fullDescription": {"text": rule.because},
        "help": {"text": f"{' '.join(rule_actions(rule))} Source: {cited}."},
        "defaultConfiguration": {"level": _level(rule)},
        "properties": {
            "basis": rule.basis,
            "level": rule.level,
            "question": rule.question,
            "rulebook": finding.book.id,
            "digest": finding.book.digest,
        },
    }


def _level(rule: Rule) -> str:
    return "error" if rule.level == "must" else "warning"


def _result(
    checked: CheckedLoad, each: FindingToReport, rule_indices: Mapping[str, int]
) -> dict[str, Any]:
    finding = each.finding
    kind = "fail" if each.stop is Stop.NEAR else _KINDS.get(finding.verdict, "open")
    words = f"{statement_alone(finding)}: {each.summary}."
    words += f" Do: {each.action}" if each.action else ""
    result: dict[str, Any] = {
        "ruleId": finding.rule.id,
        "ruleIndex": rule_indices[finding.rule.id],
        # Only what fails has a level (3.27.10).
        "kind": kind,
        "level": _level(finding.rule) if kind == "fail" else "none",
        "message": {"text": words},
        "locations": [_location(each.location)],
        "relatedLocations": [
            *(_location(line.location, f"{line.field}: {line.text}") for line in each.shared),
            _location(finding.rule.location, "the rule"),
        ],
        "partialFingerprints": {"loadRuleSubject/v1": _fingerprint(checked, finding)},
        "properties": {"verdict": finding.verdict, "load": str(checked.check.load.file)},
    }
    if finding.variance:
        result["suppressions"] = [
            {
                "kind": "external",
                "justification": f"{finding.variance.because} ({finding.variance.by}, until "
                f"{finding.variance.ends})",
            }
        ]
    return result


def _warned(checked: CheckedLoad, run: CheckRun) -> list[dict[str, Any]]:
    """Doubtful figures, and law that was not read."""
    return [
        {
            "ruleId": each.name,
            "level": "error" if stops_the_load(each, run) else "warning",
            "message": {"text": each.words},
            "locations": [_location(each.location)],
        }
        for each in warnings(checked.check)
        if each.name != UNREAD_SUBJECTS or stops_the_load(each, run)
    ]


def _notes(checked: CheckedLoad, run: CheckRun) -> list[dict[str, Any]]:
    """The profile's own notes, and law that nobody read; what stops the load is a result."""
    top = Location(str(checked.check.load.file), Mark(1, 1))
    notes = [
        {"level": "note", "message": {"text": words}, "locations": [_location(top)]}
        for words in note_lines(checked.check)
    ]
    return notes + [
        {
            "level": "note",
            "message": {"text": each.words},
            "locations": [_location(each.location)],
        }
        for each in warnings(checked.check)
        if each.name == UNREAD_SUBJECTS and not stops_the_load(each, run)
    ]


def _fingerprint(checked: CheckedLoad, finding: Finding) -> str:
    """A key that stays the same for one rule on one part of one load, at any line."""
    subject = finding.subject.name if finding.subject else ""
    parts = (str(checked.check.load.file), finding.book.id, finding.rule.id, subject)
    return hashlib.blake2b("\n".join(parts).encode(), digest_size=16).hexdigest()


def _location(place: Location, message: str | None = None) -> dict[str, Any]:
    path = PurePath(place.file)
    artifact = {"uri": quote(path.as_posix())}
    if path.is_absolute():
        artifact = {"uri": path.as_uri()}
    region = {"startLine": place.mark.line, "startColumn": place.mark.column}
    location: dict[str, Any] = {
        "physicalLocation": {"artifactLocation": artifact, "region": region}
    }
    if message:
        location["message"] = {"text": message}
    return location


def _all_of(unreadable: Unreadable) -> Sequence[Problem]:
    return unreadable.problems


def _notification(problem: Problem) -> dict[str, Any]:
    return {
        "level": "error",
        "message": {"text": problem.words},
        "locations": [_location(Location(problem.file, problem.mark))],
    }
