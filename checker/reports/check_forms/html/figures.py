"""Weights against ratings as bars: weight, rating, and the share of it."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from checker.evaluation.check import Check
from checker.evaluation.finding import Finding
from checker.facts.catalogue import Fact, catalogue
from checker.facts.printed_kind import printed_kind
from checker.facts.view import Subject
from checker.reports.shared.comparison_words import at_row
from checker.reports.shared.glossary import Words, words_of
from checker.rulebooks.verdicts import Verdict
from checker.units.arithmetic import Number
from checker.units.formatting import System, show

_DECIDED = (Verdict.MET, Verdict.NOT_MET, Verdict.TOO_CLOSE)
_WIDEST = 1.25
"""Share of the rating at which a bar ends; a larger share is shown in figures only."""

_MOST_SHOWN = 4


@dataclass(frozen=True, slots=True)
class Bar:
    """One weight and its rating. `width` and `limit` are in per cent of the whole bar."""

    label: str
    carried: str
    rating: str
    share: str
    ends: str
    """The share at which the bar ends, where that is less than its own."""
    width: float
    limit: float
    state: str
    """`within`, `near` or `over`."""


def bars(check: Check, system: System, near: float) -> list[Bar]:
    """Every weight that a rule of this check compares with a rating, the largest share first."""
    found: dict[tuple[str, str], tuple[float, Bar]] = {}
    for finding in check.findings:
        if finding.verdict in _DECIDED:
            for name, share, bar in _of_rule(finding, check, system, near):
                found.setdefault(name, (share, bar))
    ordered = sorted(found.values(), key=lambda each: -each[0])
    return [bar for _, bar in ordered]


def most_loaded(ordered: Sequence[Bar]) -> int:
    """How many of the bars to show at once: some, and every one over its rating."""
    return max(_MOST_SHOWN, sum(each.state == "over" for each in ordered))


def _of_rule(
    finding: Finding, check: Check, system: System, near: float
) -> Iterator[tuple[tuple[str, str], float, Bar]]:
    """The bar of a rule for each of its subjects, if it compares one weight with one rating."""
    deciding, known = finding.governing, catalogue()
    if deciding is None or deciding.operator not in ("<=", ">="):
        return
    small, large = deciding.left, deciding.right or ""
    if deciding.operator == ">=":
        small, large = large, small
    if small not in known or large not in known or known[small].kind != "load":
        return
    for subject, _ in finding.subjects or ((None, finding.verdict),):
        carried = _stated(check.facts.value(small, subject))
        rating = _stated(check.facts.value(large, subject))
        if carried == carried and rating == rating and rating > 0:
            name = _label(known[small], known[large], subject, words_of(check.load))
            sizes = [
                show(value, printed_kind(known[small]), system, digits=3)
                for value in (carried, rating)
            ]
            yield name, carried / rating, _bar(name, carried / rating, sizes, near)


def _stated(value: Number) -> float:
    return at_row(value, 0)


def _label(carried: Fact, rating: Fact, subject: Subject | None, words: Words) -> tuple[str, str]:
    whose = f", {words.name(subject)}" if subject else ""
    return f"{words.label(carried)}{whose}", words.label(rating)


def _bar(name: tuple[str, str], share: float, sizes: Sequence[str], near: float) -> Bar:
    """The bar of a share; `sizes` are the weight and the rating as text."""
    state = "over" if share > 1 else "near" if share >= 1 - near else "within"
    return Bar(
        label=name[0],
        carried=sizes[0],
        rating=f"{sizes[1]}, {name[1]}",
        share=f"{share:.0%}".replace("%", " %"),
        ends=f"{_WIDEST:.0%}".replace("%", " %") if share > _WIDEST else "",
        width=round(100 * min(max(share, 0.0), _WIDEST) / _WIDEST, 2),
        limit=round(100 / _WIDEST, 2),
        state=state,
    )
