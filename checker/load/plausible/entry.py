"""An entry of the lists of this room: what cannot be, or what is far outside the usual."""

from enum import StrEnum

from msgspec import Struct

PRACTICE = "common practice, no source"


class Grade(StrEnum):
    """What becomes of a load for which an entry holds."""

    REFUSED = "refused"
    """Nothing can be true: the load is not judged."""
    DOUBTFUL = "doubtful"
    """It may be true, and is far outside the usual: the report says so first."""


class Entry(Struct, frozen=True):
    """Statements that together cannot be, or are doubtful, with the words for it.

    `found` and `wanted` may hold {less} and {more}, the two sides of the last comparison; {first},
    {second}, ... for the fields in the order they are named, as they are stated; {a} and {b} for
    the first and second field with what it states, such as `trailer.brakes: none`.
    """

    name: str
    grade: Grade
    where: tuple[str, ...]
    """All of them hold."""
    found: str
    wanted: str
    because: str = ""
    source: str = PRACTICE
    at: str = ""
    """The field at whose place it is told; the first that is named unless another is given."""
    of_hauls: bool = True
    """Asked of what hauls state over a profile too, not of profiles alone."""


def excluded(name: str, first: str, second: str, wanted: str) -> Entry:
    """Two statements, or a statement and a field, that exclude each other."""
    return Entry(name, Grade.REFUSED, (first, second), "{a} beside {b}", wanted)


def impossible(name: str, where: str | tuple[str, ...], found: str, wanted: str) -> Entry:
    """Figures that no load can have."""
    return Entry(name, Grade.REFUSED, (where,) if isinstance(where, str) else where, found, wanted)


def doubtful(
    name: str,
    where: str | tuple[str, ...],
    found: str,
    usual: str,
    because: str,
    source: str = PRACTICE,
) -> Entry:
    """Figures that a load may have and seldom has."""
    clauses = (where,) if isinstance(where, str) else where
    return Entry(name, Grade.DOUBTFUL, clauses, found, usual, because, source)


def usually(field: str, least: str, most: str, because: str, when: str = "") -> tuple[Entry, ...]:
    """A figure far below and far above what is usual, of some kind of thing or of all.

    Without `least` any figure is large enough.
    """
    name = "-".join(part for part in field.split(".") if part != "*").replace("_", "-")
    name += "".join(f"-{word}" for word in when.partition(" is ")[2].replace("|", " ").split())
    also = (when,) if when else ()
    usual = f"{_spaced(least)} to {_spaced(most)}" if least else f"at most {_spaced(most)}"
    high = (*also, f"{field} > {most}")
    found: tuple[Entry, ...] = (
        Entry(f"{name}-high", Grade.DOUBTFUL, high, "{a}", usual, because, at=field),
    )
    if least:
        low = (*also, f"{field} < {least}")
        found += (Entry(f"{name}-low", Grade.DOUBTFUL, low, "{a}", usual, because, at=field),)
    return found


def _spaced(constant: str) -> str:
    """A constant of a statement as people write it."""
    number = constant.rstrip("abcdefghijklmnopqrstuvwxyz%")
    unit = constant[len(number) :]
    return f"{number} {unit}" if unit else number
