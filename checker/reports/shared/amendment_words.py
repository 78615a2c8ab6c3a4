"""Amendments in words: who changes what, on which days, why, and what holds on which days."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import date, timedelta
from typing import Final

from checker.documents.jurisdiction_codes import ANYWHERE, REGIONS
from checker.rulebooks.citations import Citation
from checker.rulebooks.editions import is_as_before
from checker.rulebooks.model import Change, Rule, Threshold
from checker.rulebooks.timeline import PLACE, Applied, Value, stretches

_DAY: Final = timedelta(days=1)


def changed_by(change: Change) -> str:
    """The layer, the jurisdiction and the title of the amendment that makes a change."""
    amendment = change.amendment
    whose = f"law of {amendment.jurisdiction}"
    if amendment.layer != PLACE:
        where = "" if amendment.jurisdiction == ANYWHERE else f" {amendment.jurisdiction}"
        whose = f"{amendment.layer}{where}"
    return f"{whose}, {amendment.title}"


def new_value(change: Change) -> str:
    """The value that a change sets, and whether it is the one before."""
    if change.threshold is None:
        return "not a rule"
    if change.value is None:
        return "a figure that is not yet known"
    same = change.was is not None and change.value.quantity.value == change.was.value
    return f"{change.value.text}, as before" if same else change.value.text


def end_and_season(change: Change) -> str:
    """The end of a change, and its part of each year; begins with a comma where there is one."""
    days = change.stated
    until = f", until {days.ends}" if days.ends else ""
    return f"{until}, {days.season}" if days.season else until


def cited_with_edition(citation: Citation) -> str:
    """A document with its clause and its edition."""
    return f"{citation} ({citation.source.edition})" if citation.source else str(citation)


def reasons(change: Change) -> Iterator[str]:
    """Source, name and reason of a change; who took it back and why."""
    parts = [cited_with_edition(change.citation)]
    parts += [f"by {change.by}"] if change.by else []
    parts += [change.because] if change.because else []
    yield "; ".join(parts)
    taken = change.withdrawal
    if taken:
        word = "corrected" if taken.corrected else "withdrawn"
        since = "" if taken.starts == change.starts else f" from {taken.starts} on"
        counts = "never counts" if taken.starts == change.starts else "counts until then"
        yield f"{word}{since} by {taken.by}: {taken.because} ({counts})"


def standing(name: str, found: Value) -> str:
    """The value of a threshold on the days of one stretch, who set it, and in which new edition."""
    value = found.value
    if found.undecided:
        return f"{name} not known: {changed_by(found.undecided)} changes it"
    if value is None:
        return f"{name} has no value yet or any more"
    who = f"set by {changed_by(value.change)}" if value.change else "the rulebook's own"
    source = value.citation.source
    edition = f", as before, {source.edition}" if source and is_as_before(value) else ""
    return f"{name} = {value.text}, {who}{edition}"


def held_over_time(
    threshold: Threshold, changes: Sequence[Applied], first: date, last: date
) -> Iterator[str]:
    """What holds from a first to a last day, a line for each stretch; then that seasons repeat."""
    for found in stretches(threshold, changes, first, last):
        yield f"{_days(found)}: {standing(threshold.name, found)}"
    if any(each.change.days.season and each.change.days.ends is None for each in changes):
        yield "and so on each year"


def held_around(
    threshold: Threshold, changes: Sequence[Applied], touched: Sequence[Change]
) -> Iterator[str]:
    """What holds before some changes, on their days and after them: a line for each stretch."""
    firsts, lasts = [], []
    for each in touched:
        start = each.withdrawal.starts if each.withdrawal else each.starts
        ends = [found.ends for found in each.stated.stretches(start, start) if found.ends]
        firsts.append(start)
        lasts.append(next((day for day in ends if day > start), start))
    found = list(stretches(threshold, changes, min(firsts) - _DAY, max(lasts)))
    for index, each_value in enumerate(found):
        ends_on = each_value.days.ends
        days = _days(each_value) if index or ends_on is None else f"before {ends_on}"
        yield f"{days}: {standing(threshold.name, each_value)}"
    if any(each.days.season and each.days.ends is None for each in touched):
        yield "and so on each year"


def trip_through(jurisdiction: str) -> tuple[str, ...]:
    """A trip on which an amendment of a jurisdiction applies; empty for one that always does."""
    if jurisdiction == ANYWHERE:
        return ()
    return REGIONS.get(jurisdiction, (jurisdiction,))[:1]


def _days(found: Value) -> str:
    ends = found.days.ends
    return f"from {found.days.starts}" + (f" until {ends}" if ends else " on")


def last_turn(rule: Rule, changes: Iterable[Change], day: date) -> date:
    """A day after which nothing but seasons changes the figures of a rule, not before a day."""
    days = [day]
    for threshold in rule.thresholds.values():
        days += [each for value in threshold.values for each in (value.starts, value.ends) if each]
    for change in changes:
        turns = change.days.turns(change.starts, change.starts)
        days += [max(turns)]
    return max(days)
