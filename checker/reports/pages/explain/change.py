"""What would change the verdict of a rule: fixes, room left, fields to state or to measure."""

from collections.abc import Iterator

from checker.advice.explain import Explanation
from checker.advice.room import Room
from checker.documents.schemas import field_description
from checker.evaluation.finding import Finding
from checker.reports.pages.explain.figures import DIGITS, formula_words
from checker.reports.shared.actions import fix_words
from checker.reports.shared.glossary import words_of
from checker.rulebooks.verdicts import Verdict
from checker.units.formatting import System, show


def changes(explanation: Explanation, system: System) -> Iterator[str]:
    """One line for each thing that would change the verdict."""
    finding = explanation.finding
    if finding is None:
        repealed = explanation.repealed is not None
        yield (
            "A day before it was repealed."
            if repealed
            else (f"A trip that touches {explanation.book.jurisdiction}.")
        )
        return
    match finding.verdict:
        case Verdict.NOT_MET:
            yield f"To do: {finding.fix}"
            yield from _fixes(explanation, system)
        case Verdict.NOT_STATED:
            yield from _to_state(finding, explanation)
        case Verdict.TOO_CLOSE if finding.settled_by:
            meaning = words_of(explanation.check.load)(field_description(finding.settled_by))
            yield f"Measure {finding.settled_by} more closely: {meaning}"
        case Verdict.MET:
            yield from _rooms(explanation, system)
        case Verdict.DOES_NOT_APPLY:
            yield _would_apply(explanation, system)


def _fixes(explanation: Explanation, system: System) -> Iterator[str]:
    for fix in explanation.fixes:
        yield f"Smallest fix: {fix_words(fix, explanation.check, system)}"
    if not explanation.fixes:
        yield words_of(explanation.check.load)(
            "No change of position, weight or tiedown rating alone would be enough."
        )


def _to_state(finding: Finding, explanation: Explanation) -> Iterator[str]:
    words = words_of(explanation.check.load)
    if finding.reason:
        yield f"{finding.reason[0].upper()}{finding.reason[1:]}."
    for field in finding.missing:
        yield f"State {field}: {words(field_description(field))}"


def _rooms(explanation: Explanation, system: System) -> Iterator[str]:
    several = len(explanation.check.load.articles) > 1
    for room in explanation.rooms:
        yield _room(room, room.article if several else "it", system)
    if not explanation.rooms:
        yield (
            "No change of position or weight alone would break it; it depends on what is stated "
            "above."
        )


def _room(room: Room, whose: str, system: System) -> str:
    """The values between which one thing may be, all else as stated."""
    place = room.kind == "place"
    kind, verb, where = (
        ("length", "stands", " behind the ball") if place else ("load", "weighs", "")
    )
    ends = [
        f"{word} {show(end, kind, system, digits=DIGITS)}"
        for word, end in (("less than", room.least), ("more than", room.most))
        if end is not None
    ]
    today = show(room.today, kind, system, digits=DIGITS)
    return f"Not met once {whose} {verb} {' or '.join(ends)}{where}; today {today}."


def _would_apply(explanation: Explanation, system: System) -> str:
    """The condition that would have to hold for the rule to apply."""
    if explanation.in_force.verdict is Verdict.DOES_NOT_APPLY:
        worked, what = explanation.scope, "Its rulebook would be in force"
    else:
        worked, what = explanation.when, "It would apply"
    if worked is None:
        return f"{what} if the load had a {explanation.rule.for_each}."
    sides = formula_words(worked, explanation, system).sides(worked.deciding)
    return f"{what} if this were otherwise: {sides.found}; wanted {sides.wanted}."
