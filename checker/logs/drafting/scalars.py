"""Words of a log as YAML, each on one line."""

import re
from collections.abc import Iterable
from typing import Final

LONGEST: Final = 300
"""Letters of a header or word in a mapping file, by its schema."""

_PLAIN: Final = re.compile(r"[A-Za-z](?:[A-Za-z0-9_./?()%+\[\],-]|[ ](?=[A-Za-z0-9_(\[]))*")
_PARTS_LIST: Final = re.compile(r"[\[\],]")
_OTHER_KINDS: Final = frozenset(("true", "false", "null", "nan", "inf"))


def can_be_written(text: str) -> bool:
    """True if a mapping file may hold a text as a key or value, on one line."""
    return 0 < len(text) <= LONGEST and text.isprintable()


def scalar(text: str) -> str:
    """A text that can be written, as a key or value: in quotes unless it is plain words."""
    if _PLAIN.fullmatch(text) and text.casefold() not in _OTHER_KINDS:
        return text
    return _in_quotes(text)


def flow_list(texts: Iterable[str]) -> str:
    """Texts that can be written, as a list on one line."""
    written = (_in_quotes(each) if _PARTS_LIST.search(each) else scalar(each) for each in texts)
    return f"[{', '.join(written)}]"


def _in_quotes(text: str) -> str:
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{escaped}"'
