"""One rule over time, as text: each number's values by date and layer, and those in force."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from typing import NamedTuple

from rich.console import Console

from checker.reports.shared.amendment_words import (
    changed_by,
    cited_with_edition,
    end_and_season,
    held_over_time,
    last_turn,
    new_value,
    reasons,
    standing,
)
from checker.reports.shared.page import Page
from checker.rulebooks.citations import Reading
from checker.rulebooks.editions import in_editions_of, readings_of
from checker.rulebooks.jurisdictions import touches
from checker.rulebooks.layering import rule_in_force, rules_in_force
from checker.rulebooks.model import Change, DatedValue, Rule, Rulebook, Rulebooks, Threshold
from checker.rulebooks.timeline import PLACE, applied, value_on

_RULEBOOK, _PLACE, _COMPANY, _EDITION = range(4)


class _SameInEdition(NamedTuple):
    """A value that a new edition of its document has as before."""

    value: DatedValue
    reading: Reading


def print_history(
    book: Rulebook,
    rule: Rule,
    rulebooks: Rulebooks,
    jurisdictions: Sequence[str] | None,
    day: date,
    console: Console,
) -> None:
    """Print the rule's numbers from their first day on, its repeals, and those in force."""
    page = Page(console)
    page.line(rule_in_force(rule, rulebooks, jurisdictions or (), day).title, style="bold")
    page.line(f"{rule.id}, rulebook {book.id} ({book.jurisdiction}), at {rule.location}")
    if rule.days:
        page.line(f"in force {rule.days}")
    changes = [change for change in rulebooks.changes if change.rule_id == rule.id]
    for threshold in rule.thresholds.values():
        page.heading(f"{threshold.name} (stricter: {threshold.stricter})")
        of_threshold = [each for each in changes if each.threshold == threshold.name]
        _entries(threshold, of_threshold, rulebooks.readings, page)
    if not rule.thresholds:
        page.heading("The rule has no numbers.")
    repeals = [each for each in changes if each.threshold is None]
    if repeals:
        page.heading("Repealed")
        for change in sorted(repeals, key=lambda each: each.starts):
            _print_change(change, page)
    trips: list[tuple[str, Sequence[str]]] = [("where no jurisdiction amends it", ())]
    if jurisdictions is not None:
        trips = [(f"jurisdictions {', '.join(jurisdictions)}", jurisdictions)]
    else:
        trips += [(f"in {code}", (code,)) for code in _amending(changes)]
    _print_stretches(book, rule, changes, trips, day, page)
    _in_force(book, rule, rulebooks, jurisdictions, day, page)


def _entries(
    threshold: Threshold, changes: Sequence[Change], readings: Sequence[Reading], page: Page
) -> None:
    """One entry a value, oldest first; on one day the rulebook, then law, then companies.

    A new edition of a value's document has an entry of its own.
    """
    rows: list[tuple[date, int, str, DatedValue | Change | _SameInEdition]] = [
        (value.starts, _RULEBOOK, "", value) for value in threshold.values
    ]
    for change in changes:
        layer = _PLACE if change.amendment.layer == PLACE else _COMPANY
        rows.append((change.starts, layer, change.amendment.jurisdiction, change))
    values = [*threshold.values, *(change.value for change in changes if change.value)]
    rows += [(day, _EDITION, "", same) for day, same in _in_new_editions(values, readings)]
    for starts, _, _, row in sorted(rows, key=lambda each: each[:3]):
        if isinstance(row, DatedValue):
            printed = f" (printed in metric as {row.metric_text})" if row.metric_text else ""
            until = f", until {row.ends}" if row.ends else ""
            page.line(f"rulebook: {row.text}{printed}{until}", lead=f"{starts}  ")
            note = f"; {row.note}" if row.note else ""
            page.line(f"{cited_with_edition(row.citation)}{note}", lead=" " * 14)
        elif isinstance(row, _SameInEdition):
            read = row.reading
            page.line(f"{row.value.text}, as before, {read.edition}", lead=f"{starts}  ")
            words = f"{row.value.citation}; read on {read.read_on} by {read.by}, {read.read_as}"
            page.line(f"{words}{f'; {read.note}' if read.note else ''}", lead=" " * 14)
        else:
            _print_change(row, page)


