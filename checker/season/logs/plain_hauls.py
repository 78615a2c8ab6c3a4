"""Haul files that nobody can read in two ways: one line for each key, and nothing else.

A season has thousands of them, and their lines repeat. What a line means is found out once, as if
it stood in a file of its own; a file is then its lines looked up, which takes a fifth of the time
of its parser events. Whatever is written otherwise, or is wrong, is for `haul_file.py`, which
knows where it stands. Tests hold the two ways against each other.
"""

import re
from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Any, Final

from checker.documents.document import Data, Document
from checker.documents.files import content
from checker.documents.reader import plain_value
from checker.documents.validate import validate
from checker.season.logs.collecting import Row
from checker.season.logs.haul_file import CREW, DATE, LOAD, haul_row
from checker.season.logs.model import Cell, Column

_MOST_BYTES: Final = 1 << 16
_MOST_FIELDS: Final = 200
"""A longer file may be one that is refused for its length."""

# After a word and `: ` a text without colons, hash signs and what has a meaning at its beginning;
# or one in quotes without quotes and escapes; or words in brackets. Then maybe a remark.
_LINE: Final = re.compile(
    r"""(?P<key>[A-Za-z][\w.-]*):[ ]+(?:
    (?P<plain>(?:[\w/.+]|-[\w.])(?:[\w /.,;+()%°±'"=-]*[\w/.,;+()%°±'"=-])?)
    |"(?P<double>[^"\\]*)"
    |'(?P<single>[^'\\]*)'
    |\[(?P<words>[A-Za-z][\w-]*(?:,[ ]*[A-Za-z][\w-]*)*)\]
    )(?:[ ]+\#.*)?[ ]*""",
    re.VERBOSE,
)
_REMARKS: Final = re.compile(r"^ *(?:#.*)?\n", re.MULTILINE)
_BELOW: Final = "\ndiffers:\n"
_NEXT_ABOVE: Final = re.compile(r"\n(?! )")
_LEAST: Final[Mapping[str, Data]] = {"kind": "haul", "load": "x", "date": "2026-05-14"}


class _NotPlainError(Exception):
    """A line that is not beyond doubt, or that is wrong."""


def plain_row(file: str) -> Row | None:
    """The row of a haul file; None for one that is not plain and sound, and for other kinds."""
    try:
        above, below = _lines(content(file, _MOST_BYTES))
        top = dict(map(_above, above))
        fields = dict(map(_below, below))
    except (OSError, UnicodeDecodeError, _NotPlainError):
        return None
    twice = len(top) < len(above) or len(fields) < len(below)
    if twice or len(fields) > _MOST_FIELDS or not _LEAST.keys() <= top.keys():
        return None
    return {LOAD: top["load"], DATE: top["date"], CREW: top.get("crew"), **fields}


def _lines(raw: bytes) -> tuple[Sequence[str], Sequence[str]]:
    """The lines of the haul's own keys, and those below `differs:` without their indent."""
    if len(raw) > _MOST_BYTES:
        raise _NotPlainError
    text = raw.decode()
    if "#" in text or "\n\n" in text:
        text = _without_remarks(text)
    above, has_below, below = text.removesuffix("\n").partition(_BELOW)
    if not has_below:
        return above.split("\n"), ()
    if not below.startswith(" ", below.rfind("\n") + 1):
        below, *rest = _NEXT_ABOVE.split(below, maxsplit=1)
        above = "\n".join((above, *rest))
    indent = " " * (len(below) - len(below.lstrip(" ")))
    if not indent:
        raise _NotPlainError
    # A line that is less far in than the first stays with the one before it, and neither is plain.
    return above.split("\n"), below.removeprefix(indent).split(f"\n{indent}")


def _without_remarks(text: str) -> str:
    """A text without lines that say nothing: where all others are plain, these are remarks."""
    if not text.replace("\n", "").isprintable():
        raise _NotPlainError
    return _REMARKS.sub("", text)


@lru_cache(maxsize=16_384)
def _above(line: str) -> tuple[str, Cell]:
    """The key and the cell of a line of a haul's own; raises _NotPlainError."""
    key, value = _understood(line)
    row = _row_of({**_LEAST, key: value})
    return key, {"load": row[LOAD], "date": row[DATE], "crew": row[CREW]}.get(key)


@lru_cache(maxsize=16_384)
def _below(line: str) -> tuple[Column, Cell]:
    """The column and the cell of a line below `differs:`; raises _NotPlainError."""
    key, value = _understood(line)
    *_, field = _row_of({**_LEAST, "differs": {key: value}}).items()
    return field


def _understood(line: str) -> tuple[str, Any]:
    found = _LINE.fullmatch(line)
    if found is None or not line.isprintable():
        raise _NotPlainError
    key, plain, double, single, words = found.groups()
    if plain is not None:
        return key, plain_value(plain)
    if words is not None:
        return key, [plain_value(word.strip(" ")) for word in words.split(",")]
    return key, double if double is not None else single


def _row_of(data: dict[str, Data]) -> Row:
    """The row of the shortest haul that says this, since no key of a haul bears on another."""
    document = Document("", data, {}, {})
    if validate(document, wanted_kind="haul"):
        raise _NotPlainError
    row, problems = haul_row(document)
    if problems:
        raise _NotPlainError
    return row
