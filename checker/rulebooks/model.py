"""Rules as records: dated, sourced thresholds; formulas; proofs; and their locations."""

from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from functools import cached_property
from typing import Any, Final

from msgspec import Struct, field

from checker.documents.document import Document
from checker.documents.problems import DataPath
from checker.facts.catalogue import Each
from checker.facts.unmarked import UnmarkedRatings
from checker.load.model import Variance
from checker.rulebooks.citations import Citation, Location, Reading, Source
from checker.rulebooks.days import Days, Stretch, Withdrawal, within
from checker.rulebooks.formula import Formula
from checker.rulebooks.rating_tables import RatingsTable, ratings_on
from checker.rulebooks.rule_text import RuleText, Side, figure, with_figures
from checker.units.parsing import Quantity


class DatedValue(Struct, frozen=True):
    """A threshold's value from one day on, until another day (excluded)."""

    quantity: Quantity
    text: str
    metric_print: Quantity | None
    metric_text: str | None
    starts: date
    ends: date | None
    citation: Citation
    note: str | None
    location: Location
    change: "Change | None" = None
    """The amendment's change that set it; None for the rulebook's own value."""
    replaces: "DatedValue | None" = None
    """The value in force without that change."""
    printed: str | None = None
    """The text in sentences where the units of a report are not those of the file."""

    def holds_on(self, day: date) -> bool:
        """True if the value is in force: from its first day to the day before `until`."""
        return within(day, self.starts, self.ends)

    def value(self, *, metric: bool) -> float:
        """The number, or with `metric` the metric figure printed beside it, if there is one."""
        chosen = self.metric_print if metric and self.metric_print else self.quantity
        return chosen.value

    def figure(self, *, metric: bool = False) -> str:
        """The value as sentences print it, or the metric figure printed beside it."""
        return figure(self.printed or (metric and self.metric_text) or self.text)


class Threshold(Struct, frozen=True):
    """A named number of a rule. `stricter` says which way a change makes the rule stricter."""

    name: str
    stricter: str
    values: tuple[DatedValue, ...]
    open_change: "Change | None" = None
    """A change that leaves no value, because its figure or whether it applies is not known."""

    def looser(self, new: Quantity, old: DatedValue) -> bool:
        """True if a new value is looser than an old one, or if neither direction is stricter.

        Of an old one that is printed in US and metric units, the stricter figure counts, unless
        the new one is the old one again: then both are kept.
        """
        prints = [each.value for each in (old.quantity, old.metric_print) if each]
        if self.stricter == "none" or new.value == old.quantity.value:
            return new.value != old.quantity.value
        return new.value < max(prints) if self.stricter == "higher" else new.value > min(prints)

    def on(self, day: date) -> DatedValue | None:
        """The value in force on a day; values of one threshold never overlap."""
        return next((value for value in self.values if value.holds_on(day)), None)


class Proof(Struct, frozen=True):
    """A worked case of a rule: facts given, verdict expected, and where that comes from."""

    name: str
    on: date
    given: Mapping[str, float]
    metric: bool
    """True if a given quantity is in metric units, so printed metric figures count too."""
    expect: str
    shows: Mapping[str, float]
    origin: str
    location: Location


class Rule(Struct, frozen=True, dict=True):  # a dict, to keep the names of its facts
    """One requirement."""

    id: str
    text: RuleText
    question: str
    for_each: Each | None
    when: Formula | None
    requires: Formula
    thresholds: Mapping[str, Threshold]
    shows: Mapping[str, Formula]
    citation: Citation
    basis: str
    level: str
    location: Location
    about: str | None = None
    proofs: tuple[Proof, ...] = ()
    usual_at_limit: bool = False
    """True if things are built to its limit, so that a small margin is no near miss."""
    days: Stretch | None = None
    """Its days in force and those of its rulebook, both; on others it does not apply."""

    @property
    def title(self) -> str:
        """A statement that is true when the rule is met, with the last figures known."""
        return with_figures(self.text.title, self.last_figures)

    @property
    def because(self) -> str:
        """The reason for the rule, with the last figures known."""
        return with_figures(self.text.because, self.last_figures)

    def when_broken(self, side: Side | None = None) -> str:
        """A statement that is true when the rule is not met, with the last figures known.

        `side` is the side of the limit on which the value lies; None where nobody knows.
        """
        return with_figures(self.text.when_broken(side), self.last_figures)

    def fix_for(self, side: Side | None) -> str:
        """What to do where the value lies on this side of the limit, with the last figures known.

        None where nobody knows the side.
        """
        return with_figures(self.text.fix_for(side), self.last_figures)

    @cached_property
    def named_figures(self) -> frozenset[str]:
        """The thresholds whose figures its texts print."""
        return self.text.named

    @cached_property
    def changes_over_time(self) -> bool:
        """True if a threshold has more than one value, each with its days."""
        return any(len(threshold.values) > 1 for threshold in self.thresholds.values())

    @cached_property
    def last_figures(self) -> Mapping[str, str]:
        """The last figure of each threshold that has one."""
        return {
            name: threshold.values[-1].figure()
            for name, threshold in self.thresholds.items()
            if threshold.values
        }

    @property
    def formulas(self) -> tuple[Formula, ...]:
        """Every formula of the rule."""
        return (*((self.when,) if self.when else ()), self.requires, *self.shows.values())

    @cached_property
    def facts(self) -> tuple[str, ...]:
        """Names of the facts its formulas use, in a fixed order."""
        used = {name for formula in self.formulas for name in formula.names}
        return tuple(sorted(used - set(self.thresholds)))


