"""A load file with its articles placed and tied down otherwise, every other byte as it was.

Tiedowns that stay keep their entries, with the comments in them, beside them and above them; those
that go take theirs with them. What stands above the first one stays above the list.
"""

import io
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, NamedTuple, TypeAlias

from ruamel.yaml import YAML
from ruamel.yaml.nodes import MappingNode, ScalarNode, SequenceNode

from checker.documents.document import Data
from checker.documents.problems import ProblemsFoundError
from checker.documents.reader import read_bytes
from checker.upkeep.yaml_positions import (
    CannotInsertError,
    composed,
    end_of,
    line_after,
    value_of,
)

_WIDEST = 1 << 20


Values: TypeAlias = str | Mapping[str, str]
"""The text of a field, or those of the fields inside it."""


class _Edit(NamedTuple):
    """A part of the text and what replaces it."""

    start: int
    end: int
    text: str


def rearranged(
    text: str,
    file: str,
    articles: Mapping[int, Mapping[str, Values]],
    tiedowns: Sequence[int | Mapping[str, Data]] | None,
) -> str:
    """The text of a load with new values of its articles, by their index: a text, or those inside.

    `tiedowns` are the indices of those that stay and the data of new ones, None to leave all as
    they are. The text is read back and compared. Raises CannotInsertError where the form of the
    file has no position for the change, and ProblemsFoundError where it cannot be read.
    """
    before: Any = _data(text, file)
    edits = [
        *_of_articles(text, articles),
        *(_tying(text, tiedowns) if tiedowns is not None else ()),
    ]
    after, newline = text, "\r\n" if "\r\n" in text else "\n"
    for each in sorted(edits, reverse=True):
        new = each.text.replace("\r\n", "\n").replace("\n", newline)
        after = f"{after[: each.start]}{new}{after[each.end :]}"
    document = read_bytes(after.encode(), file)
    if document.problems or _plain(document.data) != _plain(_wanted(before, articles, tiedowns)):
        message = (
            "found a load that shares text between its parts (`&name`, `*name`) or has a form "
            "of its own; wanted places and tiedowns written out, each in its own lines"
        )
        raise CannotInsertError(message)
    return after


def _data(text: str, file: str) -> Data:
    document = read_bytes(text.encode(), file)
    if document.problems:
        raise ProblemsFoundError(document.problems)
    return document.data


def _wanted(
    before: Mapping[str, Any],
    changed: Mapping[int, Mapping[str, Values]],
    tiedowns: Sequence[int | Mapping[str, Data]] | None,
) -> Mapping[str, Any]:
    """The data that the text must have after the change."""
    articles = list(before["articles"])
    for index, values in changed.items():
        own = articles[index] if isinstance(articles[index], dict) else {"from": articles[index]}
        inside = {
            key: value if isinstance(value, str) else {**own.get(key, {}), **value}
            for key, value in values.items()
        }
        articles[index] = {**own, **inside}
    wanted = {**before, "articles": articles}
    if tiedowns is not None:
        old = before.get("tiedowns", [])
        wanted["tiedowns"] = [old[each] if isinstance(each, int) else each for each in tiedowns]
    return wanted


def _plain(data: Any) -> Any:
    """The data with every number as a text, for comparison."""
    if isinstance(data, Mapping):
        return {key: _plain(value) for key, value in data.items()}
    return [_plain(each) for each in data] if isinstance(data, list | tuple) else str(data)


def flow(data: Mapping[str, Any]) -> str:
    """A mapping on one line, with ruamel's own quoting."""
    yaml = YAML()
    yaml.default_flow_style = True
    yaml.width = _WIDEST
    stream = io.StringIO()
    yaml.dump(dict(data), stream)
    return stream.getvalue().rstrip("\n")


def _of_articles(text: str, changed: Mapping[int, Mapping[str, Values]]) -> Iterator[_Edit]:
    articles = value_of(composed(text), "articles")
    for index, values in changed.items():
        if not isinstance(articles, SequenceNode) or index >= len(articles.value):
            message = "found no list of articles; wanted `articles:` with an entry for each"
            raise CannotInsertError(message)
        article = articles.value[index]
        if isinstance(article, ScalarNode):
            start, end = article.start_mark.index, end_of(article)
            words = ", ".join(_words(values))
            yield _Edit(start, end, f"{{from: {text[start:end]}, {words}}}")
        else:
            assert isinstance(article, MappingNode), "the load was found valid"
            yield from _inside(text, article, values)


