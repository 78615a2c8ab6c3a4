"""One rule over time, as a document."""

import math
from collections.abc import Iterator, Sequence
from datetime import date
from typing import Final

from msgspec import Struct

from checker.reports.shared.amendment_words import last_turn
from checker.reports.shared.json_document import record_document
from checker.reports.shared.portable_paths import located
from checker.reports.shared.records import (
    ChangeRecord,
    FigureRecord,
    RulebookName,
    change_record,
    figure_record,
    rulebook_name,
)
from checker.reports.shared.rule_record import (
    DaysRecord,
    ThresholdRecord,
    change_records,
    days_record,
    threshold_records,
)
from checker.rulebooks.editions import in_editions_of
from checker.rulebooks.jurisdictions import touches
from checker.rulebooks.layering import rule_in_force, rules_in_force
from checker.rulebooks.model import Rule, Rulebook, Rulebooks
from checker.rulebooks.timeline import PLACE, Value, applied, stretches, value_on

KIND: Final = "history"


class StandingFigure(Struct, frozen=True):
    """A figure on some days, for a trip."""

    threshold: str
    """Name of the figure."""
    days: DaysRecord
    """The days."""
    figure: FigureRecord | None
    """The value with everybody who set it; null where there is none."""
    undecided_by: ChangeRecord | None
    """The change that leaves it unknown; null where it is known."""


class OnTrip(Struct, frozen=True):
    """What stands for trips through some places."""

    places: tuple[str, ...]
    """The places; empty for a trip through none that amends the rule."""
    in_force: bool | None
    """Whether the rule is in force there on the day; null where the places do not say."""
    repealed_by: ChangeRecord | None
    """The change that repeals it on the day; null where none does."""
    on_the_day: tuple[StandingFigure, ...]
    """Its figures on the day."""
    over_time: tuple[StandingFigure, ...]
    """Its figures from their first day on; seasons of later years are left out."""


class Document(Struct, frozen=True):
    """Every value that each figure of a rule had, and the values in force."""

    on: date
    """Day for which figures in force are given."""
    rule: str
    """Id of the rule."""
    title: str
    """Title of the rule on the day."""
    rulebook: RulebookName
    """The rulebook that it is in."""
    days: DaysRecord | None
    """The days on which the rule is in force; null for always."""
    thresholds: tuple[ThresholdRecord, ...]
    """Its figures, as the rulebook and amendments state them."""
    repeals: tuple[ChangeRecord, ...]
    """Amendments that repeal it."""
    trips: tuple[OnTrip, ...]
    """What stands for a trip: through the places asked for, or else without amendments by law and
    through each place that amends it."""
    at: str
    """File and line."""


def document(
    book: Rulebook, rule: Rule, rulebooks: Rulebooks, places: Sequence[str] | None, day: date
) -> str:
    """A rule over time as a document, for a trip through these places."""
    changes = [each for each in rulebooks.changes if each.rule_id == rule.id]
    amending = {each.amendment.jurisdiction for each in changes if each.amendment.layer == PLACE}
    trips = [()] + [(code,) for code in sorted(amending)] if places is None else [tuple(places)]
    return record_document(
        KIND,
        Document(
            on=day,
            rule=rule.id,
            title=rule_in_force(rule, rulebooks, places or (), day).title,
            rulebook=rulebook_name(book),
            days=days_record(rule.days),
            thresholds=threshold_records(rule, changes),
            repeals=change_records(each for each in changes if each.threshold is None),
            trips=tuple(_on_trip(book, rule, rulebooks, trip, day) for trip in trips),
            at=located(rule.location),
        ),
    )


def _on_trip(
    book: Rulebook, rule: Rule, rulebooks: Rulebooks, places: tuple[str, ...], day: date
) -> OnTrip:
    read = in_editions_of(rulebooks, day)
    repeals = rules_in_force(read, places, day).repealed
    repealed = next((change for each, change in repeals if each.id == rule.id), None)
    here = touches(book.jurisdiction, places) if places else 1.0
    out = repealed or (rule.days and not rule.days.holds_on(day)) or here == 0
    figures = list(_figures(book, rule, read, places, day))
    return OnTrip(
        places=places,
        in_force=False if out else None if math.isnan(here) else True,
        repealed_by=change_record(repealed) if repealed else None,
        on_the_day=tuple(_standing(name, found[0]) for name, found in figures),
        over_time=tuple(_standing(name, each) for name, found in figures for each in found[1:]),
    )


def _figures(
    book: Rulebook, rule: Rule, read: Rulebooks, places: Sequence[str], day: date
) -> Iterator[tuple[str, list[Value]]]:
    """Each figure by its name: its value on a day, then those from its first day on."""
    found = read.rule(rule.id)
    assert found is not None
    of_rule = [each for each in read.changes if each.rule_id == rule.id]
    last = last_turn(rule, of_rule, day)
    for threshold in found[1].thresholds.values():
        mine = [each for each in of_rule if each.threshold == threshold.name]
        here = applied(mine, book.jurisdiction, places)
        over_time = (
            stretches(threshold, here, threshold.values[0].starts, last) if threshold.values else ()
        )
        yield threshold.name, [value_on(threshold, here, day), *over_time]


def _standing(threshold: str, value: Value) -> StandingFigure:
    return StandingFigure(
        threshold=threshold,
        days=DaysRecord(value.days.starts, value.days.ends),
        figure=figure_record(value.value) if value.value else None,
        undecided_by=change_record(value.undecided) if value.undecided else None,
    )
