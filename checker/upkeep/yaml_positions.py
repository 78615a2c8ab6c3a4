"""Where the parts of a YAML text are, for changes that leave every other byte alone."""

import io

from ruamel.yaml import YAML
from ruamel.yaml.nodes import MappingNode, Node, SequenceNode


class CannotInsertError(Exception):
    """A file whose form has no position for a change; the message says what would be accepted."""


def composed(text: str) -> MappingNode:
    """The parts of a file of lines `key: value`; raises CannotInsertError for another form."""
    # Offsets are counted in the text as it is, so a byte order mark counts too.
    node = YAML().compose(io.StringIO(text, newline=""))
    if not isinstance(node, MappingNode) or node.flow_style:
        message = "found a file that is not lines of `key: value`; wanted `kind: ...` first"
        raise CannotInsertError(message)
    return node


def value_of(mapping: MappingNode, key: str) -> Node | None:
    """The value of a key; None where there is none."""
    found: Node | None = next((value for name, value in mapping.value if name.value == key), None)
    return found


def end_of(node: Node) -> int:
    """The offset of the last character of a node's content, without comments after it."""
    if isinstance(node, MappingNode) and not node.flow_style and node.value:
        return max(end_of(value) for pair in node.value for value in pair)
    if isinstance(node, SequenceNode) and not node.flow_style and node.value:
        return end_of(node.value[-1])
    end: int = node.end_mark.index
    return end


def line_after(text: str, at: int) -> int:
    """The start of the line after an offset; a folded text already ends there."""
    if at and text[at - 1] == "\n":
        return at
    end = text.find("\n", at)
    return len(text) if end < 0 else end + 1


def with_lines(text: str, at: int, lines: str) -> str:
    """The text with lines inserted at the start of a line, in its own line ends."""
    newline = "\r\n" if "\r\n" in text else "\n"
    before = text[:at] if not at or text[at - 1] == "\n" else f"{text[:at]}{newline}"
    return f"{before}{lines.replace(chr(10), newline)}{text[at:]}"
