"""A problem in a file: location, what was found, what would be accepted, a suggestion."""

import difflib
import re
from collections.abc import Iterable, Sequence
from itertools import groupby, islice
from typing import NamedTuple, TypeAlias

from msgspec import Struct

from checker.documents.escaping import escaped

DataPath: TypeAlias = tuple[str | int, ...]
"""Keys and 0-based list positions from the top of a document down to one value."""


MOST_OF_A_FILE = 200
"""Further problems of one file are counted but not listed."""

_MOST_SHOWN = 60
_AT_LEAST = "at least "
# Text that is in quotes already stays as it is.
_LIKE_A_LIST = re.compile(r"(?!'.*'$).*(?:[,;]| and | or )", re.DOTALL)
_MOST_KNOWN = 2000
"""With more known words than any schema, rulebook or fleet has, no suggestion is searched."""


class Mark(NamedTuple):
    """A line and column in a text, both counted from 1 as editors do."""

    line: int
    column: int


class Problem(Struct, frozen=True):
    """One problem in one file."""

    file: str
    mark: Mark
    found: str
    wanted: str
    suggestion: str | None = None
    count: int = 1
    """How many problems it counts for: the last of a file may count for all that are not listed."""

    def __str__(self) -> str:
        """`file:line:col: found ...; wanted ...; did you mean ...?` on one line."""
        return escaped(f"{self.file}:{self.mark.line}:{self.mark.column}: {self.words}")

    @property
    def words(self) -> str:
        """The problem without its location, for somebody who is still typing the value."""
        text = f"found {self.found}"
        if self.wanted:
            text += f"; wanted {self.wanted}"
        if self.suggestion:
            text += f"; did you mean {self.suggestion}?"
        return text


class ProblemsFoundError(Exception):
    """Raised at the end of a pass over files, with every problem found in them."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = limit_problems(problems)
        super().__init__("\n".join(map(str, self.problems)))

    def __reduce__(self) -> tuple[type["ProblemsFoundError"], tuple[list[Problem]]]:
        """Pickle the problems too: by default only an exception's text reaches another process."""
        return ProblemsFoundError, (self.problems,)


def limit_problems(problems: Iterable[Problem], *, cut: bool = False) -> list[Problem]:
    """Each problem once, ordered by file and location; at most `MOST_OF_A_FILE` for one file.

    The rest of a file is one more problem, at the location of the first one left out. `cut` says
    that the search stopped before all were found.
    """
    in_order = sorted(set(problems), key=lambda p: (p.file, p.mark, p.found))
    kept: list[Problem] = []
    for file, each in groupby(in_order, key=lambda p: p.file):
        of_file = list(each)
        kept += of_file[:MOST_OF_A_FILE]
        rest = of_file[MOST_OF_A_FILE:]
        if len(rest) == 1:
            kept += rest
        elif rest:
            more = count_problems(rest)
            at_least = cut or any(each.found.startswith(_AT_LEAST) for each in rest)
            found = f"{_AT_LEAST * at_least}{more:,} more problems from here on"
            wanted = "the problems above fixed first"
            kept.append(Problem(file, rest[0].mark, found, wanted, count=more))
    return kept


def count_problems(problems: Iterable[Problem]) -> int:
    """The number of problems, with those that are counted but not listed."""
    return sum(problem.count for problem in problems)


def shorten(text: str) -> str:
    """Text from a file as messages show it: on one line, shortened when very long."""
    shown = escaped(text[:_MOST_SHOWN])
    return f"{shown}…" if len(text) > _MOST_SHOWN else shown


def printable(text: str) -> str:
    """The text on one line, without anything that a terminal would obey."""
    if text.isprintable():
        return text
    return "".join(letter if letter.isprintable() else " " for letter in text)


def quoted(text: str) -> str:
    """Text from a file in quotes, on one line and shortened."""
    return f"'{shorten(text)}'"


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known word nearest to the one given, or None when nothing is near."""
    candidates = list(islice(known, _MOST_KNOWN))
    folded = {name.casefold().replace("-", "_").replace(" ", "_"): name for name in candidates}
    exact = folded.get(word.casefold().replace("-", "_").replace(" ", "_"))
    if exact is not None and exact != word:
        return exact
    close = difflib.get_close_matches(word, candidates, n=1, cutoff=0.6)
    return close[0] if close else None


def suggestion_for(word: str, known: Iterable[str], found: Sequence[Problem]) -> str | None:
    """The nearest known word in quotes, for the next problem after those found.

    None once there are so many problems that hardly another is listed: finding a near word is the
    slowest part of reporting a problem.
    """
    guess = nearest(word, known) if len(found) < MOST_OF_A_FILE else None
    return guess and quoted(guess)


def listed(words: Iterable[str], most: int = 12) -> str:
    """Accepted words for a message; a long list ends in a count.

    A word that itself looks like a part of a list is in quotes: `width, 'height and length'`.
    """
    names = list(words)
    shown = ", ".join(
        quoted(name) if _LIKE_A_LIST.match(name) else shorten(name) for name in names[:most]
    )
    return shown if len(names) <= most else f"{shown} and {len(names) - most} more"


def one_of(words: list[str]) -> str:
    """The words that a value may be, for a message."""
    return words[0] if len(words) == 1 else f"one of: {listed(words, most=20)}"


def describe(value: object) -> str:
    """A value as messages name it."""
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
