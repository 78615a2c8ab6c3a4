"""The first rows of the log with something: few, and the same in whatever order they are found."""

from collections.abc import Iterable, Mapping
from typing import Final, TypeVar

MOST_ROWS: Final = 5
"""Most rows that are named for one thing; all are counted."""

Found = TypeVar("Found")


def add_first_rows(rows: dict[int, Found], more: Mapping[int, Found]) -> None:
    """Add rows with what was found there, then drop all but the first."""
    rows.update(more)
    for row in sorted(rows)[MOST_ROWS:]:
        del rows[row]


def first_rows(rows: Iterable[int]) -> list[int]:
    """The first of some rows, each once, in order."""
    return sorted(set(rows))[:MOST_ROWS]
