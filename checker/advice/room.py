"""For a rule that is met: how far one thing may change until the rule is no longer met."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from checker.advice.adjustment_search import Search, Span
from checker.advice.adjustments import Adjustment, adjustments
from checker.advice.fixes import fields_behind
from checker.evaluation.check import Check
from checker.evaluation.finding import Finding
from checker.evaluation.rule_rows import Flags, RuleRows
from checker.load.build import Profile
from checker.rulebooks.model import Rulebooks
from checker.rulebooks.verdicts import Verdict

_HEAVIEST_FACTOR = 2.0
_STEPS = 100


@dataclass(frozen=True)
class Room:
    """The range of one thing, all else as stated, in which a rule stays met.

    `kind` is "place" (metres behind the ball) or "weight" (N, balance kept). `least` and `most` are
    None where the rule was met at every value tried that way.
    """

    kind: str
    article: str
    today: float
    least: float | None
    most: float | None


def rooms(
    finding: Finding, profile: Profile, done: Check, rulebooks: Rulebooks
) -> tuple[Room, ...]:
    """The range of everything that can be changed alone until the rule is not met.

    Positions cover the whole deck, weights from a fifth of today's to twice as much.
    """
    return tuple(_rooms(finding, profile, done, rulebooks))


def _rooms(finding: Finding, profile: Profile, done: Check, rulebooks: Rulebooks) -> Iterator[Room]:
    behind = fields_behind(finding, done)
    sought = [
        each for each in adjustments(profile) if each.kind != "strengthen" and each.fields & behind
    ]
    rule = frozenset({finding.rule.id})
    spans = [Span(each, down_or_up, rule) for each in sought for down_or_up in _down_and_up(each)]
    ends = iter(Search(spans, profile, rulebooks, done.on).first(_not_met))
    for each, down, up in zip(sought, ends, ends, strict=True):
        least, most = (next((change.value for change in end), None) for end in (down, up))
        if least is not None or most is not None:
            kind = "place" if each.kind == "move" else "weight"
            yield Room(kind, each.article, each.today, least, most)


def _down_and_up(adjustment: Adjustment) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Candidates from today's value downward, and upward."""
    if adjustment.kind == "move":
        rearward, forward = adjustment.candidates
        return forward, rearward
    (lighter,) = adjustment.candidates
    today = lighter[0]
    return lighter, np.linspace(today, _HEAVIEST_FACTOR * today, _STEPS)


def _not_met(rows: RuleRows) -> Flags:
    return rows.are(Verdict.NOT_MET)
