"""Paragraphs of the law of a place and their homes, as a document."""

from collections.abc import Sequence
from typing import Final

from msgspec import Struct

from checker.reports.shared.json_document import record_document
from checker.reports.shared.portable_paths import located
from checker.rulebooks.coverage import Gap
from checker.rulebooks.model import Coverage
from checker.rulebooks.places import HeldForPlace, clauses

KIND: Final = "coverage-of-law"


class ParagraphRecord(Struct, frozen=True):
    """A paragraph of a law."""

    id: str
    """The paragraph."""
    home: str
    """What becomes of it."""
    rules: tuple[str, ...]
    """Ids of the rules that carry it."""
    reason: str | None
    """Why it has no rule; null where it has one."""
    at: str
    """File and line."""


class ParagraphList(Struct, frozen=True):
    """Every paragraph of a body of law."""

    title: str
    """Title of the list."""
    document: str | None
    """Id of the document that the paragraphs are of; null where none is named."""
    paragraphs: tuple[ParagraphRecord, ...]
    """The paragraphs, in order."""


class MissingHome(Struct, frozen=True):
    """A paragraph without a home, or a citation without a paragraph."""

    words: str
    """What is missing."""
    at: str
    """File and line."""


class ClauseRecord(Struct, frozen=True):
    """A clause that rules cite."""

    document: str | None
    """Id of the document; null for common practice."""
    clause: str | None
    """Where in the document; null where not given."""
    rules: tuple[str, ...]
    """Ids of the rules that cite it."""


class Document(Struct, frozen=True):
    """What becomes of each paragraph of the law of a place."""

    place: str
    """The place: a code of ISO 3166, or a region."""
    complete: bool | None
    """True if every paragraph has a home and every citation a paragraph; null where no list of
    paragraphs is held, so that nobody knows."""
    lists: tuple[ParagraphList, ...]
    """Lists of paragraphs; empty where none is held."""
    missing: tuple[MissingHome, ...]
    """What the lists lack."""
    clauses: tuple[ClauseRecord, ...]
    """Clauses that rules of the place cite."""
    subjects_not_read: tuple[str, ...]
    """Subjects of its law that nobody read."""


def document(held: HeldForPlace, missing: Sequence[Gap]) -> str:
    """The paragraphs of a place as a document, and what they lack."""
    cited = clauses(held.own)
    return record_document(
        KIND,
        Document(
            place=held.place,
            complete=not missing if held.coverages else None,
            lists=tuple(map(_list, held.coverages)),
            missing=tuple(MissingHome(each.text, located(each.location)) for each in missing),
            clauses=tuple(
                ClauseRecord(source.id if source else None, clause or None, tuple(rules))
                for source, of_source in cited.items()
                for clause, rules in of_source.items()
            ),
            subjects_not_read=tuple(held.not_read),
        ),
    )


def _list(coverage: Coverage) -> ParagraphList:
    return ParagraphList(
        title=coverage.title,
        document=coverage.source.id if coverage.source else None,
        paragraphs=tuple(
            ParagraphRecord(each.id, each.home, each.rules, each.reason, located(each.location))
            for each in coverage.paragraphs
        ),
    )
