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
    of_hauls: bool | tuple[str, ...] = True
    """Whether it is asked of hauls too, or which fields a haul must state for it to be asked."""


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


def usually(field: str, least: str, most: str, because: str, when: str = "") -> tuple[Entry, Entry]:
    """A figure far below or far above what is usual, of some kind of thing or of all."""
    usual = f"{_spaced(least)} to {_spaced(most)}"
    return (
        _beyond(field, f"< {least}", usual, because, when),
        _beyond(field, f"> {most}", usual, because, when),
    )


def at_least(field: str, least: str, because: str, when: str) -> tuple[Entry]:
    """A figure far below what is usual of some kind of thing."""
    return (_beyond(field, f"< {least}", f"at least {_spaced(least)}", because, when),)


def at_most(field: str, most: str, because: str) -> tuple[Entry]:
    """A figure far above what is usual, of which none is too small."""
    return (_beyond(field, f"> {most}", f"at most {_spaced(most)}", because, ""),)


def _beyond(field: str, bound: str, usual: str, because: str, when: str) -> Entry:
    parts = [part for part in field.split(".") if part != "*"]
    parts += when.partition(" is ")[2].replace("|", " ").split()
    parts.append("low" if bound.startswith("<") else "high")
    name = "-".join(parts).replace("_", "-")
    where = (when, f"{field} {bound}") if when else (f"{field} {bound}",)
    found = "{b}" if when else "{a}"
    return Entry(name, Grade.DOUBTFUL, where, found, usual, because, at=field)


def _spaced(constant: str) -> str:
    """A constant of a statement with a space between number and unit: `3 ft` for `3ft`."""
    number = constant.rstrip("abcdefghijklmnopqrstuvwxyz%")
    unit = constant[len(number) :]
    return f"{number} {unit}" if unit else number
