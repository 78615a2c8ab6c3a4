"""For a rule that is met: how far one thing may change until the rule is no longer met."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from checker.advice.fixes import Adjustment, AdjustmentSearch, adjustments, fields_behind
from checker.evaluation.check import Check, Finding
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
    for adjustment in adjustments(profile):
        if adjustment.kind == "strengthen" or not adjustment.fields & behind:
            continue
        search = AdjustmentSearch(adjustment, profile, done, rulebooks)
        least, most = (
            search.first(span, [finding.rule], _not_met).get(finding.rule.id)
            for span in _down_and_up(adjustment)
        )
        if least is not None or most is not None:
            kind = "place" if adjustment.kind == "move" else "weight"
            yield Room(kind, adjustment.article, float(adjustment.candidates[0][0]), least, most)


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
