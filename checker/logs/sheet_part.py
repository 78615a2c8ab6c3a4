"""Finds formulas and merged cells in the XML of a sheet.

Merged cells are listed after all rows, so the XML is scanned before the rows are read, in fragments
as it is unpacked. A tree or events for all cells would take far more time and memory.
"""

import re
from array import array
from collections.abc import Iterator, Sequence
from functools import reduce
from itertools import count
from typing import Final, NamedTuple

import numpy as np

from checker.logs.limits import MOST_COLUMNS

_FORMULA: Final = re.compile(rb"<(?:\w+:)?f[\s/>]")
_MERGED: Final = re.compile(
    rb"""<(?:\w+:)?mergeCell\s[^<>]*?\bref\s*=\s*["']
    ([A-Z]{1,3})([0-9]{1,7}):([A-Z]{1,3})([0-9]{1,7})["']""",
    re.VERBOSE,
)


class Merged(NamedTuple):
    """A range of merged cells; only the first cell has a value, the others look blank."""

    top: int
    bottom: int
    left: int
    right: int

    @property
    def cells(self) -> str:
        """The range as a sheet names it: `D2:D4`."""
        return f"{_letters(self.left)}{self.top}:{_letters(self.right)}{self.bottom}"


class SheetPart:
    """The formulas and merged ranges found in a part; fragments are added in order."""

    def __init__(self) -> None:
        self.has_formulas = False
        # Four numbers for each range, as a season may have many.
        self._merged = array("I")

    def add(self, fragment: bytes) -> None:
        """Scan the next fragment, which must contain only whole tags."""
        self.has_formulas = self.has_formulas or _FORMULA.search(fragment) is not None
        for left, top, right, bottom in _MERGED.findall(fragment):
            self._merged.extend((int(top), int(bottom), _number(left), _number(right)))

    def rows(self) -> Iterator[Sequence[Merged]]:
        """The merged ranges that cover each row, from the first row on, without end.

        Raises ValueError if more ranges cover a row than it can have columns.
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
