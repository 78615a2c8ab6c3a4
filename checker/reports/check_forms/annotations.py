"""CI annotations beside the lines of a file: `::error file=...::...`.

The form and its escapes are those that GitHub documents for its workflow commands. Its page shows
ten annotations of each level in a step (its documentation, from memory), so each load has one of
each level, with everything of that level in its message, and errors come first.
"""

from collections.abc import Iterator
from itertools import accumulate
from typing import Final

from msgspec import Struct

from checker.documents.escaping import escape_commands
from checker.documents.problems import count_problems
from checker.evaluation.gate import Stop
from checker.reports.shared.check_results import (
    UNREAD_SUBJECTS,
    CheckedLoad,
    CheckRun,
    FindingToReport,
    Unreadable,
    WarningToReport,
    findings_to_report,
    note_lines,
    stops_the_load,
    warnings,
)
from checker.reports.shared.line_to_edit import top_of
from checker.reports.shared.repository_paths import repository_path
from checker.reports.shared.words import number_of, statement_alone
from checker.rulebooks.citations import Location
from checker.rulebooks.verdicts import Verdict

_LEVELS: Final = {"error": "to fix", "warning": "to look at", "notice": "to know"}
_MOST_BYTES: Final = 60_000
"""A message may have 64 kB (the documentation of GitHub's checks, from memory)."""


class _Entry(Struct, frozen=True):
    """One thing to say about a load, and the line that it is at."""

    level: str
    place: Location
    words: str


def report(run: CheckRun) -> str:
    """One line for each level of each load and of each file that cannot be read, errors first."""
    lines = [("error", _unreadable(each)) for each in run.unreadable]
    for checked in run.checked:
        entries = list(_entries(checked, run))
        for level, what in _LEVELS.items():
            of_level = [each for each in entries if each.level == level]
            if of_level:
                title = f"{checked.check.load.title}: {len(of_level)} {what}"
                words = [each.words for each in of_level]
                lines.append((level, _line(level, of_level[0].place, title, words)))
    order = list(_LEVELS)
    lines.sort(key=lambda pair: order.index(pair[0]))
    return "".join(f"{line}\n" for _, line in lines)


def _entries(checked: CheckedLoad, run: CheckRun) -> Iterator[_Entry]:
    """What needs a look first, so that an annotation is at the line of a finding if it has one."""
    for each in findings_to_report(checked, run):
        words = f"{statement_alone(each.finding)} [{each.finding.rule.id}]: {each.summary}."
        words += f" Do: {each.action}" if each.action else ""
        yield _Entry(_level(each), each.location, words)
    for warned in warnings(checked.check):
        words = f"{warned.words} [{warned.name}]"
        yield _Entry(_of_warning(warned, run), warned.location, words)
    top = top_of(checked.check.load)
    for words in note_lines(checked.check):
        yield _Entry("notice", top, words)


def _unreadable(unreadable: Unreadable) -> str:
    problems = unreadable.problems
    first = Location(problems[0].file, problems[0].mark)
    title = f"{number_of(count_problems(problems), 'problem')} in the file"
    words = [f"{each.mark.line}:{each.mark.column}: {each.words}" for each in problems]
    return _line("error", first, title, words)


def _level(each: FindingToReport) -> str:
    """`error` for what stops the load; `warning` for what else is not met; else `notice`."""
    if each.stop in (Stop.BROKEN, Stop.UNDECIDED, Stop.NEAR):
        return "error"
    return "warning" if each.finding.verdict is Verdict.NOT_MET else "notice"


def _of_warning(warned: WarningToReport, run: CheckRun) -> str:
    if stops_the_load(warned, run):
        return "error"
    return "notice" if warned.name == UNREAD_SUBJECTS else "warning"


def _line(level: str, place: Location, title: str, words: list[str]) -> str:
    sizes = accumulate(len(each.encode("utf-8", "surrogatepass")) + 1 for each in words)
    shown = words[: sum(size <= _MOST_BYTES for size in sizes)]
    if len(words) > len(shown):
        shown.append(f"and {len(words) - len(shown)} more, which the other forms have")
    at = f"file={_property(repository_path(place.file))}"
    at += f",line={place.mark.line},col={place.mark.column}"
    message = "\n".join(shown)
    return f"::{level} {at},title={_property(title)}::{_data(message)}"


def _data(text: str) -> str:
    return escape_commands(text).replace("%", "%25").replace("\r", "%0D").replace("\n", "%0A")


def _property(text: str) -> str:
    return _data(text).replace(":", "%3A").replace(",", "%2C")
