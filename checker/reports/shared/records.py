"""Records that several documents for programs have in common."""

import math
from datetime import date

import numpy as np
from msgspec import Struct, field

from checker.facts.catalogue import ANSWER
from checker.reports.shared.portable_paths import located
from checker.rulebooks.citations import Citation
from checker.rulebooks.model import Change, DatedValue, Rule, Rulebook
from checker.rulebooks.rule_text import Side
from checker.units.arithmetic import Number
from checker.units.formatting import US, show


class CitedClause(Struct, frozen=True):
    """A document and a clause in it."""

    document: str
    """Id of the document; `cinchbook sources` has it in full."""
    title: str
    """Title of the document."""
    edition: str
    """Edition in force on the day."""
    clause: str | None
    """Where in the document; null where not given."""
    read_as: str
    """How the document was read."""


class RuleName(Struct, frozen=True):
    """A rule by its id."""

    rule: str
    """Id of the rule."""
    title: str
    """Title of the rule."""
    level: str
    """must or should."""


class BrokenSide(Struct, frozen=True):
    """A rule that is not met, and how."""

    rule: str
    """Id of the rule."""
    statement: str
    """Its title in its broken form."""
    fix: str
    """What to do."""


class RulebookName(Struct, frozen=True):
    """A rulebook by its id."""

    id: str
    """Id of the rulebook."""
    title: str
    """Title of the rulebook."""
    jurisdiction: str
    """Where it holds: a code of ISO 3166, a region, or any."""


class ChangeRecord(Struct, frozen=True):
    """What an amendment changes, also one that somebody took back."""

    amendment: str
    """Id of the amendment."""
    layer: str
    """place for the law of a jurisdiction, company for a policy."""
    jurisdiction: str
    """Where it counts."""
    threshold: str | None
    """Name of the figure; null where the rule is repealed."""
    value: str | None
    """The new figure as stated; null where it is not yet known, or the rule is repealed."""
    starts: date = field(name="from")
    """First day."""
    ends: date | None = field(name="until")
    """Day on which it ends; null where none is known."""
    each_year: str | None
    """The part of each year in which it counts; null for all of it."""
    by: str | None
    """Who is responsible; null where nobody is named."""
    because: str | None
    """The reason; null where none is given."""
    source: CitedClause | None
    """What it rests on; null for common practice."""
    withdrawn_from: date | None
    """Day from which it was taken back; null where it was not."""
    withdrawn_by: str | None
    """Who took it back; null where nobody did."""
    at: str
    """File and line."""


class FigureRecord(Struct, frozen=True):
    """A figure of a rule on some days."""

    value: str
    """As the law or the rulebook states it."""
    metric_value: str | None
    """The metric figure printed beside it; null where there is none."""
    starts: date = field(name="from")
    """First day."""
    ends: date | None = field(name="until")
    """Day on which it ends; null where none is known."""
    source: CitedClause | None
    """What it rests on; null for common practice."""
    note: str | None
    """Anything a reader should know; null where nothing is noted."""
    changed_by: ChangeRecord | None
    """The change that set it; null for the rulebook's own."""
    replaces: "FigureRecord | None"
    """The figure in force without that change; null where there is none."""
    at: str
    """File and line."""


def cited_clause(citation: Citation) -> CitedClause | None:
    """The record of a citation; None for common practice."""
    source = citation.source
    if source is None:
        return None
    return CitedClause(source.id, source.title, source.edition, citation.at, source.read_as)


def rule_name(rule: Rule) -> RuleName:
    """The record of a rule."""
    return RuleName(rule.id, rule.title, rule.level)


def broken_side(rule: Rule, side: Side | None) -> BrokenSide:
    """The record of a rule that is broken on a side of its limit."""
    return BrokenSide(rule.id, rule.when_broken(side), rule.fix_for(side))


def rulebook_name(book: Rulebook) -> RulebookName:
    """The record of a rulebook."""
    return RulebookName(book.id, book.title, book.jurisdiction)


def change_record(change: Change) -> ChangeRecord:
    """The record of a change."""
    days, taken = change.stated, change.withdrawal
    return ChangeRecord(
        amendment=change.amendment.id,
        layer=change.amendment.layer,
        jurisdiction=change.amendment.jurisdiction,
        threshold=change.threshold,
        value=change.value.text if change.value else None,
        starts=days.starts,
        ends=days.ends,
        each_year=str(days.season) if days.season else None,
        by=change.by,
        because=change.because,
        source=cited_clause(change.citation),
        withdrawn_from=taken.starts if taken else None,
        withdrawn_by=taken.by if taken else None,
        at=located(change.locations[""]),
    )


def figure_record(value: DatedValue) -> FigureRecord:
    """The record of a figure, with those that it replaces."""
    return FigureRecord(
        value=value.text,
        metric_value=value.metric_text,
        starts=value.starts,
        ends=value.ends,
        source=cited_clause(value.citation),
        note=value.note,
        changed_by=change_record(value.change) if value.change else None,
        replaces=figure_record(value.replaces) if value.replaces else None,
        at=located(value.location),
    )


def finite(value: Number) -> float | None:
    """A plain number; None where it is not stated or infinite."""
    number = float(value if isinstance(value, float) else np.atleast_1d(value)[0])
    return number if math.isfinite(number) else None


def figure_or_answer(value: Number, kind: str) -> float | str | None:
    """A number in SI units, yes or no for an answer, a date for a day; None where not stated."""
    number = finite(value)
    if number is None:
        return None
    if kind == ANSWER:
        return "yes" if number == 1 else "no"
    return show(number, "day", US) if kind == "day" else number


def value_range(value: Number) -> tuple[float, float] | None:
    """The least and the greatest value within the tolerances; None where they are one."""
    if isinstance(value, float):
        return None
    low, high = float(np.min(value)), float(np.max(value))
    return (low, high) if low != high and math.isfinite(low) and math.isfinite(high) else None
