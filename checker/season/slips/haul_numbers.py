"""Finds the haul numbers that a log uses more than once.

A log may have millions of hauls, so only a hash of each number is held, of 64 bits: in one of some
thirty million logs of a million hauls two different numbers have the same and count as one.
"""

from array import array
from collections.abc import Callable, Iterable, Mapping
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

MOST_LISTED: Final = 100
"""Most numbers used more than once that are listed; all are counted."""
MOST_ROWS: Final = 5
"""Most rows that are listed for each of them."""


class RepeatedNumber(NamedTuple):
    """A haul number used more than once: the number of its hauls, and their first rows."""

    number: str
    hauls: int
    rows: tuple[int, ...]


class RepeatedNumbers(NamedTuple):
    """How many haul numbers are used more than once, in how many hauls, and the first of them."""

    numbers: int = 0
    hauls: int = 0
    listed: tuple[RepeatedNumber, ...] = ()


class HaulNumbers:
    """The hashes of the haul numbers of a log, part by part."""

    def __init__(self) -> None:
        self._hashes = array("q")
        self._starts: list[int] = []
        """By part, the index of its first hash."""

    def add(self, numbers: Iterable[str]) -> None:
        """Add the haul numbers of the next part, in its order."""
        self._starts.append(len(self._hashes))
        self._hashes.extend(map(hash, numbers))

    def repeated(self, of_part: Callable[[int], Mapping[int, str]]) -> RepeatedNumbers:
        """The numbers used more than once; `of_part` returns those of a part by row."""
        hashes = np.frombuffer(self._hashes, dtype=np.int64)
        ordered = np.sort(hashes)
        several = np.unique(ordered[1:][ordered[1:] == ordered[:-1]])
        del ordered
        if not several.size:
            return RepeatedNumbers()
        code_of = np.minimum(np.searchsorted(several, hashes), several.size - 1)
        hauls = np.flatnonzero(several[code_of] == hashes)
        codes = code_of[hauls]
        _, first = np.unique(codes, return_index=True)
        listed = [hauls[codes == codes[index]] for index in np.sort(first)[:MOST_LISTED]]
        read = self._read(of_part, np.concatenate([each[:MOST_ROWS] for each in listed]))
        return RepeatedNumbers(
            several.size, hauls.size, tuple(_repeated(each, read) for each in listed)
        )

    def _read(
        self, of_part: Callable[[int], Mapping[int, str]], hauls: NDArray[np.intp]
    ) -> dict[int, tuple[int, str]]:
        """The row and the number of some hauls, by their index; reads one part at a time."""
        found: dict[int, tuple[int, str]] = {}
        parts = np.searchsorted(self._starts, hauls, side="right") - 1
        for part in np.unique(parts).tolist():
            rows = list(of_part(part).items())
            for index in hauls[parts == part].tolist():
                found[index] = rows[index - self._starts[part]]
        return found


def _repeated(hauls: NDArray[np.intp], read: Mapping[int, tuple[int, str]]) -> RepeatedNumber:
    rows, numbers = zip(*(read[index] for index in hauls[:MOST_ROWS].tolist()), strict=True)
    return RepeatedNumber(numbers[0], hauls.size, rows)