def _inside(text: str, mapping: MappingNode, values: Mapping[str, Values]) -> Iterator[_Edit]:
    """New values of a mapping, those of mappings inside it key by key."""
    missing = dict(values)
    for name, node in mapping.value:
        value = missing.get(name.value)
        if value is None:
            continue
        if isinstance(value, str):
            yield _Edit(node.start_mark.index, end_of(node), value)
        elif isinstance(node, MappingNode):
            yield from _inside(text, node, value)
        else:
            continue
        del missing[name.value]
    if missing:
        yield _added(text, mapping, missing)


def _words(values: Mapping[str, Any]) -> list[str]:
    return [
        f"{key}: {flow(value) if isinstance(value, Mapping) else value}"
        for key, value in values.items()
    ]


def _added(text: str, mapping: MappingNode, values: Mapping[str, Any]) -> _Edit:
    """More keys at the end of a mapping."""
    words = _words(values)
    if mapping.flow_style:
        at = end_of(mapping.value[-1][1]) if mapping.value else mapping.start_mark.index + 1
        return _Edit(at, at, f"{', ' if mapping.value else ''}{', '.join(words)}")
    indent = " " * mapping.value[0][0].start_mark.column
    at = line_after(text, end_of(mapping))
    head = "" if at and text[at - 1] == "\n" else "\n"
    return _Edit(at, at, head + "".join(f"{indent}{each}\n" for each in words))


def _tying(text: str, tiedowns: Sequence[int | Mapping[str, Data]]) -> Iterator[_Edit]:
    top = composed(text)
    known = value_of(top, "tiedowns")
    if isinstance(known, SequenceNode) and known.value and not known.flow_style:
        yield _in_lines(text, known, tiedowns)
    elif isinstance(known, SequenceNode):
        yield _in_brackets(text, known, tiedowns)
    elif known is None:
        at = line_after(text, end_of(top))
        head = "" if at and text[at - 1] == "\n" else "\n"
        lines = [f"  - {flow(each)}\n" for each in tiedowns if not isinstance(each, int)]
        yield _Edit(at, at, f"{head}tiedowns:\n{''.join(lines)}")


def _in_lines(
    text: str, known: SequenceNode, tiedowns: Sequence[int | Mapping[str, Data]]
) -> _Edit:
    """The list with each entry on lines of its own."""
    indent = " " * known.start_mark.column
    starts = [_dash_line(text, each.start_mark.index, indent) for each in known.value]
    ends = [line_after(text, end_of(each)) for each in known.value]
    lines = []
    for each in tiedowns:
        if not isinstance(each, int):
            lines.append(f"{indent}- {flow(each)}\n")
            continue
        above = text[ends[each - 1] : starts[each]] if each else ""
        own = text[starts[each] : ends[each]]
        lines.append(above + own + ("" if own.endswith("\n") else "\n"))
    return _Edit(starts[0], ends[-1], "".join(lines))


def _dash_line(text: str, at: int, indent: str) -> int:
    """The start of the line with the dash of an entry whose content starts at an offset."""
    start = text.rfind("\n", 0, at) + 1
    while start and not text.startswith(f"{indent}-", start):
        start = text.rfind("\n", 0, start - 1) + 1
    return start


def _in_brackets(
    text: str, known: SequenceNode, tiedowns: Sequence[int | Mapping[str, Data]]
) -> _Edit:
    """A list in brackets, put on lines."""
    start, end = known.start_mark.index, known.end_mark.index
    if "#" in text[start:end]:
        message = "found `tiedowns: [...]` with comments in it; wanted lines `- ...` below the key"
        raise CannotInsertError(message)
    lines = []
    for each in tiedowns:
        if isinstance(each, int):
            node = known.value[each]
            lines.append(text[node.start_mark.index : node.end_mark.index])
        else:
            lines.append(flow(each))
    while text[start - 1] == " ":
        start -= 1
    return _Edit(start, end, "".join(f"\n  - {each}" for each in lines))