def _print_change(change: Change, page: Page) -> None:
    """One change with its days, source, name and reason, also one that somebody took back."""
    words = f"{changed_by(change)}: {new_value(change)}{end_and_season(change)}"
    page.line(words, lead=f"{change.starts}  ")
    for line in reasons(change):
        page.line(line, lead=" " * 14)


def _in_new_editions(
    values: Iterable[DatedValue], readings: Sequence[Reading]
) -> Iterator[tuple[date, _SameInEdition]]:
    """The values in force when a new edition of their document begins, with its first day."""
    for value in values:
        source = value.citation.source
        for reading in readings_of(source.id, readings) if source else ():
            day = reading.starts
            if day is not None and value.starts < day and value.holds_on(day):
                yield day, _SameInEdition(value, reading)


def _print_stretches(
    book: Rulebook,
    rule: Rule,
    changes: Sequence[Change],
    trips: Sequence[tuple[str, Sequence[str]]],
    day: date,
    page: Page,
) -> None:
    """Each amended number by stretches of days, for each trip on which somebody amends it."""
    last = last_turn(rule, changes, day)
    for words, jurisdictions in trips:
        for threshold in rule.thresholds.values():
            mine = applied(
                [each for each in changes if each.threshold == threshold.name],
                book.jurisdiction,
                jurisdictions,
            )
            if mine and threshold.values:
                page.heading(f"{threshold.name} by days, {words}")
                for line in held_over_time(threshold, mine, threshold.values[0].starts, last):
                    page.line(line)


def _amending(changes: Sequence[Change]) -> list[str]:
    """The jurisdictions whose law is among the changes."""
    codes = {each.amendment.jurisdiction for each in changes if each.amendment.layer == PLACE}
    return sorted(codes)


def _in_force(
    book: Rulebook,
    rule: Rule,
    rulebooks: Rulebooks,
    jurisdictions: Sequence[str] | None,
    day: date,
    page: Page,
) -> None:
    if jurisdictions is not None:
        page.heading(f"In force on {day}, jurisdictions {', '.join(jurisdictions)}")
        if touches(book.jurisdiction, jurisdictions) == 0:
            page.line(f"The rulebook applies in {book.jurisdiction}, where this trip does not go.")
            return
        for line in _standing(book, rule, rulebooks, jurisdictions, day):
            page.line(line)
        return
    page.heading(f"In force on {day}, no jurisdictions stated")
    # Without jurisdictions, no amendment by law applies to the trip.
    for line in _standing(book, rule, rulebooks, (), day):
        page.line(f"where no jurisdiction amends it: {line}")
    changes = [each for each in rulebooks.changes if each.rule_id == rule.id]
    for jurisdiction in _amending([each for each in changes if each.days.holds_on(day)]):
        for line in _standing(book, rule, rulebooks, (jurisdiction,), day):
            page.line(f"in {jurisdiction}: {line}")


def _standing(
    book: Rulebook, rule: Rule, rulebooks: Rulebooks, jurisdictions: Sequence[str], day: date
) -> Iterator[str]:
    """Each number on a day for a trip through these jurisdictions, or that the rule is repealed."""
    read = in_editions_of(rulebooks, day)
    stands = rules_in_force(read, jurisdictions, day)
    for repealed, change in stands.repealed:
        if repealed.id == rule.id:
            yield f"repealed by {changed_by(change)}"
            return
    if rule.days and not rule.days.holds_on(day):
        yield f"not in force: only {rule.days}"
        return
    thresholds = next(
        each.thresholds for book in read.books for each in book.rules if each.id == rule.id
    )
    for threshold in thresholds.values():
        changes = [
            each
            for each in read.changes
            if (each.rule_id, each.threshold) == (rule.id, threshold.name)
        ]
        here = applied(changes, book.jurisdiction, jurisdictions)
        yield standing(threshold.name, value_on(threshold, here, day))
    if not rule.thresholds:
        yield "the rule is in force"
