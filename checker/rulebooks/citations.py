"""Documents that rules cite, how each was read, and where something stands in the rule files."""

from collections.abc import Mapping
from datetime import date
from typing import Final

from msgspec import Struct

from checker.documents.problems import Mark

LAW_OF_A_CELL: Final = "-law"
"""Ends the ids of documents that law tables cite, which stand in no sources file."""


class Location(Struct, frozen=True):
    """A file, line and column in the rule files."""

    file: str
    mark: Mark

    def __str__(self) -> str:
        return f"{self.file}:{self.mark.line}"


class Source(Struct, frozen=True):
    """A document that rules cite, and how it was read."""

    id: str
    title: str
    issuer: str
    edition: str
    jurisdiction: str
    read_as: str
    look_again: date
    note: str | None = None
    location: Location | None = None
    due_at: Location | None = None
    """Where its day to look again stands."""
    read_on: date | None = None
    read_by: str | None = None
    starts: date | None = None
    """First day of an edition that replaces another."""
    replaces: "Source | None" = None
    """The edition before this one."""


class Citation(Struct, frozen=True):
    """A document and a clause in it; no document means common practice."""

    source: Source | None
    at: str | None = None

    def __str__(self) -> str:
        if self.source is None:
            return "common practice, no source"
        return f"{self.source.title}, {self.at}"


class Reading(Struct, frozen=True, eq=False):  # each is equal only to itself
    """A document read again: unchanged, or with `edition` in a new edition with the same figures.

    `was` is the edition that it expects to have been read before.
    """

    source_id: str
    was: str
    edition: str | None
    starts: date | None
    """First day of the new edition."""
    read_on: date
    read_as: str
    look_again: date
    by: str
    note: str | None
    locations: Mapping[str, Location]
    """The location of each of its lines, and its own under the empty name."""

    @property
    def last_edition(self) -> str:
        """The edition that was read."""
        return self.edition or self.was
