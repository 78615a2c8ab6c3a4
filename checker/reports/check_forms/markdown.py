"""A summary in Markdown for a CI page or a merge request: loads on hold first, the rest folded.

It is bounded: a page that shows it in part or not at all would hide what stops a load.
"""

from collections.abc import Callable, Sequence
from functools import partial

from checker.documents.problems import count_problems
from checker.evaluation.gate import outcome_at
from checker.evaluation.outcome import Outcome
from checker.reports.shared.actions import first_things
from checker.reports.shared.check_results import (
    CheckedLoad,
    CheckRun,
    FindingToReport,
    Unreadable,
    findings_to_report,
    ignored_words,
    note_lines,
    stops_the_load,
    unread_by_place,
    warnings,
)
from checker.reports.shared.markdown import plain
from checker.reports.shared.outcome_words import headline, listed_outcome
from checker.reports.shared.route_words import (
    BorderInWords,
    borders_in_words,
    more_words,
    not_everywhere,
    places_in_words,
)
from checker.reports.shared.words import CAUTIONS, number_of, sources, verdict_label
from checker.rulebooks.verdicts import Verdict

_ORDER = (Outcome.HOLD, Outcome.OPEN, Outcome.NO_RULE_BROKEN)
_VERDICTS = {each: str(each) for each in Verdict}
MOST_OF_TABLE, MOST_OF_ENTRIES = 300_000, 600_000
"""Bytes of UTF-8. A summary on GitHub's page of a run holds 1 MiB (its documentation, from memory)
and is not shown at all where it is longer."""


def report(run: CheckRun) -> str:
    """A table of all loads, then each one that is stopped with its fixes; as many as fit."""
    judged = sorted(
        ((outcome_at(each.check, run.fail_on, run.near), each) for each in run.checked),
        key=lambda pair: _ORDER.index(pair[0]),
    )
    total = len(run.checked) + len(run.unreadable)
    head = [f"## cinchbook: {number_of(total, 'load profile')}", ""]
    head += [line for words in unread_by_place(run) for line in (f"**{plain(words)}**", "")]
    head += ["| outcome | load | file | stopped by |", "|---|---|---|---|"]
    rows = [partial(_unread_row, each) for each in run.unreadable]
    rows += [partial(_row, outcome, each, run) for outcome, each in judged]
    entries = [partial(_unread, each) for each in run.unreadable]
    for outcome, each in judged:
        has_more = warnings(each.check) or each.check.load.notes or each.check.route
        if outcome is not Outcome.NO_RULE_BROKEN or has_more:
            entries.append(partial(_stopped, outcome, each, run))
    end = ["", f"{plain(ignored_words(run.ignored))}."] if run.ignored else []
    end += ["", "---", "", *(f"_{plain(caution)}_  " for caution in CAUTIONS)]
    lines = [*head, *_as_fit(rows, MOST_OF_TABLE, "Not in this table")]
    lines += _as_fit(entries, MOST_OF_ENTRIES, "Without details here")
    return "\n".join([*lines, *end]) + "\n"


def _as_fit(makers: Sequence[Callable[[], str]], most: int, left_out: str) -> list[str]:
    """The first texts, the most urgent, as far as they fit; then how many do not.

    What does not fit is not made.
    """
    made: list[str] = []
    room = most
    for make in makers:
        text = make()
        room -= len(text.encode("utf-8", "surrogatepass")) + 1
        if room < 0:
            rest = number_of(len(makers) - len(made), "more load profile")
            return [*made, "", f"**{left_out}: {rest}. The other forms of this report have them.**"]
        made.append(text)
    return made


def _unread_row(unreadable: Unreadable) -> str:
    problems = number_of(count_problems(unreadable.problems), "problem")
    return f"| NOT CHECKED | | {plain(unreadable.file)} | {problems} in the file |"


def _row(outcome: Outcome, checked: CheckedLoad, run: CheckRun) -> str:
    load = checked.check.load
    stops = sum(entry.stop is not None for entry in findings_to_report(checked, run))
    by = [number_of(stops, "rule")] if stops else []
    if any(stops_the_load(each, run) for each in warnings(checked.check)):
        by.append("law not read")
    cells = (
        listed_outcome(outcome, checked.check),
        plain(load.title),
        plain(str(load.file)),
        ", ".join(by),
    )
    return f"| {' | '.join(cells)} |"


def _unread(unreadable: Unreadable) -> str:
    lines = ["", f"### NOT CHECKED: {plain(unreadable.file)}", ""]
    return "\n".join([*lines, *(f"- {plain(str(problem))}" for problem in unreadable.problems)])


def _stopped(outcome: Outcome, checked: CheckedLoad, run: CheckRun) -> str:
    check = checked.check
    lines = ["", f"### {listed_outcome(outcome, check)}: {plain(check.load.title)}", ""]
    lines += [
        f"{plain(headline(check, run.fail_on, run.near))}, checked for {check.on.isoformat()}.",
        "",
    ]
    lines += [part for line in note_lines(check) for part in (plain(line), "")]
    by_place = places_in_words(check)
    lines += [plain(by_place), ""] if by_place else []
    lines += [f"- **{plain(words)}**" for words in not_everywhere(check)]
    lines += [f"- **Warning:** {plain(f'{w.words} ({w.location})')}" for w in warnings(check)]
    lines += [""] if warnings(check) or not_everywhere(check) else []
    things = first_things(check, checked.fixes, checked.system)
    if things:
        lines += ["Do first:", ""]
        lines += [f"{number}. {plain(thing)}" for number, thing in enumerate(things, 1)]
        lines.append("")
    listed = findings_to_report(checked, run)
    stops = [each for each in listed if each.stop is not None]
    rest = [each for each in listed if each.stop is None]
    lines += [_entry(each) for each in stops]
    if rest:
        lines += ["", "<details>", f"<summary>{number_of(len(rest), 'other rule')}</summary>", ""]
        lines += [_entry(each) for each in rest]
        lines += ["", "</details>"]
    for border in borders_in_words(check):
        lines += ["", *_border(border)]
    return "\n".join(lines)


def _border(border: BorderInWords) -> list[str]:
    """One border: the rules that differ, and behind them what else to know."""
    shown, more = border.in_short()
    lines = [f"#### {plain(border.heading)}", ""]
    for entry in shown:
        label = entry.ends or verdict_label(entry.finding, _VERDICTS)
        lines.append(f"- **{label}**: {plain(entry.words)} `{entry.finding.rule.id}`")
    lines += [f"- {more_words(more)}"] if more else []
    return lines + [f"- {plain(note)}" for note in border.notes]


def _entry(each: FindingToReport) -> str:
    rule = each.finding.rule
    level = "" if rule.level == "must" else " (should)"
    cited = "; ".join(sources(each.finding))
    label = plain(verdict_label(each.finding, _VERDICTS))
    words = f"- **{label}**: {plain(each.finding.statement)}{level}: "
    words += f"{plain(each.summary)}."
    if each.action:
        words += f" Do: {plain(each.action)}"
    return f"{words} `{rule.id}`, {plain(cited)}; {plain(str(each.location))}"
