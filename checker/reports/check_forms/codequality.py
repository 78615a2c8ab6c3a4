"""A code quality report for GitLab: a JSON list of issues with location and fingerprint."""

import hashlib
from collections.abc import Iterator
from pathlib import PurePath
from typing import Any

from checker.documents.escaping import json_text
from checker.evaluation.gate import Stop
from checker.reports.shared.check_results import (
    UNREAD_SUBJECTS,
    CheckRun,
    FindingToReport,
    findings_to_report,
    note_lines,
    stops_the_load,
    warnings,
)
from checker.reports.shared.words import statement_alone
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
            at, key = problem.mark, (unreadable.file, problem.words)
            yield _issue(problem.words, "unreadable", "blocker", problem.file, at.line, key)
    for checked in run.checked:
        load = checked.check.load
        for note in note_lines(checked.check):
            of_note = (str(load.file), "note", note)
            yield _issue(f"{load.title}: {note}", "note", "info", str(load.file), 1, of_note)
        for warned in warnings(checked.check):
            file, mark = warned.location.file, warned.location.mark
            words, named = (
                f"{load.title}: {warned.words}",
                (str(load.file), warned.name, warned.summary),
            )
            quiet = "info" if warned.name == UNREAD_SUBJECTS else "minor"
            severity = "major" if stops_the_load(warned, run) else quiet
            yield _issue(words, warned.name, severity, file, mark.line, named)
        for each in findings_to_report(checked, run):
            rule, at = each.finding.rule, each.location.mark
            subject = each.finding.subject.name if each.finding.subject else ""
            words = f"{load.title}: {statement_alone(each.finding)}: {each.summary}"
            words += f". Do: {each.action}" if each.action else ""
            key = (str(load.file), rule.id)
            whole = (*key, each.finding.book.id, subject)
            yield _issue(words, rule.id, _severity(each), each.location.file, at.line, whole)


def _severity(each: FindingToReport) -> str:
    if each.stop is Stop.BROKEN:
        return "critical" if each.finding.rule.level == "must" else "major"
    if each.stop is not None:
        return "major"
    return "minor" if each.finding.verdict is Verdict.NOT_MET else "info"


def _issue(
    words: str, name: str, severity: str, file: str, line: int, key: tuple[str, ...]
) -> dict[str, Any]:
    return {
        "description": words,
        "check_name": name,
        "fingerprint": _digest("\n".join(key)),
        "severity": severity,
        "location": {"path": PurePath(file).as_posix(), "lines": {"begin": line}},
    }


def _digest(text: str) -> str:
    return hashlib.blake2b(text.encode(), digest_size=16).hexdigest()
