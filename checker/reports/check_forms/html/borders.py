"""The borders of a trip as records of the page."""

from collections.abc import Sequence
from dataclasses import dataclass

from checker.evaluation.check import Check
from checker.reports.shared.html.entries import STATES, WORDS
from checker.reports.shared.route_words import BorderEntry, borders_in_words, more_words
from checker.reports.shared.words import verdict_label


@dataclass(frozen=True, slots=True)
class Line:
    """A rule that differs."""

    rule: str
    label: str
    state: str
    words: str


@dataclass(frozen=True, slots=True)
class Crossing:
    """A border: the rules to see at once, those that fold open, and what else to know."""

    heading: str
    shown: Sequence[Line]
    folded: Sequence[Line]
    more: str
    notes: Sequence[str]


def crossings(check: Check) -> list[Crossing]:
    """Every border in the order of travel; none for a trip that crosses none."""
    found = []
    for border in borders_in_words(check):
        shown, number = border.in_short()
        folded = border.entries[len(shown) :]
        found.append(
            Crossing(
                border.heading,
                [_line(each) for each in shown],
                [_line(each) for each in folded],
                more_words(number),
                border.notes,
            )
        )
    return found


def _line(entry: BorderEntry) -> Line:
    finding = entry.finding
    label = entry.ends or verdict_label(finding, WORDS)
    state = "ended" if entry.ends else STATES[finding.verdict]
    return Line(finding.rule.id, label, state, entry.words)
