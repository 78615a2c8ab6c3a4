"""One file as plain data with the position of every key and value; made by `reader.py`."""

import re
from bisect import bisect_right
from collections.abc import Mapping
from functools import lru_cache
from itertools import islice
from pathlib import Path
from typing import Any, TypeAlias

from msgspec import Struct, field

from checker.documents.files import read_content
from checker.documents.problems import DataPath, Mark, Problem

Data: TypeAlias = dict[str, "Data"] | list["Data"] | str | int | float | bool | None

MOST_BYTES = 2_000_000
MOST_DEPTH = 40
MOST_NODES = 200_000

# What may precede the characters of a text value, and one such character, by quote style.
_LEAD = re.compile(r"(?:&\S+\s+)?(?:[|>][^\n]*\n|['\"])?")
_CHARACTER = {"'": re.compile(r"''|\S"), '"': re.compile(r"\\.|\S"), "": re.compile(r"\S")}


class Document(Struct, frozen=True):
    """The plain data of one file, the position of each key and value, and the problems so far."""

    file: str
    data: Data
    values: Mapping[DataPath, Mark]
    keys: Mapping[DataPath, Mark]
    problems: list[Problem] = field(default_factory=list)
    text: str = ""
    whole: bool = True
    """True if all of the file was read, and not only the part before a given key."""
    sound: bool = False
    """True if it is already known to fit the schema of its kind."""

    @property
    def kind(self) -> str | None:
        """The `kind` that the file states; None where it states none, or something not a word."""
        kind = self.data.get("kind") if isinstance(self.data, dict) else None
        return kind if isinstance(kind, str) else None

    def value_mark(self, path: DataPath) -> Mark:
        """The position of the value at path, or of the nearest enclosing value that has one."""
        while (mark := self.values.get(path)) is None and path:
            path = path[:-1]
        return mark or Mark(1, 1)

    def key_mark(self, path: DataPath) -> Mark:
        """The position of the key at path; a list entry has only the position of its value."""
        return self.keys.get(path) or self.value_mark(path)

    def mark_inside(self, path: DataPath, offset: int) -> Mark:
        """The position of a character inside a text value, folded over several lines or not.

        Folding changes only white space, so the other characters are counted.
        """
        value: Any = self.data
        for part in path:
            value = value[part]
        start = self.value_mark(path)
        first = _line_starts(self.text)[start.line - 1] + start.column - 1
        if self.text.startswith("*", first):
            return start
        lead = _LEAD.match(self.text, first)
        assert lead is not None  # each of its parts may be missing
        style = lead[0][-1:] if lead[0][-1:] in _CHARACTER else ""
        before = len("".join(value[:offset].split()))
        seen = [lead, *islice(_CHARACTER[style].finditer(self.text, lead.end()), before + 1)]
        on_a_letter = value[offset : offset + 1].strip()
        end = seen[-1].start() if on_a_letter else seen[before].end()
        line = bisect_right(_line_starts(self.text), end)
        return Mark(line, end - _line_starts(self.text)[line - 1] + 1)

    def problem(
        self, path: DataPath, found: str, wanted: str, suggestion: str | None = None
    ) -> Problem:
        """A problem at the value of path."""
        return Problem(*self.located(path), found, wanted, suggestion)

    def located(self, path: DataPath) -> tuple[str, Mark]:
        """The file and the position of the value at path."""
        return self.file, self.value_mark(path)

    def located_inside(self, path: DataPath, offset: int) -> tuple[str, Mark]:
        """The file and the position of a character inside a text value."""
        return self.file, self.mark_inside(path, offset)


def value_at(data: Any, path: DataPath) -> Any:
    """The value at a path of plain data; None where there is none."""
    for part in path:
        if isinstance(data, dict):
            data = data.get(part)
        elif isinstance(data, list) and isinstance(part, int):
            data = data[part] if part < len(data) else None
        else:
            return None
    return data


@lru_cache(maxsize=1)
def _line_starts(text: str) -> list[int]:
    """The offset at which each line starts; cached, because many problems ask for it."""
    return [0, *(found.end() for found in re.finditer("\n", text))]


def read_bounded(path: Path) -> bytes:
    """The bytes of a file, cut a little above the size limit of a document; raises OSError."""
    return read_content(path, MOST_BYTES)


def decode_text(raw: bytes) -> str:
    """The text of a document with one form of line end; raises UnicodeDecodeError."""
    return unify_line_ends(raw.decode("utf-8-sig"))


def unify_line_ends(text: str) -> str:
    """A text with one form of line end (LF)."""
    # Most texts have it already, and the test takes a sixtieth of the time of the replacement.
    return text.replace("\r\n", "\n").replace("\r", "\n") if "\r" in text else text


def mark_of_end(text: str) -> Mark:
    """The position after the last character of a text."""
    lines = text.split("\n")
    return Mark(len(lines), len(lines[-1]) + 1)
