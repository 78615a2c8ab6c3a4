"""Strict JSON: finds duplicate names, NaN and lone surrogates, which Python's parser accepts."""

import json
import re
from functools import cache
from typing import Any, Final, NoReturn

_SURROGATE: Final = re.compile(r"\\[uU][dD][89a-fA-F]")


class DuplicateNameError(ValueError):
    """A name occurs twice in one object, where choosing one value would be a guess."""


class NotANumberError(ValueError):
    """`NaN`, `Infinity` or `-Infinity` stands for a value."""


def strict_json(text: str) -> Any:
    """The data of a JSON text.

    Raises DuplicateNameError and NotANumberError with the name or word as their text, and what
    `json.loads` raises.
    """
    if text.startswith("\ufeff"):
        message = "Unexpected UTF-8 BOM (decode using utf-8-sig)"
        raise json.JSONDecodeError(message, text, 0)
    return _decoder().decode(text)


@cache
def _decoder() -> json.JSONDecoder:
    """The decoder of every text; `json.loads` makes one for each."""
    return json.JSONDecoder(object_pairs_hook=_object, parse_constant=_refuse)


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    members = dict(pairs)
    if len(members) < len(pairs):
        seen: set[str] = set()
        for name, _ in pairs:
            if name in seen:
                raise DuplicateNameError(name)
            seen.add(name)
    return members


def _refuse(word: str) -> NoReturn:
    raise NotANumberError(word)


def has_lone_surrogate(text: str, data: Any) -> bool:
    """True if an escape in the text stands for half a character, which cannot be written again."""
    if not _SURROGATE.search(text):
        return False
    try:
        json.dumps(data, ensure_ascii=False).encode()
    except UnicodeEncodeError:
        return True
    return False
