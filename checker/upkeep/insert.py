"""Inserts an entry, or a note on one, into a rule file and leaves every other byte alone.

The text is not written again: ruamel's round-trip reader gives the positions of its parts, and
lines are inserted between them. So comments, order, quotes, anchors and line ends stay.
"""

import io
import json
from collections.abc import Mapping
from datetime import date
from typing import Any

from ruamel.yaml import YAML
from ruamel.yaml.comments import CommentedMap
from ruamel.yaml.nodes import MappingNode, SequenceNode

from checker.documents.document import Data
from checker.upkeep.yaml_positions import (
    CannotInsertError,
    composed,
    end_of,
    line_after,
    value_of,
    with_lines,
)


def insert_note(text: str, index: int, key: str, note: Mapping[str, Data | date]) -> str:
    """The text with a mapping added to the entry of its `changes` with that index.

    Raises CannotInsertError as `append_entry` does.
    """
    changes = value_of(composed(text), "changes")
    assert isinstance(changes, SequenceNode), "the entry was found in it"
    entry = changes.value[index]
    assert isinstance(entry, MappingNode), "the entry was found valid"
    if entry.flow_style:
        at = end_of(entry.value[-1][1])
        stated = ", ".join(f"{name}: {_quoted(value)}" for name, value in note.items())
        return f"{text[:at]}, {key}: {{{stated}}}{text[at:]}"
    indent = " " * entry.value[0][0].start_mark.column
    lines = "".join(f"{indent}{line}\n" for line in _lines({key: dict(note)}))
    return with_lines(text, line_after(text, end_of(entry)), lines)


def _quoted(value: Data | date) -> str:
    """A value on one line: every JSON text is a YAML text, and a day needs no quotes."""
    return str(value) if isinstance(value, date) else json.dumps(value, ensure_ascii=False)


def append_entry(text: str, key: str, entry: Mapping[str, Data | date]) -> str:
    """The text with one more entry at the end of the list of that key at its top.

    Raises CannotInsertError where the file is not written as lines of `key: value`.
    """
    top = composed(text)
    entries = value_of(top, key)
    if isinstance(entries, SequenceNode) and entries.value and not entries.flow_style:
        indent = " " * entries.start_mark.column
        at = line_after(text, end_of(entries.value[-1]))
        lines = _entry(entry, indent)
    elif entries is None:
        at = line_after(text, end_of(top))
        lines = f"{key}:\n{_entry(entry, '  ')}"
    else:
        first = next(iter(entry))
        message = f"found `{key}` that are not lines below it; wanted lines `- {first}: ...`"
        raise CannotInsertError(message)
    return with_lines(text, at, lines)


def _entry(change: Mapping[str, Data | date], indent: str) -> str:
    """One entry of a list as lines."""
    first, *rest = _lines(change)
    lines = [f"{indent}- {first}", *(f"{indent}  {line}" for line in rest)]
    return "\n".join(lines) + "\n"


def _lines(data: Mapping[str, Any]) -> list[str]:
    """A mapping as lines, with ruamel's own quoting."""
    yaml = YAML()
    yaml.width = 4096
    stream = io.StringIO()
    yaml.dump(CommentedMap(data), stream)
    return stream.getvalue().rstrip("\n").split("\n")
