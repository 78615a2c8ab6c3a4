"""A document read again, as an officer notes it, and the file in which that is noted."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, Final

from checker.documents.document import Data
from checker.documents.problems import ProblemsFoundError, listed, nearest
from checker.documents.reader import read_bytes
from checker.documents.validate import validate
from checker.rulebooks.citations import Source
from checker.rulebooks.editions import readings_of
from checker.rulebooks.model import Rulebooks
from checker.upkeep.insert import append_entry

A_YEAR: Final = timedelta(days=365)
"""How long after a reading to look again, where nobody says it."""
_UNREAD: Final = ("from memory", "derived")
"""How a document was read that nobody has had in hand."""
NEW_FILE: Final = """\
# Documents read again, and documents of our own. Each reading says which edition it was (`was`),
# the edition that replaces it if there is one, when and how it was read, and by whom.
# `cinchbook sources ID` adds to it.
kind: sources
"""


class CannotNoteError(Exception):
    """A reading that cannot be noted; the message says what would be accepted."""


@dataclass(frozen=True, slots=True)
class NotedReading:
    """What an officer says of a reading. Without `edition` the document was unchanged."""

    read_on: date
    by: str
    edition: str | None
    starts: date | None
    read_as: str | None
    look_again: date | None
    note: str | None


def source_named(rulebooks: Rulebooks, source_id: str) -> Source:
    """The document of that id. Raises CannotNoteError with a suggestion."""
    known = rulebooks.sources
    if source_id in known:
        return known[source_id]
    guess = nearest(source_id, known)
    wanted = f"one that `cinchbook sources` lists, such as {listed(known, most=3)}"
    hint = f"; did you mean '{guess}'?" if guess else ""
    message = f"found no document '{source_id}'; wanted {wanted}{hint}"
    raise CannotNoteError(message)


def reading_lines(
    noted: NotedReading, source: Source, rulebooks: Rulebooks
) -> dict[str, Data | date]:
    """The lines of a reading in the file. Raises CannotNoteError."""
    earlier = readings_of(source.id, rulebooks.readings)
    was, read_as = source.edition, source.read_as
    if earlier:
        was, read_as = earlier[-1].last_edition, earlier[-1].read_as
        if earlier[-1].read_on > noted.read_on:
            message = (
                f"found a reading on {noted.read_on}; wanted {earlier[-1].read_on} or later, "
                f"the day of the last one ({earlier[-1].locations['']})"
            )
            raise CannotNoteError(message)
    if noted.read_as is None and read_as in _UNREAD:
        message = (
            f"found a document that nobody had in hand before ({read_as}); wanted --read-as with "
            "how it was read now, such as 'text seen'"
        )
        raise CannotNoteError(message)
    stated: dict[str, Data | date | None] = {
        "source": source.id,
        "was": was,
        "edition": noted.edition,
        "from": noted.starts,
        "read_on": noted.read_on,
        "read_as": noted.read_as or read_as,
        "look_again": noted.look_again or noted.read_on + A_YEAR,
        "by": noted.by,
        "note": noted.note,
    }
    return {key: value for key, value in stated.items() if value is not None}


def text_with_reading(text: str, reading: Mapping[str, Data | date], file: str) -> str:
    """The file with the reading in it, read back and compared with the intended content.

    Raises ProblemsFoundError where the file after it is not in order, and CannotInsertError.
    """
    after = append_entry(text, "read_again", reading)
    document = read_bytes(after.encode(), file)
    problems = document.problems + validate(document, wanted_kind="sources")
    if problems:
        raise ProblemsFoundError(problems)
    data: Any = document.data
    added = data["read_again"][-1]
    assert {key: str(value) for key, value in added.items()} == {
        key: str(value) for key, value in reading.items()
    }, "the file read back differs from the reading noted"
    return after
