"""The timeline of a threshold: its values on all days, from the rule file and every amendment.

Everything that asks which value holds asks here. The dated values of the rule file come first, then
the law of jurisdictions, then the policy of companies. Within one layer and jurisdiction a later
change counts on its own days only: before and after them, what stood before stands.
"""

import itertools
from collections.abc import Iterable, Iterator, Sequence
from datetime import MAXYEAR, date, timedelta
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from checker.documents.jurisdiction_codes import ANYWHERE
from checker.rulebooks.days import Stretch
from checker.rulebooks.jurisdictions import touches
from checker.rulebooks.model import Change, DatedValue, Threshold

PLACE, COMPANY = "place", "company"

_DAY: Final = timedelta(days=1)


class Applied(Struct, frozen=True):
    """A change on one trip: whether it surely applies there, and in every place of the trip.

    A change that leaves out a place of the trip cannot loosen a rule: that place still asks for it.
    """

    change: Change
    surely: bool
    everywhere: bool


class Value(Struct, frozen=True):
    """The days of one value: `value` with its chain, or `undecided` by a change."""

    days: Stretch
    value: DatedValue | None
    undecided: Change | None


def applied(
    changes: Iterable[Change], jurisdiction: str, jurisdictions: Sequence[str] | None
) -> list[Applied]:
    """The changes that apply, or may, to rules of a jurisdiction on a trip through others."""
    codes = jurisdictions or ()
    asked_there = [code for code in codes if touches(jurisdiction, [code]) != 0]
    found = []
    for change in changes:
        where = change.amendment.jurisdiction
        touched = touches(where, jurisdictions)
        if touched != 0:
            everywhere = where == ANYWHERE or all(
                touches(where, [code]) == 1 for code in asked_there
            )
            found.append(Applied(change, touched == 1, everywhere))
    return found


def stack_of(change: Change) -> tuple[str, str | None, str, str]:
    """What changes have in common of which only the last counts on a day."""
    amendment = change.amendment
    return (change.rule_id, change.threshold, amendment.layer, amendment.jurisdiction)


def value_on(threshold: Threshold, changes: Sequence[Applied], day: date) -> Value:
    """The value on a day, with the changes of this threshold on a trip, in the order they stand."""
    value = threshold.on(day)
    days = Stretch(value.starts, value.ends) if value else Stretch(day, day + _DAY)
    for stack in _stacks(changes, day):
        beneath = value
        for each in stack:
            change = each.change
            if not each.surely or change.value is None:
                if each is stack[-1]:
                    return Value(_stretch(change, day), None, change)
                continue
            looser = beneath is not None and threshold.looser(change.value.quantity, beneath)
            if beneath is not None and looser and _must_be_strict(each, beneath):
                if threshold.stricter == "none" and each is stack[-1]:
                    # Two set it, and neither value is known to be stricter.
                    return Value(_stretch(change, day), None, change)
                value = beneath
                continue
            days = _stretch(change, day)
            new = replace(
                change.value, starts=days.starts, ends=days.ends, change=change, replaces=value
            )
            if value is not None and value.quantity.value == new.quantity.value:
                new = replace(new, metric_print=value.metric_print, metric_text=value.metric_text)
            value = new
    return Value(days, value, None)


def _must_be_strict(each: Applied, beneath: DatedValue) -> bool:
    """True if a change cannot loosen what stands: set by others, or by law of another place too."""
    return beneath.change is not None or (
        each.change.amendment.layer == PLACE and not each.everywhere
    )


def _stretch(change: Change, day: date) -> Stretch:
    found = change.days.stretch_on(day)
    assert found is not None, "the change counts on that day"
    return found


def _stacks(changes: Sequence[Applied], day: date) -> list[list[Applied]]:
    """The changes that count on a day, by layer and jurisdiction; laws first."""
    found: dict[object, list[Applied]] = {}
    for each in changes:
        if each.change.days.holds_on(day):
            found.setdefault(stack_of(each.change), []).append(each)
    return sorted(found.values(), key=lambda stack: stack[0].change.amendment.layer == COMPANY)


def stretches(
    threshold: Threshold, changes: Sequence[Applied], first: date, last: date
) -> Iterator[Value]:
    """The values from a first to a last day in order, each with the days between its neighbours.

    The last has an end where something changes within a year after the last day.
    """
    beyond = date(min(last.year + 1, MAXYEAR), 12, 31)
    turns = {first}
    for value in threshold.values:
        turns |= {value.starts} | ({value.ends} if value.ends else set())
    for each in changes:
        turns |= each.change.days.turns(first, beyond)
    ordered = sorted(day for day in turns if day >= first)
    values = [value_on(threshold, changes, day) for day in ordered]
    for _, alike in itertools.groupby(
        zip(ordered, [*ordered[1:], None], values, strict=True), key=lambda each: _setter(each[2])
    ):
        run = list(alike)
        starts, found = run[0][0], run[0][2]
        if starts > last:
            return
        yield replace(found, days=Stretch(starts, run[-1][1]))


def _setter(each: Value) -> tuple[object, ...]:
    """What tells two values that follow each other apart: who set them, and by which entry."""
    value = each.value
    if value is None:
        return (each.undecided and id(each.undecided),)
    return (value.location, value.change and id(value.change))
