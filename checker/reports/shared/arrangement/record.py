"""The record of an arrangement that every form of its report prints."""

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from msgspec import Struct

from checker.advice.arrange.arrangement import Arrangement
from checker.advice.arrange.mark_room import MarkRoom
from checker.advice.arrange.scores import OBJECTIVES, Figures
from checker.advice.arrange.what_if import GearNeed
from checker.evaluation.check import Check
from checker.evaluation.finding import Finding
from checker.reports.shared.actions import finding_action
from checker.reports.shared.arrangement.blocking import (
    Blocked,
    block_change,
    blocked,
    unfit_lines,
)
from checker.reports.shared.arrangement.standing import moved_words
from checker.reports.shared.arrangement.steps import Step, steps_of
from checker.reports.shared.arrangement.tying import (
    Tied,
    anchors,
    difference_words,
    taken_off,
    tied,
)
from checker.reports.shared.check_results import summary_words
from checker.reports.shared.glossary import words_of
from checker.reports.shared.words import join_words, number_of, statement_alone
from checker.rulebooks.verdicts import Verdict
from checker.units.formatting import System

_NEAREST = 4
_OBJECTIVE_WORDS = {
    "shoulds": "should-rules not met or left open",
    "pieces": "pieces of gear",
    "changes": "changes",
    "margin": "least margin",
}
_LEFT = {Verdict.NOT_MET: "BROKEN", Verdict.TOO_CLOSE: "CLOSE", Verdict.NOT_STATED: "OPEN"}


class RuleLine(Struct, frozen=True):
    """A rule of the arrangement's check; `label` is empty for one that is met."""

    rule: str
    level: str
    verdict: Verdict
    label: str
    statement: str
    summary: str
    action: str
    margin: float | None


class Trials(Struct, frozen=True):
    """What was tried of an arrangement on request.

    How far the crew may miss the mark, and what is left without some of the gear.
    """

    rooms: Sequence[MarkRoom] = ()
    gear_needs: Sequence[GearNeed] = ()


NO_TRIALS = Trials()


class ArrangementReport(Struct, frozen=True, kw_only=True):
    """An arrangement in words.

    `check` is that of the arrangement, with labels in the words of the place. `changes` are
    sentences on what differs from the load as stated; empty where nothing does. `nearest` are the
    rules that are met by the least, `left` those that it leaves broken or open.
    """

    arrangement: Arrangement
    check: Check
    system: System
    order: Sequence[str]
    gear: str
    changes: Sequence[str]
    tied: Sequence[Tied]
    blocked: Sequence[Blocked]
    steps: Sequence[Step]
    nearest: Sequence[RuleLine]
    left: Sequence[RuleLine]
    compared: str
    blocks_left_out: Sequence[str]
    """Which blocks of the gear were not proposed, and what would allow it."""
    trials: Trials


class NoArrangement(Struct, frozen=True):
    """A load of which no arrangement meets every must-rule; `why` is that in a sentence.

    `reasons` are lines on what stops it and what would help, `data` is the same for programs.
    """

    load_title: str
    file: str
    on: str
    reasons: Sequence[str]
    data: Mapping[str, Any]
    why: str = "No arrangement of this gear meets every must-rule."


def report_of(
    arrangement: Arrangement,
    check: Check,
    system: System,
    gear: str | None,
    order: Sequence[str] = OBJECTIVES,
    trials: Trials = NO_TRIALS,
) -> ArrangementReport:
    """The record of an arrangement; `gear` is the title of what a crew carries.

    None for the tiedowns that the load itself states.
    """
    found = tied(arrangement)
    return ArrangementReport(
        arrangement=arrangement,
        check=check,
        system=system,
        order=order,
        gear=gear or words_of(check.load)("the tiedowns that the load states"),
        changes=list(_changes(arrangement, found, system)),
        tied=found,
        blocked=blocked(arrangement),
        steps=steps_of(arrangement, found, check, system, gear),
        nearest=_nearest(check, system),
        left=[_line(each, check, system) for each in _left(check)],
        compared=" ".join(_compared(arrangement, order)),
        blocks_left_out=unfit_lines(arrangement.choices),
        trials=trials,
    )


