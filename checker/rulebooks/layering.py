"""The rules of one day and one trip: rulebooks, then amendments by law, then a company's.

If two jurisdictions on one trip amend one figure, the stricter value counts, because the trip must
meet both. A company never loosens what the law of a jurisdiction has set: there too the stricter
counts.
"""

from collections.abc import Iterable, Sequence
from datetime import date

from msgspec import Struct
from msgspec.structs import replace

from checker.rulebooks.jurisdictions import touches
from checker.rulebooks.model import Change, Rule, Rulebook, Rulebooks, Threshold

PLACE, COMPANY = "place", "company"


class RulesInForce(Struct, frozen=True):
    """The rulebooks with every change in force applied, and the repealed rules."""

    books: tuple[Rulebook, ...]
    changes: tuple[Change, ...]
    """Changes in force on the day and the trip."""
    repealed: tuple[tuple[Rule, Change], ...]


def rules_in_force(
    rulebooks: Rulebooks, jurisdictions: Sequence[str] | None, day: date
) -> RulesInForce:
    """The rulebooks with all amendments in force on a day and a trip through these jurisdictions.

    Where it is not known whether the trip touches an amendment's jurisdiction, a threshold it
    changes has no value, and a rule it repeals stays.
    """
    for book in rulebooks.books:
        if book.rules_not_read and touches(book.jurisdiction, jurisdictions) != 0:
            message = f"the rules of {book.id} were left out, and this trip may need them"
            raise ValueError(message)
    today = [change for change in rulebooks.changes if change.holds_on(day)]
    here = {
        change.amendment.id: touches(change.amendment.jurisdiction, jurisdictions)
        for change in today
    }
    today = [change for change in today if here[change.amendment.id] != 0]
    if not today:
        return RulesInForce(rulebooks.books, (), ())
    surely = [change for change in today if here[change.amendment.id] == 1]
    repeals = {change.rule_id: change for change in surely if change.threshold is None}
    open_changes = [change for change in today if change not in surely]
    repealed = []
    books = []
    for book in rulebooks.books:
        rules = []
        for rule in book.rules:
            if rule.id in repeals:
                repealed.append((rule, repeals[rule.id]))
            else:
                rules.append(_changed(rule, surely, open_changes, day))
        books.append(replace(book, rules=tuple(rules)))
    return RulesInForce(tuple(books), tuple(surely), tuple(repealed))


def _changed(
    rule: Rule, surely: Iterable[Change], open_changes: Iterable[Change], day: date
) -> Rule:
    """The rule with the day's changes to its thresholds."""
    thresholds = dict(rule.thresholds)
    for name, threshold in rule.thresholds.items():
        mine = [each for each in surely if (each.rule_id, each.threshold) == (rule.id, name)]
        perhaps = [
            each for each in open_changes if (each.rule_id, each.threshold) == (rule.id, name)
        ]
        if mine or perhaps:
            thresholds[name] = _threshold(threshold, mine, perhaps, day)
    if thresholds == rule.thresholds:
        return rule
    return replace(rule, thresholds=thresholds)


def _threshold(
    threshold: Threshold, changes: Sequence[Change], perhaps: Sequence[Change], day: date
) -> Threshold:
    undecided = [*perhaps, *(change for change in changes if change.value is None)]
    if undecided:
        return replace(threshold, values=(), open_change=undecided[0])
    value = threshold.on(day)
    for change in sorted(changes, key=lambda each: each.amendment.layer == COMPANY):
        assert change.value is not None
        by_place = value and value.change and value.change.amendment.layer == PLACE
        if value and by_place and threshold.looser(change.value.quantity, value.quantity):
            if (
                threshold.stricter == "none"
            ):  # two jurisdictions, and neither value is known to be stricter
                return replace(threshold, values=(), open_change=change)
            continue
        value = replace(change.value, change=change, replaces=value)
    return replace(threshold, values=(value,) if value else ())
