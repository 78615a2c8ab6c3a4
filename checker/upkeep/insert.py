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
from ruamel.yaml.nodes import MappingNode, Node, SequenceNode

from checker.documents.document import Data


class CannotInsertError(Exception):
    """A file whose form has no position for a change; the message says what would be accepted."""


def insert_note(text: str, index: int, key: str, note: Mapping[str, Data | date]) -> str:
    """The text with a mapping added to the entry of its `changes` with that index.

    Raises CannotInsertError as `append_entry` does.
    """
    changes = _value(_composed(text), "changes")
    assert isinstance(changes, SequenceNode), "the entry was found in it"
    entry = changes.value[index]
    assert isinstance(entry, MappingNode), "the entry was found valid"
    if entry.flow_style:
        at = _end(entry.value[-1][1])
        stated = ", ".join(f"{name}: {_quoted(value)}" for name, value in note.items())
        return f"{text[:at]}, {key}: {{{stated}}}{text[at:]}"
    indent = " " * entry.value[0][0].start_mark.column
    lines = "".join(f"{indent}{line}\n" for line in _lines({key: dict(note)}))
    return _with_lines(text, _line_after(text, _end(entry)), lines)


def _with_lines(text: str, at: int, lines: str) -> str:
    """The text with lines inserted at the start of a line, in its own line ends."""
    newline = "\r\n" if "\r\n" in text else "\n"
    before = text[:at] if not at or text[at - 1] == "\n" else f"{text[:at]}{newline}"
    return f"{before}{lines.replace(chr(10), newline)}{text[at:]}"


def _quoted(value: Data | date) -> str:
    """A value on one line: every JSON text is a YAML text, and a day needs no quotes."""
    return str(value) if isinstance(value, date) else json.dumps(value, ensure_ascii=False)


def append_entry(text: str, key: str, entry: Mapping[str, Data | date]) -> str:
    """The text with one more entry at the end of the list of that key at its top.

    Raises CannotInsertError where the file is not written as lines of `key: value`.
    """
    top = _composed(text)
    entries = _value(top, key)
    if isinstance(entries, SequenceNode) and entries.value and not entries.flow_style:
        indent = " " * entries.start_mark.column
        at = _line_after(text, _end(entries.value[-1]))
        lines = _entry(entry, indent)
    elif entries is None:
        at = _line_after(text, _end(top))
        lines = f"{key}:\n{_entry(entry, '  ')}"
    else:
        first = next(iter(entry))
        message = f"found `{key}` that are not lines below it; wanted lines `- {first}: ...`"
        raise CannotInsertError(message)
    return _with_lines(text, at, lines)


def _composed(text: str) -> MappingNode:
    # Offsets are counted in the text as it is, so a byte order mark counts too.
    node = YAML().compose(io.StringIO(text, newline=""))
    if not isinstance(node, MappingNode) or node.flow_style:
        message = "found a file that is not lines of `key: value`; wanted `kind: ...` first"
        raise CannotInsertError(message)
    return node


def _value(mapping: MappingNode, key: str) -> Node | None:
    found: Node | None = next((value for name, value in mapping.value if name.value == key), None)
    return found


def _end(node: Node) -> int:
    """The offset of the last character of a node's content, without comments after it."""
    if isinstance(node, MappingNode) and not node.flow_style and node.value:
        return max(_end(value) for pair in node.value for value in pair)
    if isinstance(node, SequenceNode) and not node.flow_style and node.value:
        return _end(node.value[-1])
    end: int = node.end_mark.index
    return end


def _line_after(text: str, at: int) -> int:
    """The start of the line after an offset; a folded text already ends there."""
    if at and text[at - 1] == "\n":
        return at
    end = text.find("\n", at)
    return len(text) if end < 0 else end + 1


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
