"""Findings as CSV (RFC 4180): one row for each rule that applies to each load.

What to do is that of the rule: a table of many loads is not worth a search of changes for each.
"""

from checker.documents.problems import Mark
from checker.evaluation.gate import outcome_at
from checker.reports.shared.actions import finding_action
from checker.reports.shared.cells import csv_table
from checker.reports.shared.check_results import (
    CheckedLoad,
    CheckRun,
    note_lines,
    summary_words,
    warnings,
)
from checker.reports.shared.comparison_words import found_and_wanted
from checker.reports.shared.line_to_edit import line_to_edit, top_of
from checker.reports.shared.repository_paths import repository_path
from checker.reports.shared.words import sources
from checker.rulebooks.verdicts import Verdict

COLUMNS = (
    "file",
    "load",
    "day",
    "outcome",
    "rule",
    "title",
    "rulebook",
    "digest",
    "verdict",
    "level",
    "basis",
    "question",
    "subject",
    "found",
    "wanted",
    "margin",
    "excused",
    "missing",
    "said",
    "fix",
    "source",
    "at",
)


def report(run: CheckRun) -> str:
    """All notes, warnings and findings of all loads, then the problems of unreadable files."""
    rows = [row for checked in run.checked for row in _rows(checked, run)]
    for unreadable in run.unreadable:
        for problem in unreadable.problems:
            row = {
                "file": repository_path(unreadable.file),
                "outcome": "not judged",
                "verdict": "problem",
            }
            rows.append(row | {"said": problem.words, "at": _written(problem.file, problem.mark)})
    return csv_table(COLUMNS, rows)


def _rows(checked: CheckedLoad, run: CheckRun) -> list[dict[str, str]]:
    check = checked.check
    outcome = outcome_at(check, run.fail_on, run.near)
    of_load = {
        "file": repository_path(str(check.load.file)),
        "load": check.load.title,
        "day": check.on.isoformat(),
        "outcome": outcome,
    }
    top = top_of(check.load)
    rows = [
        of_load | {"verdict": "note", "said": note, "at": _written(top.file, top.mark)}
        for note in note_lines(check)
    ]
    rows += [
        of_load
        | {"verdict": "warning", "rule": each.name, "said": each.summary}
        | {"fix": each.action, "at": _written(each.location.file, each.location.mark)}
        for each in warnings(check)
    ]
    for finding in run.findings_to_list(checked):
        at = line_to_edit(finding, check)
        sides = found_and_wanted(finding, checked.system)
        idle = finding.verdict is Verdict.DOES_NOT_APPLY
        margin = None if idle else finding.margin
        rows.append(
            {
                **of_load,
                "rule": finding.rule.id,
                "title": finding.statement,
                "rulebook": finding.book.id,
                "digest": finding.book.digest,
                "verdict": finding.verdict,
                "level": finding.rule.level,
                "basis": finding.rule.basis,
                "question": finding.rule.question,
                "subject": finding.subject.name if finding.subject else "",
                "found": sides.found if sides else "",
                "wanted": sides.wanted if sides else "",
                "margin": "" if margin is None else f"{margin:.6g}",
                "excused": "yes" if finding.variance else "no",
                "missing": ", ".join(finding.missing),
                "said": "" if idle else summary_words(finding, check, checked.system),
                "fix": finding_action(finding, (), check, checked.system)
                if finding.verdict is Verdict.NOT_MET
                else "",
                "source": "; ".join(sources(finding)),
                "at": _written(at.file, at.mark),
            }
        )
    return rows


def _written(file: str, mark: Mark) -> str:
    return f"{repository_path(file)}:{mark.line}"
