"""Entries of the calendar in words: what happens on a day, and what holds from then on."""

from checker.reports.shared.amendment_words import standing
from checker.reports.shared.words import variance_words
from checker.upkeep.calendar import Entry, Kind


def happening(entry: Entry) -> str:
    """What happens, in few words."""
    what = entry.threshold and f"{entry.threshold} of {entry.name}"
    if entry.kind is Kind.FIGURE:
        assert entry.after is not None
        return f"{what} changes"
    if entry.kind is Kind.READING:
        return f"{entry.name} is due to be read again"
    if entry.kind is Kind.EDITION:
        return f"a new edition of {entry.name} is in force"
    if entry.kind is Kind.REPEAL:
        return f"{entry.name} is {'repealed' if entry.begins else 'in force again'}"
    word = "begins" if entry.begins else "ends"
    if entry.kind is Kind.VARIANCE:
        return f"a variance of {entry.name} {word}"
    return f"{entry.name} {word}"


def from_then_on(entry: Entry) -> str:
    """What holds from that day on, and what held before."""
    if entry.kind is Kind.FIGURE:
        assert entry.before is not None
        assert entry.after is not None
        now, before = (
            standing(entry.threshold, entry.after),
            standing(entry.threshold, entry.before),
        )
        return f"{now}; before: {before}"
    if entry.kind is Kind.VARIANCE and entry.variance is not None:
        if entry.begins:
            return f"may go against it {variance_words(entry.variance)}"
        return f"the rule holds for them again; the variance was by {entry.variance.by}"
    if entry.kind is Kind.READING:
        return f"{entry.title}: cinchbook sources {entry.name}"
    if entry.kind in (Kind.RULE, Kind.TABLE) and not entry.begins:
        return f"{entry.title}: no longer in force"
    return entry.title
