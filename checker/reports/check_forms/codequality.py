"""A code quality report for GitLab: a JSON list of issues with location and fingerprint."""

import hashlib
from collections.abc import Iterator
from typing import Any

from checker.documents.escaping import json_text
from checker.evaluation.gate import Stop
from checker.reports.shared.check_results import (
    UNREAD_SUBJECTS,
    UNREADABLE,
    CheckRun,
    FindingToReport,
    findings_to_report,
    note_lines,
    stops_the_load,
    warnings,
)
from checker.reports.shared.line_to_edit import top_of
from checker.reports.shared.repository_paths import repository_path
from checker.reports.shared.words import statement_alone
from checker.rulebooks.citations import Location
from checker.rulebooks.verdicts import Verdict


def report(run: CheckRun) -> str:
    """Every problem and every finding to report, each once."""
    issues = []
    seen: set[str] = set()
    for issue in _issues(run):
        # Two problems may be reported in the same words: the second gets another fingerprint.
        while issue["fingerprint"] in seen:
            issue["fingerprint"] = _digest(issue["fingerprint"])
        seen.add(issue["fingerprint"])
        issues.append(issue)
    return json_text(issues)


def _issues(run: CheckRun) -> Iterator[dict[str, Any]]:
    for unreadable in run.unreadable:
        for problem in unreadable.problems:
            at = Location(problem.file, problem.mark)
            of_file = (repository_path(unreadable.file), problem.words)
            yield _issue(problem.words, UNREADABLE, "blocker", at, of_file)
    for checked in run.checked:
        load = checked.check.load
        file = repository_path(str(load.file))
        for note in note_lines(checked.check):
            yield _issue(
                f"{load.title}: {note}", "note", "info", top_of(load), (file, "note", note)
            )
        for warned in warnings(checked.check):
            words = f"{load.title}: {warned.words}"
            quiet = "info" if warned.name == UNREAD_SUBJECTS else "minor"
            severity = "major" if stops_the_load(warned, run) else quiet
            named = (file, warned.name, warned.summary)
            yield _issue(words, warned.name, severity, warned.location, named)
        for each in findings_to_report(checked, run):
            rule = each.finding.rule
            subject = each.finding.subject.name if each.finding.subject else ""
            words = f"{load.title}: {statement_alone(each.finding)}: {each.summary}"
            words += f". Do: {each.action}" if each.action else ""
            key = (file, rule.id, each.finding.book.id, subject)
            yield _issue(words, rule.id, _severity(each), each.location, key)


def _severity(each: FindingToReport) -> str:
    if each.stop is Stop.BROKEN:
        return "critical" if each.finding.rule.level == "must" else "major"
    if each.stop is not None:
        return "major"
    return "minor" if each.finding.verdict is Verdict.NOT_MET else "info"


def _issue(
    words: str, name: str, severity: str, place: Location, key: tuple[str, ...]
) -> dict[str, Any]:
    return {
        "description": words,
        "check_name": name,
        "fingerprint": _digest("\n".join(key)),
        "severity": severity,
        "location": {
            "path": repository_path(place.file),
            "lines": {"begin": place.mark.line},
        },
    }


def _digest(text: str) -> str:
    return hashlib.blake2b(text.encode("utf-8", "surrogatepass"), digest_size=16).hexdigest()
