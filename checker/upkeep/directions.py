"""Finds thresholds whose `stricter` says the opposite of what the rule's own proofs show.

`amend` and the layers trust `stricter`: with the wrong word a company could loosen a law. A higher
number that turns a broken proof into one that is met, or that no longer applies, makes the rule
looser.
"""

from collections.abc import Iterator
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from checker.evaluation.dated_rule import evaluate_case
from checker.rulebooks.citations import Location
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
    proof: str
    """A proof that shows it."""
    location: Location

    @property
    def words(self) -> str:
        """What is wrong and what would be right, on one line."""
        return (
            f"found `stricter: {self.stated}` of {self.threshold}; wanted `{self.shown}`, which "
            f"makes the rule stricter in the proof '{self.proof}'"
        )


def wrong_directions(rulebooks: Rulebooks) -> list[WrongDirection]:
    """Every threshold whose proofs all show the opposite of its `stricter`."""
    return [
        found
        for book in rulebooks.books
        for rule in (*book.rules, *((book.scope,) if book.scope else ()))
        for threshold in rule.thresholds.values()
        if threshold.stricter in _OTHER and (found := _wrong(rule, threshold))
    ]


def _wrong(rule: Rule, threshold: Threshold) -> WrongDirection | None:
    shown = dict(_stricter_ways(rule, threshold))
    # A number in `when` and in `requires` may do both: then its author decides.
    if list(shown) != [_OTHER[threshold.stricter]]:
        return None
    way, proof = next(iter(shown.items()))
    where = threshold.values[0].location if threshold.values else rule.location
    return WrongDirection(rule.id, threshold.name, threshold.stricter, way, proof, where)


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
