"""A load file with its articles placed and tied down otherwise, every other byte as it was.

Tiedowns that stay keep their entries, with the comments in them, beside them and above them; those
that go take theirs with them. What stands above the first one stays above the list.
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from ruamel.yaml.nodes import MappingNode, SequenceNode

from checker.documents.document import Data
from checker.upkeep.restated import (
    Edit,
    Values,
    data_of,
    edited,
    edits_inside,
    flow,
    with_values,
)
from checker.upkeep.yaml_positions import (
    CannotInsertError,
    composed,
    end_of,
    line_after,
    value_of,
)


def rearranged(
    text: str,
    file: str,
    articles: Mapping[int, Values],
    tiedowns: Sequence[int | Mapping[str, Data]] | None,
) -> str:
    """The text of a load with new values inside its articles, by their index.

    `tiedowns` are the indices of those that stay and the data of new ones, None to leave all as
    they are. The text is read back and compared. Raises CannotInsertError where the form of the
    file has no position for the change, and ProblemsFoundError where it cannot be read.
    """
    values: Values = {"articles": articles} if articles else {}
    wanted: Any = with_values(data_of(text, file), values)
    top = composed(text)
    edits = list(edits_inside(text, top, values))
    if tiedowns is not None:
        old = wanted.get("tiedowns", [])
        wanted["tiedowns"] = [old[each] if isinstance(each, int) else each for each in tiedowns]
        edits += _tying(text, top, tiedowns)
    return edited(text, file, edits, wanted)


def _tying(
    text: str, top: MappingNode, tiedowns: Sequence[int | Mapping[str, Data]]
) -> Iterator[Edit]:
    known = value_of(top, "tiedowns")
    if isinstance(known, SequenceNode) and known.value and not known.flow_style:
        yield _in_lines(text, known, tiedowns)
    elif isinstance(known, SequenceNode):
        yield _in_brackets(text, known, tiedowns)
    elif known is None:
        at = line_after(text, end_of(top))
        head = "" if at and text[at - 1] == "\n" else "\n"
        lines = [f"  - {flow(each)}\n" for each in tiedowns if not isinstance(each, int)]
        yield Edit(at, at, f"{head}tiedowns:\n{''.join(lines)}")


def _in_lines(text: str, known: SequenceNode, tiedowns: Sequence[int | Mapping[str, Data]]) -> Edit:
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
    return Edit(starts[0], ends[-1], "".join(lines))


def _dash_line(text: str, at: int, indent: str) -> int:
    """The start of the line with the dash of an entry whose content starts at an offset."""
    start = text.rfind("\n", 0, at) + 1
    while start and not text.startswith(f"{indent}-", start):
        start = text.rfind("\n", 0, start - 1) + 1
    return start


def _in_brackets(
    text: str, known: SequenceNode, tiedowns: Sequence[int | Mapping[str, Data]]
) -> Edit:
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
    return Edit(start, end, "".join(f"\n  - {each}" for each in lines))
