"""Inserts one change into the text of an amendment file and leaves every other byte alone.

The text is not written again: ruamel's round-trip reader gives the positions of its parts, and
lines are inserted between them. So comments, order, quotes, anchors and line ends stay.
"""

import io
from collections.abc import Mapping
from datetime import date
from typing import Any

from ruamel.yaml import YAML
from ruamel.yaml.comments import CommentedMap
from ruamel.yaml.nodes import MappingNode, Node, ScalarNode, SequenceNode

from checker.documents.document import Data


class CannotInsertError(Exception):
    """A file whose form has no position for a change; the message says what would be accepted."""


def insert_change(text: str, change: Mapping[str, Data | date]) -> str:
    """The text with one more entry at the end of its `changes`.

    An earlier change of the same threshold without an end then ends on the first day of the new
    one. Raises CannotInsertError where the file is not written as lines of `key: value`.
    """
    top = _composed(text)
    closed = _closing(text, top, change)
    changes = _value(top, "changes")
    newline = "\r\n" if "\r\n" in text else "\n"
    if isinstance(changes, SequenceNode) and changes.value and not changes.flow_style:
        indent = " " * changes.start_mark.column
        at = _line_after(text, _end(changes.value[-1]))
        entry = _entry(change, indent)
    elif changes is None:
        at = _line_after(text, _end(top))
        entry = f"changes:\n{_entry(change, '  ')}"
    else:
        message = "found `changes` that are not lines below it; wanted lines `- rule: ...`"
        raise CannotInsertError(message)
    before = text[:at] if not at or text[at - 1] == "\n" else f"{text[:at]}{newline}"
    inserted = f"{before}{entry.replace(chr(10), newline)}{text[at:]}"
    for offset, piece in closed:
        inserted = f"{inserted[:offset]}{piece.replace(chr(10), newline)}{inserted[offset:]}"
    return inserted


def _composed(text: str) -> MappingNode:
    # Offsets are counted in the text as it is, so a byte order mark counts too.
    node = YAML().compose(io.StringIO(text, newline=""))
    if not isinstance(node, MappingNode) or node.flow_style:
        message = "found a file that is not lines of `key: value`; wanted `kind: amendment` first"
        raise CannotInsertError(message)
    return node


def _value(mapping: MappingNode, key: str) -> Node | None:
    found: Node | None = next((value for name, value in mapping.value if name.value == key), None)
    return found


def _closing(
    text: str, top: MappingNode, change: Mapping[str, Data | date]
) -> list[tuple[int, str]]:
    """The end date to insert into an earlier change still in force: an offset and a text."""
    changes = _value(top, "changes")
    entries = changes.value if isinstance(changes, SequenceNode) else []
    for entry in entries:
        stated = {name.value: value for name, value in entry.value}
        same = all(
            isinstance(stated.get(key), ScalarNode) and stated[key].value == change[key]
            for key in ("rule", "threshold")
        )
        begins = stated.get("from")
        new = str(change["from"])
        if not same or begins is None or "until" in stated or str(begins.value) >= new:
            continue
        if entry.flow_style:
            return [(begins.end_mark.index, f", until: {new}")]
        key = next(name for name, value in entry.value if value is begins)
        indent = " " * key.start_mark.column
        line = text[begins.end_mark.index :].partition("\n")[0].rstrip("\r")
        return [(begins.end_mark.index + len(line), f"\n{indent}until: {new}")]
    return []


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
    """One entry of a list as lines, with ruamel's own quoting."""
    yaml = YAML()
    yaml.width = 4096
    stream = io.StringIO()
    data: Any = CommentedMap(change)
    yaml.dump(data, stream)
    first, *rest = stream.getvalue().rstrip("\n").split("\n")
    lines = [f"{indent}- {first}", *(f"{indent}  {line}" for line in rest)]
    return "\n".join(lines) + "\n"
