"""SARIF 2.1.0 (OASIS): results at the line of the load to edit, and their rules."""

import hashlib
from pathlib import PurePath
from typing import Any
from urllib.parse import quote

from checker.documents.escaping import json_text
from checker.evaluation.finding import Finding
from checker.evaluation.gate import Stop
from checker.reports.shared.actions import rule_actions
from checker.reports.shared.check_results import (
    DOUBTFUL,
    UNREAD,
    UNREAD_SUBJECTS,
    UNREADABLE,
    CheckedLoad,
    CheckRun,
    FindingToReport,
    Unreadable,
    findings_to_report,
    note_lines,
    stops_the_load,
    warnings,
)
from checker.reports.shared.line_hashes import LineHashes
from checker.reports.shared.line_to_edit import top_of
from checker.reports.shared.repository_paths import repository_path
from checker.reports.shared.words import CAUTIONS, sources, statement_alone
from checker.rulebooks.citations import Location
from checker.rulebooks.model import Rule
from checker.rulebooks.verdicts import Verdict

_SCHEMA = (
    "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"
)


_WARNINGS = {
    DOUBTFUL: "A figure far outside the usual",
    UNREAD: "No rulebook read for a place of the trip",
    UNREAD_SUBJECTS: "Law of a place of the trip that was not read",
    UNREADABLE: "A file that cannot be read, so that nothing of it was checked",
}
"""What a result is about where no rule of a rulebook gave it."""


