"""The figures of a rule with everybody who changes them, as records."""

from collections.abc import Iterable
from datetime import date

from msgspec import Struct, field

from checker.reports.shared.records import ChangeRecord, FigureRecord, change_record, figure_record
from checker.rulebooks.days import Stretch
from checker.rulebooks.model import Change, Rule


class ThresholdRecord(Struct, frozen=True):
    """A named figure of a rule."""

    name: str
    """Name of the figure."""
    stricter: str
    """Which way a change makes the rule stricter: higher, lower or none."""
    figures: tuple[FigureRecord, ...]
    """Its values in the rulebook, oldest first."""
    changes: tuple[ChangeRecord, ...]
    """What amendments change, in the order of their first days."""


class DaysRecord(Struct, frozen=True):
    """Days without a gap."""

    starts: date | None = field(name="from")
    """First day; null where none is known."""
    ends: date | None = field(name="until")
    """Day on which they end; null where none is known."""


def threshold_records(rule: Rule, changes: Iterable[Change]) -> tuple[ThresholdRecord, ...]:
    """Every figure of a rule, with the changes of it."""
    listed = list(changes)
    return tuple(
        ThresholdRecord(
            name=each.name,
            stricter=each.stricter,
            figures=tuple(map(figure_record, each.values)),
            changes=change_records(change for change in listed if change.threshold == each.name),
        )
        for each in rule.thresholds.values()
    )


def change_records(changes: Iterable[Change]) -> tuple[ChangeRecord, ...]:
    """Changes by their first days."""
    return tuple(map(change_record, sorted(changes, key=lambda each: each.starts)))


def days_record(days: Stretch | None) -> DaysRecord | None:
    """The record of some days; None for always."""
    if days is None:
        return None
    return DaysRecord(None if days.starts == date.min else days.starts, days.ends)
