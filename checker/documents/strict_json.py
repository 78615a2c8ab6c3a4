"""Strict JSON: finds duplicate keys and lone surrogates, which Python's parser accepts."""

import json
import re
from collections.abc import Sequence
from typing import Any, Final

_SURROGATE: Final = re.compile(r"\\[uU][dD][89a-fA-F]")


def duplicate_name(pairs: Sequence[tuple[str, Any]]) -> str | None:
    """A name that occurs twice in one object, where choosing one value would be a guess.

    `pairs` is what `json` passes to an `object_pairs_hook`.
    """
    seen: set[str] = set()
    for name, _ in pairs:
        if name in seen:
            return name
        seen.add(name)
    return None


def has_lone_surrogate(text: str, data: Any) -> bool:
    """True if an escape in the text stands for half a character, which cannot be written again."""
    if not _SURROGATE.search(text):
        return False
    try:
        json.dumps(data, ensure_ascii=False).encode()
    except UnicodeEncodeError:
        return True
    return False
