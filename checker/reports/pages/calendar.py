"""The calendar as text and JSON: each day, what happens on it, and what holds from then on."""

from collections.abc import Sequence
from datetime import date
from itertools import groupby
from typing import Any

from rich.console import Console

from checker.reports.shared.calendar_words import from_then_on, happening
from checker.reports.shared.json_document import json_document
from checker.reports.shared.page import Page
from checker.reports.shared.portable_paths import portable
from checker.reports.shared.words import number_of, whose_loads
from checker.upkeep.calendar import Entry, Kind

_LEAD = "  "
_MOST_READINGS = 3
"""Readings due on one day that are printed one by one; more are one entry."""


def print_calendar(entries: Sequence[Entry], first: date, last: date, console: Console) -> None:
    """Every entry by day; what is overdue on the first day comes first."""
    page = Page(console)
    with page.at_once():
        overdue = [each for each in entries if each.day < first]
        days = {each.day for each in entries[len(overdue) :]}
        page.line(f"From {first} to {last}: {number_of(len(days), 'day')} with something to know")
        if overdue:
            page.heading(f"OVERDUE on {first}")
            _print_day(overdue, page)
        for day, group in groupby(entries[len(overdue) :], key=lambda entry: entry.day):
            page.heading(f"{day} ({day:%a})")
            _print_day(list(group), page)


def _print_day(entries: Sequence[Entry], page: Page) -> None:
    readings = [each for each in entries if each.kind is Kind.READING]
    several = len(readings) > _MOST_READINGS
    for each in entries:
        if each.kind is Kind.READING and several:
            continue
        where = "" if each.kind is Kind.VARIANCE else f" ({each.place})"
        page.line(f"{happening(each)}{where}", lead="- ")
        if each.variance is not None:
            page.line(f"For {each.whose or whose_loads(each.variance)}", lead=_LEAD)
        page.line(from_then_on(each), lead=_LEAD)
        page.line(each.location, lead=_LEAD)
    if several:
        page.line(f"{len(readings)} documents are due to be read again", lead="- ")
        page.line(f"cinchbook sources --on {max(each.day for each in readings)}", lead=_LEAD)


def calendar_json(entries: Sequence[Entry], first: date, last: date) -> str:
    """The entries as one JSON document."""
    return json_document(
        "calendar",
        {
            "from": first.isoformat(),
            "to": last.isoformat(),
            "entries": [_as_data(each, first) for each in entries],
        },
    )


def _as_data(entry: Entry, first: date) -> dict[str, Any]:
    variance = entry.variance
    return {
        "day": entry.day.isoformat(),
        "kind": entry.kind,
        "overdue": entry.day < first,
        "place": entry.place,
        "id": entry.name,
        "threshold": entry.threshold or None,
        "title": entry.title,
        "happens": happening(entry),
        "from_then_on": from_then_on(entry),
        "loads": variance and (entry.whose or whose_loads(variance)),
        "by": variance and variance.by,
        "at": portable(entry.location),
    }