def report(run: CheckRun) -> str:
    """All loads of a run as one SARIF log with one run."""
    listed = [
        (checked, each) for checked in run.checked for each in findings_to_report(checked, run)
    ]
    findings = {each.finding.rule.id: each.finding for _, each in listed}
    hashes = LineHashes()
    results = [_result(checked, each, hashes) for checked, each in listed]
    results += [result for checked in run.checked for result in _warned(checked, run, hashes)]
    results += [result for each in run.unreadable for result in _unreadable(each, hashes)]
    rules = [_rule(finding) for finding in findings.values()]
    told = {result["ruleId"] for result in results} - findings.keys()
    rules += [_rule_of_warning(name) for name in _WARNINGS if name in told]
    indices = {rule["id"]: index for index, rule in enumerate(rules)}
    log = {
        "$schema": _SCHEMA,
        "version": "2.1.0",
        "runs": [
            {
                "tool": {
                    "driver": {
                        "name": "cinchbook",
                        "fullName": f"cinchbook {run.version}",
                        "version": run.version,
                        # As the ids of its schemas; no page on the web is the project's own.
                        "informationUri": f"urn:cinchbook:{quote(run.version)}",
                        "fullDescription": {"text": " ".join(CAUTIONS)},
                        "rules": rules,
                    }
                },
                "invocations": [
                    {
                        "executionSuccessful": not run.unreadable,
                        "toolExecutionNotifications": [
                            note for checked in run.checked for note in _notes(checked, run)
                        ],
                    }
                ],
                "columnKind": "unicodeCodePoints",
                "results": [
                    result | {"ruleIndex": indices[result["ruleId"]]} for result in results
                ],
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


def _rule_of_warning(name: str) -> dict[str, Any]:
    about = {"text": _WARNINGS[name]}
    return {
        "id": name,
        "name": _WARNINGS[name],
        "shortDescription": about,
        "fullDescription": about,
        "help": about,
    }


def _level(rule: Rule) -> str:
    return "error" if rule.level == "must" else "warning"


def _kind_and_level(each: FindingToReport) -> tuple[str, str]:
    """What SARIF calls the verdict. Only what fails may have a level other than none (3.27.10).

    So a must-rule that is undecided, or whatever else stops a load, fails with a warning: readers
    that show levels alone would otherwise not show it.
    """
    rule, verdict = each.finding.rule, each.finding.verdict
    if verdict is Verdict.NOT_MET or each.stop is Stop.NEAR:
        return "fail", _level(rule)
    if verdict is Verdict.MET:
        return "pass", "none"
    return ("fail", "warning") if rule.level == "must" or each.stop else ("open", "none")


def _entry(
    name: str, level: str, words: str, place: Location, load: str, hashes: LineHashes, *key: str
) -> dict[str, Any]:
    """A result that fails; `key` are the parts of its own fingerprint beside the load's file."""
    prints = {"loadRuleSubject/v1": _fingerprint(load, *key)}
    line_hash = hashes.at(place)
    return {
        "ruleId": name,
        "kind": "fail",
        "level": level,
        "message": {"text": words},
        "locations": [_location(place)],
        "partialFingerprints": prints
        | ({"primaryLocationLineHash": line_hash} if line_hash else {}),
        "properties": {"load": repository_path(load)},
    }


def _result(checked: CheckedLoad, each: FindingToReport, hashes: LineHashes) -> dict[str, Any]:
    finding, load = each.finding, checked.check.load
    kind, level = _kind_and_level(each)
    words = f"{load.title}: {statement_alone(finding)}: {each.summary}."
    words += f" Do: {each.action}" if each.action else ""
    subject = finding.subject.name if finding.subject else ""
    key = (finding.book.id, finding.rule.id, subject)
    result = _entry(finding.rule.id, level, words, each.location, str(load.file), hashes, *key)
    result["kind"] = kind
    result["relatedLocations"] = _related(each)
    result["properties"]["verdict"] = finding.verdict
    if finding.variance:
        result["suppressions"] = [
            {
                "kind": "external",
                "justification": f"{finding.variance.because} ({finding.variance.by}, until "
                f"{finding.variance.ends})",
            }
        ]
    return result


def _related(each: FindingToReport) -> list[dict[str, Any]]:
    """The lines of shared files behind a finding; the rule, where it is one of the repository."""
    lines = [(line.location, f"{line.field}: {line.text}") for line in each.shared]
    lines.append((each.finding.rule.location, "the rule"))
    # A server has no file from outside the repository, and the path of one differs by machine.
    return [
        _location(place, words)
        for place, words in lines
        if not PurePath(repository_path(place.file)).is_absolute()
    ]


def _warned(checked: CheckedLoad, run: CheckRun, hashes: LineHashes) -> list[dict[str, Any]]:
    """Doubtful figures, and law that was not read."""
    load = checked.check.load
    found = []
    for each in warnings(checked.check):
        stopped = stops_the_load(each, run)
        if each.name != UNREAD_SUBJECTS or stopped:
            level, words = "error" if stopped else "warning", f"{load.title}: {each.words}"
            at, file = each.location, str(load.file)
            found.append(_entry(each.name, level, words, at, file, hashes, each.name, each.summary))
    return found


def _unreadable(unreadable: Unreadable, hashes: LineHashes) -> list[dict[str, Any]]:
    return [
        _entry(
            UNREADABLE,
            "error",
            f"{repository_path(unreadable.file)}: {problem.words}",
            Location(problem.file, problem.mark),
            unreadable.file,
            hashes,
            problem.words,
        )
        for problem in unreadable.problems
    ]


def _notes(checked: CheckedLoad, run: CheckRun) -> list[dict[str, Any]]:
    """The profile's own notes, and law that nobody read; what stops the load is a result."""
    top = top_of(checked.check.load)
    notes = [(words, top) for words in note_lines(checked.check)] + [
        (each.words, each.location)
        for each in warnings(checked.check)
        if each.name == UNREAD_SUBJECTS and not stops_the_load(each, run)
    ]
    title = checked.check.load.title
    return [
        {"level": "note", "message": {"text": f"{title}: {words}"}, "locations": [_location(place)]}
        for words, place in notes
    ]


def _fingerprint(load: str, *key: str) -> str:
    """A key that stays the same for one rule on one part of one load, at any line."""
    text = "\n".join((repository_path(load), *key))
    return hashlib.blake2b(text.encode("utf-8", "surrogatepass"), digest_size=16).hexdigest()


def _location(place: Location, message: str | None = None) -> dict[str, Any]:
    path = PurePath(repository_path(place.file))
    uri = path.as_uri() if path.is_absolute() else quote(path.as_posix())
    region = {"startLine": place.mark.line, "startColumn": place.mark.column}
    location: dict[str, Any] = {
        "physicalLocation": {"artifactLocation": {"uri": uri}, "region": region}
    }
    if message:
        location["message"] = {"text": message}
    return location
