"""What the rulebooks hold for places, as a document."""

from collections.abc import Sequence
from datetime import date
from typing import Final

from msgspec import Struct

from checker.documents.jurisdiction_codes import place_name
from checker.reports.shared.json_document import record_document
from checker.reports.shared.portable_paths import located
from checker.reports.shared.records import RulebookName, rulebook_name
from checker.rulebooks.model import LawRow, Rulebook
from checker.rulebooks.places import HeldForPlace, by_basis, by_reading, clauses, days_of, rules_of

KIND: Final = "places-held"


class HeldRulebook(Struct, frozen=True):
    """A rulebook that is in force in a place."""

    rulebook: RulebookName
    """The rulebook."""
    rules: int
    """Number of its rules."""
    only_where: str | None
    """Why it is not for every load; null where it is."""


class FigureDays(Struct, frozen=True):
    """The days of dated figures."""

    figures: int
    """Number of figures."""
    first: date
    """First day of the oldest."""
    last: date
    """First day of the latest."""
    ends: tuple[date, ...]
    """Days on which some end."""


class TableRow(Struct, frozen=True):
    """What a place asks on the subject of a law table."""

    table: str
    """Title of the table."""
    subject: str
    """Subject of the law."""
    read: str
    """How its text was read."""
    citations: tuple[str, ...]
    """Law, section and edition."""
    rules: tuple[str, ...]
    """Ids of its rules."""
    not_checked: str | None
    """What the text asks and no rule checks; null where there is nothing."""
    note: str | None
    """Anything a reader should know; null where nothing is noted."""
    at: str
    """File and line."""


class HeldDocument(Struct, frozen=True):
    """A document that rules of a place cite."""

    document: str
    """Id of the document."""
    title: str
    """Title of the document."""
    edition: str
    """Edition of the document."""
    read_as: str
    """How it was read."""
    rules: int
    """Number of rules that cite it."""
    look_again: date
    """Day to read it again."""


class Held(Struct, frozen=True):
    """What the rulebooks hold for one place."""

    place: str
    """A code of ISO 3166, a region, or any."""
    name: str
    """Its name."""
    rules: int
    """Number of its own rules."""
    rules_by_basis: dict[str, dict[str, int]]
    """Its own rules by what they rest on, and by level."""
    rules_by_reading: dict[str, int]
    """Its own rules by the least certain of the documents they cite."""
    days: FigureDays | None
    """Days of its own figures; null where it has none."""
    tables: tuple[str, ...]
    """Titles of its tables of unmarked devices."""
    amendments: tuple[str, ...]
    """Titles of amendments by its law."""
    lists_of_paragraphs: tuple[str, ...]
    """Titles of its lists of paragraphs, which `cinchbook coverage` prints."""
    subjects_read: dict[str, tuple[str, ...]]
    """Subjects of its law that were read, each with the places whose rulebooks hold it."""
    subjects_not_read: tuple[str, ...]
    """Subjects of its law that nobody read."""
    rulebooks: tuple[HeldRulebook, ...]
    """Rulebooks in force there: its own, then those of the places around it."""
    law_tables: tuple[TableRow, ...]
    """Its rows of law tables."""
    documents: tuple[HeldDocument, ...]
    """Documents that these rulebooks cite."""


class Document(Struct, frozen=True):
    """What is held for each place, and how it was read."""

    on: date
    """Day for which editions are printed."""
    places: tuple[Held, ...]
    """The places; the rules for anywhere first."""


def document(held: Sequence[HeldForPlace], day: date) -> str:
    """What is held for places as a document."""
    return record_document(KIND, Document(day, tuple(map(_held, held))))


def _held(held: HeldForPlace) -> Held:
    rules, days = held.rules, days_of(held.rules)
    return Held(
        place=held.place,
        name=place_name(held.place),
        rules=len(rules),
        rules_by_basis={basis: dict(levels) for basis, levels in by_basis(rules).items()},
        rules_by_reading=dict(by_reading(rules)),
        days=FigureDays(days.figures, days.first, days.last, days.ends) if days else None,
        tables=held.tables,
        amendments=held.amendments,
        lists_of_paragraphs=tuple(each.title for each in held.coverages),
        subjects_read=dict(held.read),
        subjects_not_read=tuple(held.not_read),
        rulebooks=tuple(map(_rulebook, held.all_books)),
        law_tables=tuple(map(_row, held.rows)),
        documents=tuple(
            HeldDocument(
                document=source.id,
                title=source.title,
                edition=source.edition,
                read_as=source.read_as,
                rules=len({rule for rules in cited.values() for rule in rules}),
                look_again=source.look_again,
            )
            for source, cited in clauses(held.all_books).items()
            if source
        ),
    )


def _rulebook(book: Rulebook) -> HeldRulebook:
    only_where = book.scope.because if book.scope else None
    return HeldRulebook(rulebook_name(book), len(rules_of([book])), only_where)


def _row(row: LawRow) -> TableRow:
    return TableRow(
        table=row.table,
        subject=row.subject,
        read=row.read,
        citations=row.citations,
        rules=row.rules,
        not_checked=row.not_checked,
        note=row.note,
        at=located(row.location),
    )
