"""A document that was read again, as one record."""

from datetime import date
from typing import TYPE_CHECKING

from msgspec import Struct

if TYPE_CHECKING:
    from collections.abc import Mapping

    from checker.rulebooks.model import Location


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
    locations: "Mapping[str, Location]"
    """The location of each of its lines, and its own under the empty name."""

    @property
    def last_edition(self) -> str:
        """The edition that was read."""
        return self.edition or self.was
