"""The rules of one day and one trip: rulebooks, then amendments by law, then a company's.

If two jurisdictions on one trip amend one figure, the stricter value counts, because the trip must
meet both. A company never loosens what the law of a jurisdiction has set: there too the stricter
counts. `timeline` decides the value of each threshold.
"""

from collections.abc import Sequence
from datetime import date

from msgspec import Struct
from msgspec.structs import replace

from checker.rulebooks.jurisdictions import touches
from checker.rulebooks.model import Change, Rule, Rulebook, Rulebooks, Threshold
from checker.rulebooks.timeline import PLACE, Applied, applied, stack_of, value_on


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
    today = [change for change in rulebooks.changes if change.days.holds_on(day)]
    named = {change.rule_id for change in today}
    repealed = []
    books = []
    for book in rulebooks.books:
        if not any(rule.changes_over_time or rule.id in named for rule in book.rules):
            books.append(book)
            continue
        here = applied(today, book.jurisdiction, jurisdictions)
        rules = []
        for rule in book.rules:
            mine = [each for each in here if each.change.rule_id == rule.id]
            repeal = next((each.change for each in mine if repeals(each)), None)
            changed = _changed(rule, mine, day)
            if repeal is not None:
                repealed.append((changed, repeal))
            else:
                rules.append(changed)
        books.append(replace(book, rules=tuple(rules)))
    in_force = {
        stack_of(change): change
        for change in today
        if touches(change.amendment.jurisdiction, jurisdictions) == 1
    }
    return RulesInForce(tuple(books), tuple(in_force.values()), tuple(repealed))


def rule_in_force(
    rule: Rule, rulebooks: Rulebooks, jurisdictions: Sequence[str], day: date
) -> Rule:
    """The rule with the figures of a day and a trip; as its file states it where it is repealed."""
    books = rules_in_force(rulebooks, jurisdictions, day).books
    return next((each for book in books for each in book.rules if each.id == rule.id), rule)


def repeals(each: Applied) -> bool:
    """True if a change surely repeals its rule, in every place of the trip that asks for it."""
    by_place = each.change.amendment.layer == PLACE
    return each.change.threshold is None and each.surely and (each.everywhere or not by_place)


def _changed(rule: Rule, changes: Sequence[Applied], day: date) -> Rule:
    """The rule with the values of the day alone, so that its texts print them."""
    if not changes and not rule.changes_over_time:
        return rule
    thresholds = dict(rule.thresholds)
    for name, threshold in rule.thresholds.items():
        mine = [each for each in changes if each.change.threshold == name]
        if mine or threshold.on(day):
            thresholds[name] = _amended(threshold, mine, day)
    return replace(rule, thresholds=thresholds)


def _amended(threshold: Threshold, changes: Sequence[Applied], day: date) -> Threshold:
    """The threshold with the value of the day alone, or without one where that is not known."""
    found = value_on(threshold, changes, day)
    values = (found.value,) if found.value else ()
    return replace(threshold, values=values, open_change=found.undecided)