class Rulebook(Struct, frozen=True):
    """Rules from one body of text. `scope` is a rule of its own: when all the others apply."""

    id: str
    title: str
    jurisdiction: str
    scope: Rule | None
    rules: tuple[Rule, ...]
    digest: str
    file: str
    subjects: frozenset[str] = frozenset()
    """The subjects of the law of its jurisdiction that it holds."""
    days: Stretch | None = None
    """The days on which it is in force; None for always."""
    rules_not_read: bool = False
    """True if its rules were not read, because no trip of the run touches its jurisdiction."""
    location: Location | None = None
    """Where its id stands; None for one of law tables alone."""


class Amendment(Struct, frozen=True):
    """Who changes rules: the law of a jurisdiction, or a company's own policy."""

    id: str
    title: str
    layer: str
    jurisdiction: str
    digest: str
    file: str


class Change(Struct, frozen=True, eq=False):  # each is equal only to itself
    """What an amendment changes in a rule on some days.

    Without `threshold` the rule is repealed. Without `value` the threshold has no known value on
    these days. `was` is the rulebook's own value that the change expects to replace.
    """

    amendment: Amendment
    rule_id: str
    threshold: str | None
    was: Quantity | None
    value: DatedValue | None
    stated: Days
    """The days as the file states them."""
    withdrawal: Withdrawal | None
    citation: Citation
    because: str | None
    by: str | None
    locations: Mapping[str, Location]
    """The location of each of its lines, and its own under the empty name."""

    @property
    def starts(self) -> date:
        """Its first day."""
        return self.stated.starts

    @property
    def days(self) -> Days:
        """The days on which it counts: those stated, until somebody took it back."""
        return self.stated.until(self.withdrawal.starts) if self.withdrawal else self.stated


class Paragraph(Struct, frozen=True):
    """One paragraph of a law and its home here: its rules, or the reason why it has none."""

    id: str
    home: str
    rules: tuple[str, ...]
    reason: str | None
    location: Location


class Coverage(Struct, frozen=True):
    """Every paragraph of a body of law, with its home here."""

    title: str
    jurisdiction: str
    source: Source | None
    paragraphs: tuple[Paragraph, ...]


TEXT_SEEN: Final = "text seen"
"""How a law was read whose own text somebody saw."""
READINGS: Final = (TEXT_SEEN, "secondary copy", "from memory", "not found")
"""How the text behind a row of a law table was read, the most certain first."""


class Shape(Struct, frozen=True):
    """One shape, and where it stands."""

    id: str
    data: Mapping[str, Any]
    choices: Mapping[str, Mapping[str, Mapping[str, str]]]
    """The words of each choice, and what they put into the slots of the shape."""
    document: Document
    path: DataPath

    @property
    def limits(self) -> Mapping[str, Mapping[str, str]]:
        """Kind and strict direction of each figure."""
        found: Mapping[str, Mapping[str, str]] = self.data.get("limits", {})
        return found


class LawRow(Struct, frozen=True):
    """What one place asks on the subject of a table, and how that was read."""

    place: str
    name: str
    table: str
    """Title of its table."""
    subject: str
    read: str
    citations: tuple[str, ...]
    """Law, section and edition of each cell, or of the row where it has none."""
    rules: tuple[str, ...]
    note: str | None
    not_checked: str | None
    """What the text asks and no rule checks."""
    location: Location

    @property
    def holds_subject(self) -> bool:
        """True if its text was read, and rules hold all that it asks."""
        return self.read == TEXT_SEEN and self.not_checked is None


class LawTable(Struct, frozen=True):
    """The rows of one table."""

    id: str
    title: str
    subject: str
    file: str
    rows: tuple[LawRow, ...]


class VarianceRegister(Struct, frozen=True):
    """Variances of an organisation, for some loads or all."""

    id: str
    title: str
    variances: tuple[Variance, ...]
    digest: str
    file: str


class Rulebooks(Struct, frozen=True):
    """Everything read from the rule files."""

    books: tuple[Rulebook, ...]
    tables: tuple[RatingsTable, ...]
    sources: Mapping[str, Source] = field(default_factory=dict)
    coverages: tuple[Coverage, ...] = ()
    amendments: tuple[Amendment, ...] = ()
    changes: tuple[Change, ...] = ()
    shapes: Mapping[str, Shape] = field(default_factory=dict)
    """The templates that cells of law tables fill in, by id."""
    law_tables: tuple[LawTable, ...] = ()
    readings: tuple[Reading, ...] = ()
    own_sources: frozenset[str] = frozenset()
    """The ids of its own documents; its other ones are of rules that it may cite."""
    elsewhere: frozenset[str] = frozenset()
    """Ids of rules that are known but were not chosen."""
    registers: tuple[VarianceRegister, ...] = ()
    longest_variance: int | None = None
    """Most days that the organisation allows a variance."""

    @property
    def files(self) -> list[str]:
        """The files of all rulebooks, tables, registers and amendments."""
        of_rules = [each.file for each in self.books] + [each.file for each in self.tables]
        of_rules += [each.file for each in self.law_tables]
        of_rules += [each.file for each in self.registers]
        return of_rules + [each.file for each in self.amendments]

    @property
    def variances(self) -> Iterator[Variance]:
        """The variances of all registers."""
        return (variance for each in self.registers for variance in each.variances)

    def rule(self, rule_id: str) -> tuple[Rulebook, Rule] | None:
        """The rule of that id with its rulebook."""
        found = ((book, rule) for book in self.books for rule in book.rules if rule.id == rule_id)
        return next(found, None)

    def unmarked_on(self, day: date, places: Sequence[str] | None = None) -> UnmarkedRatings:
        """The limits of unmarked devices on a day, for a trip through these jurisdictions."""
        return ratings_on(self.tables, day, places)
