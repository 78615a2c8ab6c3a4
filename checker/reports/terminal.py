"""A check on a terminal: outcome first, then what to mend, then every rule by question."""

from collections.abc import Iterator

from rich.console import Console, Group, RenderableType
from rich.padding import Padding
from rich.text import Text

from checker.engine import Check, Finding, Outcome, deciding_fields
from checker.reports.words import (
    CAUTIONS,
    HEADLINES,
    counts,
    field_words,
    found_and_wanted,
    kind_for,
    margin_words,
    of_verdict,
    sources,
)
from checker.rulebooks.verdicts import Verdict
from checker.unit_words import System, show

QUESTIONS = {
    "placement": "PLACEMENT - is the machine placed right on the deck?",
    "tiedowns": "TIEDOWNS - is it tied down right?",
    "coupling": "COUPLING - is the trailer hitched right?",
    "walk-around": "WALK-AROUND - was everything looked at?",
    "trip": "TRIP - the road, the stops",
    "limits": "LIMITS - ratings, sizes, licence",
}
_WORDS = {
    Verdict.NOT_MET: "NOT MET",
    Verdict.TOO_CLOSE: "CLOSE",
    Verdict.NOT_STATED: "UNKNOWN",
    Verdict.MET: "met",
}
_STYLES = {
    Verdict.NOT_MET: "bold red",
    Verdict.TOO_CLOSE: "bold yellow",
    Verdict.NOT_STATED: "yellow",
    Verdict.MET: "green",
}
_MOST_FIELDS_NAMED = 4


def print_check(check: Check, console: Console, system: System) -> None:
    """Print one check; colour only repeats what the words say."""
    console.print(_head(check))
    for part in (_first_things(check), _state_next(check)):
        if part:
            console.print(part)
    for question, heading in QUESTIONS.items():
        findings = [
            finding
            for finding in check.findings
            if finding.rule.question == question and finding.verdict is not Verdict.DOES_NOT_APPLY
        ]
        if findings:
            console.print(Text(f"\n{heading}", style="bold"))
            order = list(_WORDS)
            for finding in sorted(findings, key=lambda each: order.index(each.verdict)):
                console.print(_entry(finding, system))
    console.print(_left_out(check))
    console.print(Text("\n" + "\n".join(CAUTIONS), style="italic"))


def _head(check: Check) -> RenderableType:
    style = {Outcome.HOLD: "bold red", Outcome.OPEN: "bold yellow"}.get(check.outcome, "bold green")
    totals = counts(check.findings)
    summary = ", ".join(f"{number} {verdict}" for verdict, number in totals.items() if number)
    headline = HEADLINES[check.outcome]
    shoulds = len(of_verdict(check, Verdict.NOT_MET, "should"))
    if shoulds and check.outcome is not Outcome.HOLD:
        headline += f"; {shoulds} should-rule{'s' if shoulds > 1 else ''} not met"
    return Group(
        Text(check.load.title, style="bold"),
        Text(f"{check.load.file}, judged for {check.on.isoformat()}"),
        Text(f"\n{headline}", style=style),
        Text(f"{len(check.findings)} rules: {summary}"),
    )


def _first_things(check: Check) -> RenderableType | None:
    """Fixes of the must-rules that are not met, in a list of what to do first."""
    broken = of_verdict(check, Verdict.NOT_MET, "must")
    if not broken:
        return None
    lines = [Text("\nDO FIRST", style="bold")]
    fixes = dict.fromkeys(finding.rule.fix for finding in broken)
    lines += [Text(f"{number}. {fix}") for number, fix in enumerate(fixes, 1)]
    return Group(*lines)


def _state_next(check: Check) -> RenderableType | None:
    """The few fields that would decide the most."""
    fields = deciding_fields(check.findings)
    if not fields:
        return None
    lines = [Text("\nSTATE NEXT - these fields would decide the most rules", style="bold")]
    for path, decided in fields:
        after = f"decides {decided} more" if decided else "needed with others"
        lines.append(Text(f"- {field_words(path, check)}: {after}"))
    return Group(*lines)


def _entry(finding: Finding, system: System) -> RenderableType:
    """One rule: a line for its verdict and title, and below it the working and the source."""
    word = _WORDS[finding.verdict]
    level = "" if finding.rule.level == "must" else " (should)"
    line = Text.assemble((f"{word:<8}", _STYLES[finding.verdict]), f"{finding.rule.title}{level}")
    below = "\n".join(_details(finding, system))
    return Group(line, Padding(Text(below), (0, 0, 0, 8), expand=False))


def _details(finding: Finding, system: System) -> Iterator[str]:
    where = f"{finding.subject.name}: " if finding.subject else ""
    sides = found_and_wanted(finding, system)
    if sides and finding.verdict is not Verdict.NOT_STATED:
        margin = margin_words(finding)
        tail = f" ({margin})" if margin else ""
        yield f"{where}{sides.found}; wanted {sides.wanted}{tail}"
    for shown in finding.shows:
        yield f"{shown.label}: {show(shown.value, kind_for(shown), system)}"
    if finding.verdict is Verdict.NOT_STATED:
        yield f"{where}{_gap(finding)}"
    elif finding.verdict is not Verdict.MET:
        yield f"Why: {finding.rule.because}"
        yield f"Do: {finding.rule.fix}"
    if finding.metric_print:
        yield "judged by the printed metric figures, the stricter here"
    yield f"[{finding.rule.id}] {'; '.join(sources(finding))}"


def _gap(finding: Finding) -> str:
    """What an undecided rule waits for."""
    if finding.reason:
        return finding.reason
    named = ", ".join(finding.missing[:_MOST_FIELDS_NAMED])
    rest = len(finding.missing) - _MOST_FIELDS_NAMED
    return f"not stated: {named}" + (f" and {rest} more" if rest > 0 else "")


def _left_out(check: Check) -> RenderableType:
    """Which bodies of rules were in force, and how many of their rules do not concern this load."""
    lines = [Text("\nRULES IN FORCE", style="bold")]
    for entry in check.in_force:
        rules = [f for f in check.findings if f.book is entry.book]
        idle = sum(finding.verdict is Verdict.DOES_NOT_APPLY for finding in rules)
        if entry.verdict is Verdict.MET:
            said = f"{len(rules)} rules, {idle} do not concern this load"
        elif entry.verdict is Verdict.NOT_STATED:
            said = f"not known whether they apply; not stated: {', '.join(entry.missing[:4])}"
        elif entry.book.scope:
            said = f"left out: {entry.book.scope.because}"
        lines.append(Text(f"- {entry.book.title} ({entry.book.id} {entry.book.digest}): {said}"))
    return Group(*lines)
