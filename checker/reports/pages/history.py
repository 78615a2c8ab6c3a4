"""One rule over time, as text: each number's values by date and layer, and those in force."""

from collections.abc import Iterator, Sequence
from datetime import date

from rich.console import Console

from checker.documents.jurisdiction_codes import ANYWHERE
from checker.reports.shared.page import Page
from checker.rulebooks.jurisdictions import touches
from checker.rulebooks.layering import PLACE, rules_in_force
from checker.rulebooks.model import Change, DatedValue, Rule, Rulebook, Rulebooks, Threshold

_RULEBOOK, _PLACE, _COMPANY = range(3)


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
    page.line(rule.title, style="bold")
    page.line(f"{rule.id}, rulebook {book.id} ({book.jurisdiction}), at {rule.location}")
    changes = [change for change in rulebooks.changes if change.rule_id == rule.id]
    for threshold in rule.thresholds.values():
        page.heading(f"{threshold.name} (stricter: {threshold.stricter})")
        _timeline(threshold, [each for each in changes if each.threshold == threshold.name], page)
    if not rule.thresholds:
        page.heading("The rule has no numbers.")
    repeals = [each for each in changes if each.threshold is None]
    if repeals:
        page.heading("Repealed")
        for change in sorted(repeals, key=lambda each: each.starts):
            page.line(f"{_by(change)}: not a rule{_until(change.ends)}", lead=f"{change.starts}  ")
            _print_reason(change, page)
    _in_force(book, rule, rulebooks, jurisdictions, day, page)


def _timeline(threshold: Threshold, changes: Sequence[Change], page: Page) -> None:
    """One line a value, oldest first; on one day the rulebook, then law, then companies."""
    rows: list[tuple[date, int, str, DatedValue | Change]] = [
        (value.starts, _RULEBOOK, "", value) for value in threshold.values
    ]
    for change in changes:
        layer = _PLACE if change.amendment.layer == PLACE else _COMPANY
        rows.append((change.starts, layer, change.amendment.jurisdiction, change))
    for starts, _, _, row in sorted(rows, key=lambda each: each[:3]):
        lead = f"{starts}  "
        if isinstance(row, DatedValue):
            printed = f" (printed in metric as {row.metric_text})" if row.metric_text else ""
            page.line(f"rulebook: {row.text}{printed}{_until(row.ends)}", lead=lead)
            page.line(f"{row.citation}{f'; {row.note}' if row.note else ''}", lead=" " * 14)
        else:
            parts = row.value.text if row.value else "a figure that is not yet known"
            page.line(f"{_by(row)}: {parts}{_until(row.ends)}", lead=lead)
            _print_reason(row, page)


def _until(ends: date | None) -> str:
    return f", until {ends}" if ends else ""


def _by(change: Change) -> str:
    """The layer, the jurisdiction and the title of the amendment that makes a change."""
    amendment = change.amendment
    whose = f"law of {amendment.jurisdiction}"
    if amendment.layer != PLACE:
        where = "" if amendment.jurisdiction == ANYWHERE else f" {amendment.jurisdiction}"
        whose = f"{amendment.layer}{where}"
    return f"{whose}, {amendment.title}"


def _print_reason(change: Change, page: Page) -> None:
    """Source, name and reason of a change."""
    parts = [str(change.citation)]
    parts += [f"by {change.by}"] if change.by else []
    parts += [change.because] if change.because else []
    page.line("; ".join(parts), lead=" " * 14)


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
        for line in _standing(rule, rulebooks, jurisdictions, day):
            page.line(line)
        return
    page.heading(f"In force on {day}, no jurisdictions stated")
    # Without jurisdictions, no amendment by law applies to the trip.
    for line in _standing(rule, rulebooks, (), day):
        page.line(f"where no jurisdiction amends it: {line}")
    amending = {
        change.amendment.jurisdiction
        for change in rulebooks.changes
        if (change.rule_id, change.amendment.layer) == (rule.id, PLACE) and change.holds_on(day)
    }
    for jurisdiction in sorted(amending):
        for line in _standing(rule, rulebooks, (jurisdiction,), day):
            page.line(f"in {jurisdiction}: {line}")


def _standing(
    rule: Rule, rulebooks: Rulebooks, jurisdictions: Sequence[str], day: date
) -> Iterator[str]:
    """Each number on a day for a trip through these jurisdictions, or that the rule is repealed."""
    stands = rules_in_force(rulebooks, jurisdictions, day)
    for repealed, change in stands.repealed:
        if repealed.id == rule.id:
            yield f"repealed by {_by(change)}"
            return
    found = next(each for book in stands.books for each in book.rules if each.id == rule.id)
    for threshold in found.thresholds.values():
        value = threshold.on(day)
        if threshold.open_change:
            yield f"{threshold.name} not known: {_by(threshold.open_change)} changes it"
        elif value is None:
            yield f"{threshold.name} has no value yet or any more"
        elif value.change:
            yield f"{threshold.name} = {value.text}, set by {_by(value.change)}"
        else:
            yield f"{threshold.name} = {value.text}, the rulebook's own"
    if not found.thresholds:
        yield "the rule is in force"
