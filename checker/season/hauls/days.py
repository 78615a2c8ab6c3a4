"""The days on which rules change; between two such days the rules stay the same."""

from collections.abc import Sequence
from datetime import date

from checker.rulebooks.jurisdictions import touches
from checker.rulebooks.model import Rulebooks


def turning_days(
    rulebooks: Rulebooks,
    jurisdictions: Sequence[str] | None = None,
    *,
    span: tuple[date, date] | None = None,
) -> list[date]:
    """All start and end days of rules, thresholds, tables and amendments, in order.

    Those of rulebooks and amendments that a trip through the jurisdictions does not touch are left
    out; None if its jurisdictions are not known. What changes each year does so around the days
    from the first to the last of `span`.
    """
    days: set[date | None] = set()
    for book in rulebooks.books:
        if touches(book.jurisdiction, jurisdictions) == 0:
            continue
        if book.days:
            days |= {book.days.starts, book.days.ends}
        for rule in (*book.rules, *((book.scope,) if book.scope else ())):
            if rule.days:
                days |= {rule.days.starts, rule.days.ends}
            for threshold in rule.thresholds.values():
                for value in threshold.values:
                    days |= {value.starts, value.ends}
    for table in rulebooks.tables:
        days |= {table.starts, table.ends}
    for change in rulebooks.changes:
        if touches(change.amendment.jurisdiction, jurisdictions) != 0:
            days |= change.days.turns(*(span or (change.starts, change.starts)))
    return sorted(day for day in days - {date.min} if day is not None)
