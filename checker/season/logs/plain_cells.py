"""Cells of plain CSV lines, told apart without making a text of each.

A season repeats itself: of a million cells in a column a few hundred are distinct. The bytes of a
cell are taken as a number, or as several, and arrays of those are looked up at once.
"""

from collections.abc import Iterator, Sequence
from typing import Final, overload

import numpy as np
from numpy.typing import NDArray

Words = NDArray[np.uint64]
"""Eight bytes each, the first of them lowest."""
_BYTES: Final = 8
_COMMA, _LINE_END, _SPACE, _LAST_OF_ASCII = b",\n \x7f"

_FIRST_BYTES: Final[Words] = np.array([(1 << 8 * size) - 1 for size in range(_BYTES + 1)], "<u8")
"""What keeps so many bytes of a word."""

# The first word of a cell counts as it is: short cells are keys of themselves.
_FACTOR: Final = 0x9E37_79B9_7F4A_7C15
_FACTORS: Final = tuple(np.uint64(pow(_FACTOR, power, 1 << 64)) for power in range(16))


def plain_columns(text: bytes, width: int) -> "list[PlainCells] | None":
    """The columns of whole lines of UTF-8; None where some line is not `width` plain cells.

    Plain cells hold no zero bytes, and no quotes: those the caller sees to. A line on which all are
    blank is no row, and not plain.
    """
    if b"\0" in text or not text.endswith(b"\n"):
        return None
    padded = np.zeros(len(text) + _BYTES, dtype=np.uint8)
    padded[: len(text)] = np.frombuffer(text, dtype=np.uint8)
    ends = np.flatnonzero((padded == _COMMA) | (padded == _LINE_END))
    ends_line = padded[ends] == _LINE_END
    if ends_line.sum() * width != len(ends) or not ends_line[width - 1 :: width].all():
        return None
    starts = np.concatenate(([0], ends[:-1] + 1))
    for row in _hardly_told(padded, starts, width):
        cells = text[starts[row * width] : ends[row * width + width - 1]]
        if not cells.replace(b",", b"").decode().strip():
            return None
    sizes = ends - starts
    return [PlainCells(padded, starts[place::width], sizes[place::width]) for place in range(width)]


