"""What only the XML of a sheet tells: whether it has formulas, and which of its cells are merged.

Merged cells are named behind all rows, so the XML is scanned once before them. It is searched
piece by piece as it is unpacked: a tree of it, and events for all its cells, would take far more.
"""

import re
from array import array
from collections.abc import Iterator, Sequence
from functools import reduce
from itertools import count
from typing import IO, Final, NamedTuple

import numpy as np

from checker.season.logs.limits import MOST_COLUMNS

CHUNK: Final = 1 << 20
_LONGEST_TAG: Final = 256
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


class SheetPart(NamedTuple):
    """What was found; `merged` has four numbers for each range, since a season may have many."""

    has_formulas: bool
    merged: "array[int]"

    def rows(self) -> Iterator[Sequence[Merged]]:
        """The merged ranges that cover each row, from the first row on and without an end.

        Raises ValueError where a row is covered by more than any program lets be.
        """
        ranges = np.asarray(self.merged).reshape(-1, len(Merged._fields))
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


def scan_sheet(part: IO[bytes]) -> SheetPart:
    """What stands in the XML of one sheet."""
    has_formulas = False
    merged = array("I")
    rest = b""
    while chunk := part.read(CHUNK):
        text = rest + chunk
        has_formulas = has_formulas or _FORMULA.search(text) is not None
        done = 0
        for found in _MERGED.finditer(text):
            left, top, right, bottom = found.groups()
            merged.extend((int(top), int(bottom), _number(left), _number(right)))
            done = found.end()
        rest = text[max(done, len(text) - _LONGEST_TAG) :]
    return SheetPart(has_formulas, merged)


def _number(letters: bytes) -> int:
    return reduce(lambda number, letter: number * 26 + letter - ord("A") + 1, letters, 0)


def _letters(number: int) -> str:
    letters = ""
    while number:
        number, letter = divmod(number - 1, 26)
        letters = chr(ord("A") + letter) + letters
    return letters
