"""Bars of hauls by outcome, as the page of an audit draws them."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from checker.reports.shared.audit_results import (
    AuditRun,
    outcome_parts,
)
from checker.reports.shared.rate_words import (
    TOO_FEW,
    by_name,
    is_ranked,
    named_words,
    per_distance_words,
    tally_rate_words,
)
from checker.reports.shared.season_names import SeasonNames
from checker.season.totals import Tally

_STATES: Final = ("hold", "open", "near", "clear")


@dataclass(frozen=True, slots=True)
class Segment:
    """One part of a bar, in per cent of its length."""

    state: str
    start: float
    width: float


@dataclass(frozen=True, slots=True)
class Bar:
    """The outcomes of the hauls of one name; `share` is that of the hauls on hold.

    `rate` has their share of the decided ones with its range and their number for each distance;
    `more` is true if the comparison with others names it.
    """

    name: str
    tally: Tally
    share: str
    segments: Sequence[Segment]
    rate: Sequence[str] = ()
    more: bool = False


def share_of(number: int, total: int) -> str:
    """A share in whole per cent; a dash of none."""
    return f"{number / total:.0%}".replace("%", " %") if total else "-"


def segments(numbers: Sequence[int]) -> list[Segment]:
    """The parts of a bar for numbers in the order of the outcomes, worst first."""
    total, start, found = sum(numbers), 0, []
    for state, number in zip(_STATES, numbers, strict=True):
        if number:
            width = round(100 * number / total, 2)
            found.append(Segment(state, round(100 * start / total, 2), width))
        start += number
    return found


def bar_of(name: str, tally: Tally) -> Bar:
    """The bar of one name."""
    return Bar(name, tally, share_of(tally.held, tally.hauls), segments(outcome_parts(tally)))


def compared_bar(kind: str, key: str, tally: Tally, names: SeasonNames, run: AuditRun) -> Bar:
    """The same with how often that is, and what the comparison with others names."""
    each = run.audit.exposures.get(kind, {}).get(key)
    parts = (tally_rate_words(tally), per_distance_words(each, run.units))
    few = "" if kind == "month" or is_ranked(tally) else TOO_FEW
    more = bool(named_words(by_name(run.audit).get((kind, key))))
    return replace(
        bar_of(names.printed(kind, key), tally), rate=list(filter(None, (*parts, few))), more=more
    )