def _hardly_told(
    padded: NDArray[np.uint8], starts: NDArray[np.intp], width: int
) -> NDArray[np.intp]:
    """The rows that may be blank: no cell begins with a letter or digit of ASCII.

    Hardly a row is left when the first columns are looked at.
    """
    rows = np.arange(len(starts) // width)
    for place in range(width):
        first = padded[starts[rows * width + place]]
        rows = rows[(first <= _SPACE) | (first == _COMMA) | (first > _LAST_OF_ASCII)]
        if not len(rows):
            break
    return rows


class PlainCells(Sequence[str]):
    """The cells of one column, where each begins and how many bytes it has."""

    def __init__(
        self, padded: NDArray[np.uint8], starts: NDArray[np.intp], sizes: NDArray[np.intp]
    ) -> None:
        """Hold the text they stand in, with eight zeros behind it."""
        self._padded, self._starts, self._sizes = padded, starts, sizes

    def __len__(self) -> int:
        return len(self._starts)

    @overload
    def __getitem__(self, place: int) -> str: ...
    @overload
    def __getitem__(self, place: slice) -> "PlainCells": ...
    def __getitem__(self, place: int | slice) -> "str | PlainCells":
        start, size = self._starts[place], self._sizes[place]
        if isinstance(place, slice):
            return PlainCells(self._padded, start, size)
        return bytes(self._padded[start : start + size]).decode()

    def __iter__(self) -> Iterator[str]:
        text = self._padded.tobytes()
        for start, size in zip(self._starts.tolist(), self._sizes.tolist(), strict=True):
            yield text[start : start + size].decode()

    def lines(self) -> bytes:
        """The cells one below the other, in UTF-8."""
        # Each with the comma or line end behind it, which becomes a line end.
        sizes = self._sizes + 1
        ends = np.cumsum(sizes)
        within = np.arange(ends[-1]) - np.repeat(ends - sizes, sizes)
        found: NDArray[np.uint8] = self._padded[np.repeat(self._starts, sizes) + within]
        found[ends - 1] = _LINE_END
        return found.tobytes()

    def words(self) -> list[Words]:
        """The words of all cells, one array for each word of the longest; zeros fill them up."""
        count = -(-int(self._sizes.max(initial=1)) // _BYTES)
        # A word from every byte on, one within the other.
        shape = (len(self._padded) - _BYTES + 1,)
        every: Words = np.ndarray(shape, "<u8", self._padded.data, strides=(1,))
        found = []
        for number in range(count):
            left = self._sizes - number * _BYTES
            starts = self._starts + number * _BYTES
            if number:
                # A shorter cell may stand at the very end.
                left, starts = np.maximum(left, 0), np.minimum(starts, len(every) - 1)
            found.append(every[starts] & _FIRST_BYTES[np.minimum(left, _BYTES)])
        return found


class Distinct:
    """The distinct cells of a column in the order in which they are met."""

    def __init__(self) -> None:
        self._words: list[Words] = [np.zeros(0, "<u8")]
        # The keys in order, and which of the cells each is the key of.
        self._keys: Words = np.zeros(0, "<u8")
        self._places: NDArray[np.intp] = np.zeros(0, dtype=np.intp)

    def places(self, cells: PlainCells) -> tuple[NDArray[np.intp], list[str]] | None:
        """The place of each cell among the distinct ones, and those that are new.

        None where cells are too long, or cannot be told apart: then this is of no more use.
        """
        words = cells.words()
        if len(words) > len(_FACTORS):
            return None
        keys = words[0]
        for word, factor in zip(words[1:], _FACTORS[1:], strict=False):
            keys = keys + word * factor
        new: list[str] = []
        found, known = self._found(keys)
        if not known.all():
            firsts = _firsts(keys, ~known)
            new = [cells[place] for place in firsts]
            self._learn(keys[firsts], [word[firsts] for word in words])
            found, _ = self._found(keys)
        places = self._places[found]
        return (places, new) if self._are(places, words) else None

    def _found(self, keys: Words) -> tuple[NDArray[np.intp], NDArray[np.bool_]]:
        """Where each key stands among those known, and whether it does."""
        if not len(self._keys):
            return np.zeros(len(keys), dtype=np.intp), np.zeros(len(keys), dtype=bool)
        found = self._keys.searchsorted(keys)
        found[found == len(self._keys)] = 0
        return found, self._keys[found] == keys

    def _learn(self, keys: Words, words: Sequence[Words]) -> None:
        count = len(self._keys)
        while len(self._words) < len(words):
            self._words.append(np.zeros(count, "<u8"))
        for number, known in enumerate(self._words):
            more = words[number] if number < len(words) else np.zeros(len(keys), "<u8")
            self._words[number] = np.append(known, more)
        keys = np.append(self._keys, keys)
        places = np.append(self._places, np.arange(count, len(keys)))
        order = np.argsort(keys)
        self._keys, self._places = keys[order], places[order]

    def _are(self, places: NDArray[np.intp], words: Sequence[Words]) -> bool:
        """Whether the cells are what stands at their places, and not only of the same key."""
        if len(words) == len(self._words) == 1:
            return True
        nothing = np.zeros(1, "<u8")
        return all(
            (known[places] == (words[number] if number < len(words) else nothing)).all()
            for number, known in enumerate(self._words)
        )


def _firsts(keys: Words, among: NDArray[np.bool_]) -> NDArray[np.intp]:
    """Where each distinct key stands first, in the order of the cells."""
    rows = np.flatnonzero(among)
    _, firsts = np.unique(keys[rows], return_index=True)
    return rows[np.sort(firsts)]
