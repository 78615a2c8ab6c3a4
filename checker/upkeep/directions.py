"""Finds thresholds whose `stricter` says the opposite of what formulas or proofs show.

`amend` and the layers trust `stricter`: with the wrong word a company could loosen a law. Where
`requires` is met more often with a higher number, or `when` less often, lower is stricter. Where
that depends on the sign of a fact, the proofs show it: a higher number that turns a broken one into
one that is met, or that no longer applies, makes the rule looser.
"""

from collections.abc import Iterator
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from checker.evaluation.dated_rule import evaluate_case
from checker.rulebooks.citations import Location
from checker.rulebooks.direction import Way, way_of
from checker.rulebooks.model import Rule, Rulebooks, Threshold
from checker.rulebooks.verdicts import Verdict
from checker.units.arithmetic import NOT_STATED
from checker.upkeep.proving import nudged

_HIGHER, _LOWER = "higher", "lower"
_OTHER: Final = {_HIGHER: _LOWER, _LOWER: _HIGHER}


class WrongDirection(Struct, frozen=True):
    """A threshold that gets stricter the other way than it says."""

    rule: str
    threshold: str
    stated: str
    shown: str
    by: str
    """What shows it: the formula in which it stands, or a proof."""
    location: Location

    @property
    def found(self) -> str:
        """What is wrong."""
        return f"`stricter: {self.stated}` of {self.threshold}"

    @property
    def wanted(self) -> str:
        """What would be right, and why."""
        return f"`{self.shown}`, which makes the rule stricter {self.by}"


def wrong_directions(rulebooks: Rulebooks) -> list[WrongDirection]:
    """Every threshold whose formulas, or else all whose proofs, show the opposite of `stricter`."""
    return [
        found
        for book in rulebooks.books
        for rule in (*book.rules, *((book.scope,) if book.scope else ()))
        for threshold in rule.thresholds.values()
        if threshold.stricter in _OTHER and (found := _wrong(rule, threshold))
    ]


def _wrong(rule: Rule, threshold: Threshold) -> WrongDirection | None:
    shown = _by_formulas(rule, threshold)
    if shown is None:
        by_proofs = dict(_stricter_ways(rule, threshold))
        # A number in `when` and in `requires` may do both: then its author decides.
        if len(by_proofs) != 1:
            return None
        [(way, proof)] = by_proofs.items()
        shown = way, f"in the proof '{proof}'"
    if shown[0] == threshold.stricter:
        return None
    where = threshold.values[0].location if threshold.values else rule.location
    return WrongDirection(rule.id, threshold.name, threshold.stricter, *shown, where)


def _by_formulas(rule: Rule, threshold: Threshold) -> tuple[str, str] | None:
    """The way in which the rule gets stricter, and in which formula; None where signs matter."""
    shown: dict[str, str] = {}
    for key, formula, looser in (
        ("requires", rule.requires, Way.MORE),
        ("when", rule.when, Way.LESS),
    ):
        way = way_of(formula.text, threshold.name) if formula else Way.NOT_AT_ALL
        if way is Way.UNKNOWN:
            return None
        if formula and way is not Way.NOT_AT_ALL:
            text = " ".join(formula.text.split())
            shown[_LOWER if way is looser else _HIGHER] = f"in `{key}: {text}`"
    return next(iter(shown.items())) if len(shown) == 1 else None


def _stricter_ways(rule: Rule, threshold: Threshold) -> Iterator[tuple[str, str]]:
    """The ways in which the rule gets stricter by its proofs, each with the name of a proof."""
    for index, value in enumerate(threshold.values):
        for quantity in nudged(value.quantity):
            values = list(threshold.values)
            values[index] = replace(value, quantity=quantity, metric_print=None)
            altered = {**rule.thresholds, threshold.name: replace(threshold, values=tuple(values))}
            changed = replace(rule, thresholds=altered)
            way = _HIGHER if quantity.value > value.quantity.value else _LOWER
            for proof in rule.proofs:
                if not value.holds_on(proof.on):
                    continue
                facts = {name: proof.given.get(name, NOT_STATED) for name in rule.facts}
                before = evaluate_case(rule, facts, proof.on).verdict
                after = evaluate_case(changed, facts, proof.on).verdict
                if Verdict.NOT_MET in (before, after) and before is not after:
                    yield (way if after is Verdict.NOT_MET else _OTHER[way]), proof.name
