"""The fingerprint of each line of a file by which code scanning knows a result again.

It is `primaryLocationLineHash`, which the action that uploads SARIF files computes as well; it
warns where a file states another. The way to compute it is that of the action's source, from
memory: 100 characters from the line's first on, without blanks, as a polynomial of base 37 in 64
bits, and how many lines so far had the same.
"""

from collections import Counter
from itertools import accumulate
from struct import iter_unpack

from checker.documents.document import MOST_BYTES
from checker.documents.files import read_content
from checker.rulebooks.citations import Location

_CHARACTERS = 100
_BASE = 37
_BITS = 2**64 - 1
_FIRST = pow(_BASE, _CHARACTERS, 2**64)
_LINE_END, _FILE_END = 0x0A, 0xFFFF


class LineHashes:
    """The fingerprints of the lines of files, each of which is read once."""

    def __init__(self) -> None:
        self._known: dict[str, list[str]] = {}

    def at(self, place: Location) -> str | None:
        """The fingerprint of a line; None where the file cannot be read any more."""
        if place.file not in self._known:
            try:
                content = read_content(place.file, MOST_BYTES)
            except OSError:
                content = b""
            self._known[place.file] = line_hashes(content.decode(errors="replace"))
        hashes = self._known[place.file]
        return hashes[place.mark.line - 1] if place.mark.line <= len(hashes) else None


def line_hashes(text: str) -> list[str]:
    """The fingerprint of each line, also of the one after the last line end."""
    text = text.replace("\r\n", "\n").replace("\r", "\n").replace(" ", "").replace("\t", "")
    # The action counts characters as JavaScript does.
    encoded = text.encode("utf-16-le", "surrogatepass")
    units = [*(unit for (unit,) in iter_unpack("<H", encoded)), _FILE_END]
    starts = [0, *(index + 1 for index, unit in enumerate(units) if unit == _LINE_END)]
    units += [0] * _CHARACTERS
    totals = list(accumulate(units, lambda total, unit: (total * _BASE + unit) & _BITS, initial=0))
    seen: Counter[int] = Counter()
    hashes = []
    for start in starts:
        found = (totals[start + _CHARACTERS] - totals[start] * _FIRST) & _BITS
        seen[found] += 1
        hashes.append(f"{found:x}:{seen[found]}")
    return hashes
