"""What only the XML of a sheet tells: whether it has formulas, and which of its cells are merged.

Merged cells are named behind all rows, so the XML is looked through before them, piece by piece as
it is unpacked: a tree of it, and events for all its cells, would take far more.
"""

import re
from array import array
from collections.abc import Iterator, Sequence
from functools import reduce
from itertools import count
from typing import Final, NamedTuple

import numpy as np

from checker.season.logs.limits import MOST_COLUMNS

_FORMULA: Final = re.compile(rb"<(?:\w+:)?f[\s/>]")
_MERGED: Final = re.compile(
    rb"""<(?:\w+:)?mergeCell\s[^<>]*?\bref\s*=\s*["']
    ([A-Z]{1,3})([0-9]{1,7}):([A-Z]{1,3})([0-9]{1,7})["']""",
    re.VERBOSE,
)


class Merged(NamedTuple):
    """A range of merged cells: its value is held by the first, and the others look blank."""

    top: int
    bottom: int
    left: int
    right: int

    @property
    def cells(self) -> str:
        """As a sheet names them: `D2:D4`."""
        return f"{_letters(self.left)}{self.top}:{_letters(self.right)}{self.bottom}"


class SheetPart:
    """What was found in the pieces of a part, each of whole tags, which come in their order."""

    def __init__(self) -> None:
        self.has_formulas = False
        # Four numbers for each range: a season may have many.
        self._merged = array("I")

    def add(self, piece: bytes) -> None:
        """Look through the next piece."""
        self.has_formulas = self.has_formulas or _FORMULA.search(piece) is not None
        for left, top, right, bottom in _MERGED.findall(piece):
            self._merged.extend((int(top), int(bottom), _number(left), _number(right)))

    def rows(self) -> Iterator[Sequence[Merged]]:
        """The merged ranges that cover each row, from the first row on and without an end.

        Raises ValueError where a row is covered by more than any program lets be.
        """
        ranges = np.asarray(self._merged).reshape(-1, len(Merged._fields))
        waiting = (Merged(*each.tolist()) for each in ranges[np.argsort(ranges[:, 0])])
        coming = next(waiting, None)
        covering: list[Merged] = []
        for row in count(1):
            if covering:
                covering = [each for each in covering if each.bottom >= row]
            while coming and coming.top <= row:
                covering.append(coming)
                coming = next(waiting, None)
            if len(covering) > MOST_COLUMNS:
                message = f"more than {MOST_COLUMNS:,} merged ranges over row {row}"
                raise ValueError(message)
            yield tuple(covering)


def _number(letters: bytes) -> int:
    return reduce(lambda number, letter: number * 26 + letter - ord("A") + 1, letters, 0)


def _letters(number: int) -> str:
    letters = ""
    while number:
        number, letter = divmod(number - 1, 26)
        letters = chr(ord("A") + letter) + letters
    return letters