def first_line(report: ArrangementReport) -> str:
    """How many changes the arrangement asks for, or that none does."""
    local = words_of(report.check.load)
    if report.changes:
        return f"{number_of(len(report.changes), 'change')} against the load as stated."
    best = "nothing is better" if report.arrangement.proved else "nothing better was found"
    return local("Nothing needs changing in where it stands and how it is tied down: {}.").format(
        best
    )


def _changes(arrangement: Arrangement, found: Sequence[Tied], system: System) -> Iterator[str]:
    local = words_of(arrangement.check.load)
    load, today = arrangement.check.load, arrangement.choices.load
    for before, after in zip(today.articles, load.articles, strict=True):
        moved = moved_words(before, after, system)
        if moved:
            yield f"{after.title}: {join_words(moved)}."
    for each in found:
        if not each.kept:
            ends = join_words([f"anchor {name}" for name in anchors(each.tiedown)])
            yield local("Tiedown {} to {}: {}.").format(
                each.number, ends, difference_words(each, arrangement)
            )
    yield from map(block_change, blocked(arrangement))
    for number in taken_off(arrangement, found):
        title = (today.tiedowns or ())[number - 1].title
        yield local("Tiedown {} of the load ({}) comes off.").format(number, title)


def _nearest(check: Check, system: System) -> list[RuleLine]:
    met = [
        each
        for each in check.findings
        if each.verdict is Verdict.MET
        and each.margin is not None
        and math.isfinite(each.rows.spare[0])
        and _arranged(each, check)
    ]
    met.sort(key=lambda each: each.margin or 0.0)
    # Rules of several places that compare the same figures are one line.
    lines = {line.summary: line for each in reversed(met) for line in [_line(each, check, system)]}
    return sorted(lines.values(), key=lambda each: each.margin or 0.0)[:_NEAREST]


def _arranged(finding: Finding, check: Check) -> bool:
    """True if the rule reads how something stands or is tied down."""
    fields = {
        field for name in finding.rule.facts for field in check.facts.fields(name, finding.subject)
    }
    return any(
        ".placed." in each or each.startswith(("tiedowns.", "trailer.anchors.")) for each in fields
    )


def _left(check: Check) -> list[Finding]:
    """The rules not met or open, those that stop the load first."""
    undecided = [entry.book for entry in check.in_force if entry.verdict is Verdict.NOT_STATED]
    order = list(_LEFT)
    found = [
        each for each in check.findings if each.verdict in _LEFT and each.book not in undecided
    ]
    return sorted(found, key=lambda each: (each.rule.level != "must", order.index(each.verdict)))


def _line(finding: Finding, check: Check, system: System) -> RuleLine:
    return RuleLine(
        rule=finding.rule.id,
        level=finding.rule.level,
        verdict=finding.verdict,
        label="EXCUSED" if finding.variance else _LEFT.get(finding.verdict, ""),
        statement=statement_alone(finding),
        summary=summary_words(finding, check, system),
        action=finding_action(finding, (), check, system),
        margin=finding.margin,
    )


def _compared(arrangement: Arrangement, order: Sequence[str]) -> Iterator[str]:
    yield (
        "Compared, after the must-rules, by what an arrangement changes, in this order: "
        f"{_figure_words(arrangement.figures, order)}."
    )
    judged = number_of(arrangement.looked_at, "hook-up")
    if arrangement.proved:
        yield (
            "Proved: of all places in steps of "
            f"{'25 mm' if arrangement.choices.step < 0.0254 else '1 in'} and all ways to hook up "
            f"this gear{' and to put its blocks' if arrangement.choices.blocks else ''}, none is "
            "better by these figures."
        )
    else:
        yield f"Not proved to be the best: {judged} judged in full, others left out."
        if arrangement.bound is not None:
            best = _figure_words(arrangement.bound, order)
            yield f"At the places looked at none can be better than: {best}."


def _figure_words(figures: Figures, order: Sequence[str]) -> str:
    shown = {
        "shoulds": str(figures.short),
        "pieces": str(figures.pieces),
        "changes": str(figures.changes),
        "margin": f"{figures.margin:.1%}".replace("%", " %")
        if math.isfinite(figures.margin)
        else "none has one",
    }
    return ", ".join(f"{_OBJECTIVE_WORDS[each]} {shown[each]}" for each in order)
