"""Counts of hauls, and single hauls, as the text report of an audit words them."""

from typing import Final

from checker.reports.shared.audit_results import (
    NOTHING_JUDGED,
)
from checker.reports.shared.words import number_of
from checker.season.audit import Audit
from checker.season.totals import Tally, Totals, WorstHaul

CHANGE: Final = "Change"
"""The word before where to change what is wrong."""


def headline(totals: Totals) -> str:
    """The counts of all hauls; where law was not read, no rule was broken of those looked at."""
    return tally_words(totals.all, " (of those looked at)" if totals.unread_subjects else "")


def tally_words(tally: Tally, partly: str = "") -> str:
    """Hauls by outcome; `partly` says which rules were looked at."""
    if not tally.hauls:
        return NOTHING_JUDGED
    line = (
        f"{number_of(tally.hauls, 'haul')}: {tally.held} on hold, {tally.open} open, "
        f"{tally.hauls - tally.held - tally.open} with no rule broken{partly}"
    )
    line += f", {tally.near} of those near a limit" if tally.near else ""
    return line + (f"; {tally.excused} under a variance" if tally.excused else "")


def haul_words(audit: Audit, each: WorstHaul) -> str:
    """Which haul it is: its row, name, day, load and crew."""
    crew = f", crew {each.crew}" if each.crew else ""
    name = audit.names.get(each.row)
    where = f"row {each.row}" + (f" ({name})" if name else "")
    return f"{where}, {each.day}, {each.load}{crew}"
