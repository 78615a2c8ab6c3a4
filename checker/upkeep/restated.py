"""The text of a load file with other values in some fields, every other byte as it was."""

import io
from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Any, NamedTuple, TypeAlias

from ruamel.yaml import YAML
from ruamel.yaml.nodes import MappingNode, Node, ScalarNode, SequenceNode

from checker.documents.document import Data
from checker.documents.problems import ProblemsFoundError
from checker.documents.reader import read_bytes
from checker.upkeep.yaml_positions import CannotInsertError, composed, end_of, line_after

if TYPE_CHECKING:
    from datetime import date

_WIDEST = 1 << 20

Values: TypeAlias = "str | int | float | date | list[Any] | Mapping[Any, Values]"
"""A new value, or by key or list index those inside a mapping or list."""


class Edit(NamedTuple):
    """A part of the text and what replaces it."""

    start: int
    end: int
    text: str


def restated(text: str, file: str, values: Mapping[str, Values]) -> str:
    """The text with new values; a name of a file that gets values beside it becomes `from`.

    The text is read back and compared. Raises CannotInsertError where the form of the file has no
    position for a change, and ProblemsFoundError where it cannot be read.
    """
    before = data_of(text, file)
    edits = edits_inside(text, composed(text), values)
    return edited(text, file, list(edits), with_values(before, values))


def edited(text: str, file: str, edits: list[Edit], wanted: Data) -> str:
    """The text with the edits made; raises CannotInsertError if its data are not those wanted."""
    after, newline = text, "\r\n" if "\r\n" in text else "\n"
    for each in sorted(edits, reverse=True):
        new = each.text.replace("\r\n", "\n").replace("\n", newline)
        after = f"{after[: each.start]}{new}{after[each.end :]}"
    document = read_bytes(after.encode(), file)
    if document.problems or _plain(document.data) != _plain(wanted):
        message = (
            "found a load that shares text between its parts (`&name`, `*name`) or has a form "
            "of its own; wanted its fields written out, each in its own lines"
        )
        raise CannotInsertError(message)
    return after


def data_of(text: str, file: str) -> Data:
    """The data of a text; raises ProblemsFoundError where it cannot be read."""
    document = read_bytes(text.encode(), file)
    if document.problems:
        raise ProblemsFoundError(document.problems)
    return document.data


def with_values(data: Any, values: Values) -> Any:
    """The data with new values; raises CannotInsertError where it has no list for some of them."""
    if not isinstance(values, Mapping):
        return values
    if isinstance(data, list):
        return [
            with_values(each, values[index]) if index in values else each
            for index, each in enumerate(data)
        ]
    if any(isinstance(key, int) for key in values):
        message = "found no list for new values; wanted an entry for each, as `- ...` below its key"
        raise CannotInsertError(message)
    own = data if isinstance(data, dict) else {} if data is None else {"from": data}
    return {**own, **{key: with_values(own.get(key), value) for key, value in values.items()}}


def _plain(data: Any) -> Any:
    """The data with every number as a text, for comparison."""
    if isinstance(data, Mapping):
        return {key: _plain(value) for key, value in data.items()}
    return [_plain(each) for each in data] if isinstance(data, list | tuple) else str(data)


def flow(value: Any) -> str:
    """A value on one line, with ruamel's own quoting."""
    yaml = YAML()
    yaml.default_flow_style = True
    yaml.width = _WIDEST
    stream = io.StringIO()
    yaml.dump(value if isinstance(value, Mapping) else [value], stream)
    written = stream.getvalue().rstrip("\n")
    return written if isinstance(value, Mapping) else written[1:-1]


def edits_inside(text: str, node: Node, values: Values) -> Iterator[Edit]:
    """What puts new values into a part of the text."""
    if not isinstance(values, Mapping):
        yield Edit(node.start_mark.index, end_of(node), flow(values))
    elif isinstance(node, MappingNode):
        missing = dict(values)
        for name, inside in node.value:
            if name.value in missing:
                yield from edits_inside(text, inside, missing.pop(name.value))
        if missing:
            yield _added(text, node, missing)
    elif isinstance(node, SequenceNode):
        for index, inside in enumerate(node.value):
            if index in values:
                yield from edits_inside(text, inside, values[index])
    elif isinstance(node, ScalarNode):
        start, end = node.start_mark.index, end_of(node)
        words = ", ".join(_words(values))
        yield Edit(start, end, f"{{from: {text[start:end]}, {words}}}")


def _words(values: Mapping[str, Values]) -> list[str]:
    return [f"{key}: {flow(value)}" for key, value in values.items()]


def _added(text: str, mapping: MappingNode, values: Mapping[str, Values]) -> Edit:
    """More keys at the end of a mapping."""
    words = _words(values)
    if mapping.flow_style:
        at = end_of(mapping.value[-1][1]) if mapping.value else mapping.start_mark.index + 1
        return Edit(at, at, f"{', ' if mapping.value else ''}{', '.join(words)}")
    indent = " " * mapping.value[0][0].start_mark.column
    at = line_after(text, end_of(mapping))
    head = "" if at and text[at - 1] == "\n" else "\n"
    return Edit(at, at, head + "".join(f"{indent}{each}\n" for each in words))
