"""An entry of the lists in this package: statements that cannot be true, or are doubtful."""

from enum import StrEnum

from msgspec import Struct

PRACTICE = "common practice, no source"


class Grade(StrEnum):
    """What happens to a load that matches an entry."""

    REFUSED = "refused"
    """It cannot be true: the load is not checked."""
    DOUBTFUL = "doubtful"
    """It may be true, and is far outside the usual: the report says so first."""


class Entry(Struct, frozen=True):
    """Statements that cannot be true together, or are doubtful, with the text of the message.

    `found` and `wanted` may hold {less} and {more}, the two sides of the last comparison; {first},
    {second}, ... for the stated fields in the order they are named; {a} and {b} for the first and
    second field with its value, such as `trailer.brakes: none`; {bound[36in]} for a figure of a
    statement, in metric units where the figure that it bounds is.
    """

    name: str
    grade: Grade
    where: tuple[str, ...]
    """The statements; the entry applies where all of them hold."""
    found: str
    wanted: str
    because: str = ""
    source: str = PRACTICE
    at: str = ""
    """The field at whose location it is reported; the first one named unless given."""
    of_hauls: bool | tuple[str, ...] = True
    """True if it also applies to what hauls state, or the fields of which a haul must state one."""


def excluded(name: str, first: str, second: str, wanted: str) -> Entry:
    """An entry for two statements, or a statement and a field, that exclude each other."""
    return Entry(name, Grade.REFUSED, (first, second), "{a} beside {b}", wanted)


def impossible(name: str, where: str | tuple[str, ...], found: str, wanted: str) -> Entry:
    """An entry for figures that no load can have."""
    return Entry(name, Grade.REFUSED, (where,) if isinstance(where, str) else where, found, wanted)


def doubtful(
    name: str,
    where: str | tuple[str, ...],
    found: str,
    usual: str,
    because: str,
    source: str = PRACTICE,
) -> Entry:
    """An entry for figures that are possible and rare."""
    clauses = (where,) if isinstance(where, str) else where
    return Entry(name, Grade.DOUBTFUL, clauses, found, usual, because, source)


def usually(field: str, least: str, most: str, because: str, when: str = "") -> tuple[Entry, Entry]:
    """Entries for a figure far below or far above the usual, for one kind of thing or for all."""
    usual = f"{_bound(least)} to {_bound(most)}"
    return (
        _beyond(field, f"< {least}", usual, because, when),
        _beyond(field, f"> {most}", usual, because, when),
    )


def at_least(field: str, least: str, because: str, when: str) -> tuple[Entry]:
    """An entry for a figure far below the usual of one kind of thing."""
    return (_beyond(field, f"< {least}", f"at least {_bound(least)}", because, when),)


def at_most(field: str, most: str, because: str) -> tuple[Entry]:
    """An entry for a figure far above the usual; there is no lower bound."""
    return (_beyond(field, f"> {most}", f"at most {_bound(most)}", because, ""),)


def _beyond(field: str, bound: str, usual: str, because: str, when: str) -> Entry:
    parts = [part for part in field.split(".") if part != "*"]
    parts += when.partition(" is ")[2].replace("|", " ").split()
    parts.append("low" if bound.startswith("<") else "high")
    name = "-".join(parts).replace("_", "-")
    where = (when, f"{field} {bound}") if when else (f"{field} {bound}",)
    found = "{b}" if when else "{a}"
    return Entry(name, Grade.DOUBTFUL, where, found, usual, because, at=field)


def _bound(constant: str) -> str:
    return f"{{bound[{constant}]}}"
