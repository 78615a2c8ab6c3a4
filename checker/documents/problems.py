"""A problem in a file: where it is, what was found, what would be accepted, a nearby right word."""

import difflib
from collections.abc import Iterable
from typing import NamedTuple, TypeAlias

from msgspec import Struct

from checker.documents.shown import escaped

DataPath: TypeAlias = tuple[str | int, ...]
"""Keys and 0-based list positions from the top of a document down to one value."""


_MOST_SHOWN = 60


class Mark(NamedTuple):
    """A place in a text, counted from 1 as editors count."""

    line: int
    column: int


class Problem(Struct, frozen=True):
    """One thing to mend in one file."""

    file: str
    mark: Mark
    found: str
    wanted: str
    suggestion: str | None = None

    def __str__(self) -> str:
        """`file:line:col: found ...; wanted ...; did you mean ...?` on one line."""
        return escaped(f"{self.file}:{self.mark.line}:{self.mark.column}: {self.words}")

    @property
    def words(self) -> str:
        """The problem without its place, for whoever is still typing the value."""
        text = f"found {self.found}"
        if self.wanted:
            text += f"; wanted {self.wanted}"
        if self.suggestion:
            text += f"; did you mean {self.suggestion}?"
        return text


class ProblemsFoundError(Exception):
    """Raised at the end of a pass over files, with everything there is to mend in them."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = sorted(set(problems), key=lambda p: (p.file, p.mark, p.found))
        super().__init__("\n".join(map(str, self.problems)))

    def __reduce__(self) -> tuple[type["ProblemsFoundError"], tuple[list[Problem]]]:
        """Travel whole from another process, where an exception would keep its words only."""
        return ProblemsFoundError, (self.problems,)


def tamed(text: str) -> str:
    """Text from a file as messages show it: on one line, cut when very long."""
    shown = escaped(text[:_MOST_SHOWN])
    return f"{shown}…" if len(text) > _MOST_SHOWN else shown


def printable(text: str) -> str:
    """Text on one line, with nothing in it that a terminal would obey."""
    return "".join(letter if letter.isprintable() else " " for letter in text)


def quoted(text: str) -> str:
    """Text from a file between quotes, tamed."""
    return f"'{tamed(text)}'"


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known word a person most likely meant, or None when nothing is near."""
    candidates = list(known)
    folded = {name.casefold().replace("-", "_").replace(" ", "_"): name for name in candidates}
    exact = folded.get(word.casefold().replace("-", "_").replace(" ", "_"))
    if exact is not None and exact != word:
        return exact
    close = difflib.get_close_matches(word, candidates, n=1, cutoff=0.6)
    return close[0] if close else None


def listed(words: Iterable[str], most: int = 12) -> str:
    """Accepted words for a message, cut with a count when there are many."""
    names = [tamed(word) for word in words]
    if len(names) <= most:
        return ", ".join(names)
    return ", ".join(names[:most]) + f" and {len(names) - most} more"


def one_of(words: list[str]) -> str:
    """The words a value may be, for a message."""
    return words[0] if len(words) == 1 else f"one of: {listed(words, most=20)}"


def shown(value: object) -> str:
    """A value as a message names it."""
    match value:
        case None:
            return "nothing"
        case bool():
            return "true" if value else "false"
        case dict():
            return "a mapping"
        case list():
            return "a list"
        case int() | float():
            return f"the bare number {value}"
        case _:
            return quoted(str(value))
