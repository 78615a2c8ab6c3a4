"""Variances in force on a day, to come and over, as a document."""

from collections.abc import Sequence
from datetime import date
from typing import Final, Literal

from msgspec import Struct, field

from checker.load.model import Variance
from checker.reports.shared.json_document import record_document
from checker.reports.shared.portable_paths import located

KIND: Final = "variance-list"
Standing = Literal["in force", "to come", "over"]


class ListedVariance(Struct, frozen=True):
    """A permission to go against a rule."""

    rule: str
    """Id of the rule."""
    standing: Standing
    """Whether it is in force on the day."""
    starts: date = field(name="from")
    """First day."""
    ends: date = field(name="until")
    """Day on which it ends."""
    days_left: int
    """Days from the day of the list until it ends; below zero once it is over."""
    by: str
    """Who is responsible."""
    because: str
    """The reason."""
    conditions: str
    """Its conditions, for people to read."""
    load: str | None
    """Title of the load that states it; null for one of a register."""
    files: tuple[str, ...]
    """Files that a load must depend on for it to count; empty for every load."""
    crews: tuple[str, ...]
    """Crews for whose hauls alone it counts; empty for all."""
    at: str
    """File and line."""


class Document(Struct, frozen=True):
    """Variances of registers, and of loads that were named; what ends first comes first."""

    on: date
    """Day of the list."""
    variances: tuple[ListedVariance, ...]
    """The variances, by the day on which they end."""


def document(listed: Sequence[tuple[Variance, str]], day: date) -> str:
    """The variances as a document; one of a load comes with the load's title."""
    ordered = sorted(listed, key=lambda each: (each[0].ends, each[0].starts, each[0].rule))
    return record_document(KIND, Document(day, tuple(_listed(*each, day) for each in ordered)))


def _listed(variance: Variance, load: str, day: date) -> ListedVariance:
    standing: Standing = "in force"
    if day < variance.starts:
        standing = "to come"
    elif variance.ends <= day:
        standing = "over"
    return ListedVariance(
        rule=variance.rule,
        standing=standing,
        starts=variance.starts,
        ends=variance.ends,
        days_left=(variance.ends - day).days,
        by=variance.by,
        because=variance.because,
        conditions=variance.conditions,
        load=load or None,
        files=tuple(sorted(variance.uses)),
        crews=tuple(sorted(variance.crews)),
        at=located(variance.location),
    )
