"""Skips the rules of rulebooks whose jurisdiction no trip of a run touches; reads only their heads.

A check needs only the name and jurisdiction of such a rulebook. `cinchbook rulebooks` reads every
rulebook, so faults in rules for other jurisdictions are reported there and stop no check here.
"""

from collections.abc import Iterable, Sequence, Set
from pathlib import Path
from typing import Any, Final

from msgspec import Struct

from checker.documents.document import Document
from checker.documents.document_cache import DocumentCache
from checker.documents.jurisdiction_codes import code_fault
from checker.rulebooks.jurisdictions import touches
from checker.rulebooks.model import Rulebook
from checker.rulebooks.rule_file_set import location

_BODY: Final = frozenset({"rules", "paragraphs"})
"""The keys that end the head of a rulebook, and of a list of a law's paragraphs."""


class Trips(Struct, frozen=True):
    """The jurisdictions of each load of a run; None for a load that does not state them."""

    jurisdictions: frozenset[tuple[str, ...] | None]

    @classmethod
    def through(cls, jurisdictions: Iterable[Sequence[str] | None]) -> "Trips":
        """Trips through these jurisdictions, one entry for each load."""
        return cls(frozenset(None if each is None else tuple(each) for each in jurisdictions))

    def may_touch(self, jurisdiction: str) -> bool:
        """True if any trip touches a jurisdiction, or may."""
        return any(touches(jurisdiction, each) != 0 for each in self.jurisdictions)


def read_as_needed(
    path: Path, shown: str, trips: Trips, cache: DocumentCache, *, first_only: Set[str]
) -> Document:
    """A rule file: whole if the trips may need it, else its head alone."""
    head = cache.read_file(path, shown, first_only=first_only, until=_BODY)
    if head.whole or _is_not_needed(head, trips):
        return head
    return cache.read_file(path, shown, first_only=first_only)


def _is_not_needed(head: Document, trips: Trips) -> bool:
    data: Any = head.data
    if head.problems or not isinstance(data, dict):
        return False
    if data.get("kind") == "coverage":
        return True
    named = (data.get("id"), data.get("title"), data.get("jurisdiction"))
    match data.get("kind"), named:
        case "rulebook", (str(), str(), str(where)):
            # A rulebook with an invalid jurisdiction is read, so that the fault is reported.
            return code_fault(where, anywhere=True) is None and not trips.may_touch(where)
    return False


def rulebook_without_rules(head: Document, digest: str) -> Rulebook:
    """The rulebook of a head, without rules."""
    data: Any = head.data
    return Rulebook(
        id=data["id"],
        title=data["title"],
        jurisdiction=data["jurisdiction"],
        scope=None,
        rules=(),
        digest=digest,
        file=head.file,
        rules_not_read=True,
        location=location(head, ("id",)),
    )
