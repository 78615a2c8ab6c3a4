"""Every document that rules cite: edition, how and when it was read, and what rests on it."""

from collections.abc import Iterator, Sequence
from datetime import date
from typing import Final, Literal, TypeAlias, get_args

from msgspec import Struct

from checker.facts.catalogue import Fact, catalogue
from checker.facts.documents import documents_of
from checker.rulebooks.citations import Citation, Location, Reading, Source
from checker.rulebooks.editions import readings_of, source_on
from checker.rulebooks.model import Rule, Rulebook, Rulebooks

Kind: TypeAlias = Literal[
    "rule", "threshold", "law table cell", "table", "fact", "change", "list of paragraphs"
]
KINDS: Final[tuple[Kind, ...]] = get_args(Kind)


class Dependant(Struct, frozen=True):
    """Something that rests on a document: a rule, a number, a table, a fact, a change."""

    kind: Kind
    name: str
    words: str
    """What it says: the title of a rule or table, the figure of a threshold with its days."""
    at: str | None
    """The clause, page or table of the document."""
    location: Location | None


class CitedDocument(Struct, frozen=True):
    """A document in the edition in force on a day, with all its readings by then."""

    source: Source
    readings: tuple[Reading, ...]
    look_again: date
    is_overdue: bool
    """True if its day to look again is past and something among these rules rests on it."""
    due_at: Location | None
    """The location of its `look_again`."""
    dependants: tuple[Dependant, ...]


def documents(rulebooks: Rulebooks, on: date) -> list[CitedDocument]:
    """Every document, in the order of the files.

    Readings after the day do not count yet: what will be read is not read.
    """
    by_id: dict[str, list[Dependant]] = {name: [] for name in rulebooks.sources}
    for source_id, dependant in _dependants(rulebooks):
        by_id.setdefault(source_id, []).append(dependant)
    read = [each for each in rulebooks.readings if each.read_on <= on]
    return [
        _document(source, readings_of(source.id, read), by_id[source.id], on)
        for source in rulebooks.sources.values()
    ]


def _document(
    source: Source, readings: Sequence[Reading], dependants: Sequence[Dependant], on: date
) -> CitedDocument:
    last = readings[-1] if readings else None
    look_again = last.look_again if last else source.look_again
    return CitedDocument(
        source=source_on(source, readings, on),
        readings=tuple(readings),
        look_again=look_again,
        is_overdue=bool(dependants) and look_again < on,
        due_at=last.locations["look_again"] if last else source.due_at,
        dependants=tuple(dependants),
    )


def _dependants(rulebooks: Rulebooks) -> Iterator[tuple[str, Dependant]]:
    """Everything that cites a document, with the id of the document."""
    tables = {table.file for table in rulebooks.law_tables}
    for book in rulebooks.books:
        for rule in _rules_of(book):
            yield from _of_rule(rule, is_cell=rule.location.file in tables)
    for table in rulebooks.tables:
        yield from _one("table", table.id, table.title, table.citation, table.location)
    for coverage in rulebooks.coverages:
        if coverage.source is not None:
            at = coverage.paragraphs[0].location
            words = f"{len(coverage.paragraphs)} paragraphs"
            yield (
                coverage.source.id,
                Dependant("list of paragraphs", coverage.title, words, None, at),
            )
    for change in rulebooks.changes:
        value = change.value.text if change.value else "not yet known"
        what = f"{change.threshold} {value}" if change.threshold else "repealed"
        words = f"{what} {_days(change.days.starts, change.days.ends)}, {change.amendment.title}"
        yield from _one("change", change.rule_id, words, change.citation, change.locations[""])
    for fact in _facts_used(rulebooks):
        for source_id in documents_of(fact):
            if source_id in rulebooks.sources:
                yield source_id, Dependant("fact", fact.name, fact.meaning, fact.source, None)


def _facts_used(rulebooks: Rulebooks) -> list[Fact]:
    """The facts that rules name, and those that these use."""
    known = catalogue()
    waiting = {name for book in rulebooks.books for rule in _rules_of(book) for name in rule.facts}
    found: set[str] = set()
    while waiting:
        found |= waiting
        waiting = {used for name in waiting for used in known[name].uses} - found
    return [fact for name, fact in known.items() if name in found]


def _rules_of(book: Rulebook) -> Iterator[Rule]:
    yield from book.rules
    if book.scope:
        yield book.scope


def _of_rule(rule: Rule, *, is_cell: bool) -> Iterator[tuple[str, Dependant]]:
    """A rule and its thresholds; one of a law table is its cell, with all its figures."""
    kind: Kind = "law table cell" if is_cell else "rule"
    yield from _one(kind, rule.id, rule.title, rule.citation, rule.location)
    for name, threshold in rule.thresholds.items():
        for value in threshold.values:
            if not is_cell or value.citation != rule.citation:
                words = f"{name} {value.text} {_days(value.starts, value.ends)}"
                yield from _one("threshold", rule.id, words, value.citation, value.location)


def _one(
    kind: Kind, name: str, words: str, citation: Citation, at: Location
) -> Iterator[tuple[str, Dependant]]:
    if citation.source is not None:
        yield citation.source.id, Dependant(kind, name, words, citation.at, at)


def _days(starts: date, ends: date | None) -> str:
    return f"from {starts}" + (f" until {ends}" if ends else "")
