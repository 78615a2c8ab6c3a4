"""CI annotations beside the lines of a file: `::error file=...::...`.

The form and its escapes are those that GitHub documents for its workflow commands.
"""

from checker.documents.escaping import escape_commands
from checker.documents.problems import Mark
from checker.evaluation.gate import Stop
from checker.reports.shared.check_results import (
    UNREAD_SUBJECTS,
    CheckRun,
    FindingToReport,
    WarningToReport,
    findings_to_report,
    note_lines,
    stops_the_load,
    warnings,
)
from checker.reports.shared.words import statement_alone
from checker.rulebooks.verdicts import Verdict


def report(run: CheckRun) -> str:
    """One line for each problem and for each finding to report."""
    problems = [problem for unreadable in run.unreadable for problem in unreadable.problems]
    lines = [_line("error", each.file, each.mark, "Problem", each.words) for each in problems]
    for checked in run.checked:
        title = checked.check.load.title
        top = Mark(1, 1)
        lines += [
            _line("notice", str(checked.check.load.file), top, title, words)
            for words in note_lines(checked.check)
        ]
        for warned in warnings(checked.check):
            at, message = warned.location, f"{title}: {warned.words}"
            lines.append(_line(_of_warning(warned, run), at.file, at.mark, warned.name, message))
        for each in findings_to_report(checked, run):
            message = f"{title}: {each.summary}." + (f" Do: {each.action}" if each.action else "")
            heading = f"{statement_alone(each.finding)} [{each.finding.rule.id}]"
            lines.append(
                _line(_level(each), each.location.file, each.location.mark, heading, message)
            )
    return "".join(f"{line}\n" for line in lines)


def _level(each: FindingToReport) -> str:
    """`error` for what stops the load; `warning` for what else is not met; else `notice`."""
    if each.stop in (Stop.BROKEN, Stop.UNDECIDED, Stop.NEAR):
        return "error"
    return "warning" if each.finding.verdict is Verdict.NOT_MET else "notice"


def _of_warning(warned: WarningToReport, run: CheckRun) -> str:
    if stops_the_load(warned, run):
        return "error"
    return "notice" if warned.name == UNREAD_SUBJECTS else "warning"


def _line(level: str, file: str, mark: Mark, title: str, message: str) -> str:
    properties = f"file={_property(file)},line={mark.line},col={mark.column}"
    properties += f",title={_property(title)}"
    return f"::{level} {properties}::{_data(message)}"


def _data(text: str) -> str:
    return escape_commands(text).replace("%", "%25").replace("\r", "%0D").replace("\n", "%0A")


def _property(text: str) -> str:
    return _data(text).replace(":", "%3A").replace(",", "%2C")
