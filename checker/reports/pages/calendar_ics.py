"""The calendar as a file that calendar programs read (iCalendar, RFC 5545)."""

from collections.abc import Sequence
from datetime import UTC, datetime, time
from hashlib import blake2b

from icalendar import Calendar, Event

from checker.reports.shared.calendar_words import from_then_on, happening
from checker.reports.shared.words import CAUTIONS, whose_loads
from checker.upkeep.calendar import Entry


def calendar_ics(entries: Sequence[Entry]) -> str:
    """Each entry as an event of a whole day; the same entries give the same bytes."""
    calendar = Calendar()
    calendar.add("prodid", "-//cinchbook//calendar of rules//EN")
    calendar.add("version", "2.0")
    calendar.add("x-wr-calname", "cinchbook")
    for entry in entries:
        calendar.add_component(_event(entry))
    written: bytes = calendar.to_ical()
    return written.decode()


def _event(entry: Entry) -> Event:
    event = Event()
    key = "|".join(
        (*map(str, entry.order), entry.location, entry.whose, "begins" if entry.begins else "ends")
    )
    event.add("uid", f"{blake2b(key.encode(), digest_size=12).hexdigest()}@cinchbook")
    # A stamp of its own time would make every file different.
    event.add("dtstamp", datetime.combine(entry.day, time(), UTC))
    event.add("dtstart", entry.day)
    event.add("summary", happening(entry))
    lines = [from_then_on(entry), f"At {entry.location}", *CAUTIONS]
    if entry.variance is not None:
        lines.insert(0, f"For {entry.whose or whose_loads(entry.variance)}")
    event.add("description", "\n".join(lines))
    event.add("categories", [str(entry.kind), entry.place])
    event.add("transp", "TRANSPARENT")
    return event
