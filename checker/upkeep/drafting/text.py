"""The text of a new file: stated fields as YAML, every other field as a comment with an example.

The YAML library writes the whole file, examples included. The text is then read back to find the
line of each field, and the lines of fields not stated become comments.
"""

import io
import re
from datetime import date
from typing import Any

from ruamel.yaml import YAML
from ruamel.yaml.comments import CommentedSeq

from checker.documents.document import Data
from checker.documents.problems import DataPath, Problem, ProblemsFoundError
from checker.documents.reader import read_bytes
from checker.documents.validate import validate
from checker.upkeep.drafting.draft import Draft
from checker.upkeep.drafting.fields import SOME_NAME, Field, field_of

_REMARKS_FROM = 44
"""Column in which the remarks beside the fields begin, where the line is not longer."""

_HEADING = "## Further fields"
_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")


def to_yaml(data: Data) -> str:
    """Plain data as YAML text, each value on one line."""
    yaml = YAML()
    # No line is ever folded: fields are found by their lines.
    yaml.width = 1 << 20
    yaml.indent(mapping=2, sequence=4, offset=2)
    stream = io.StringIO()
    yaml.dump(_for_yaml(data), stream)
    return stream.getvalue()


def _for_yaml(value: Data) -> Any:
    """The value as the YAML library wants it: days without quotes, lists of words on one line."""
    match value:
        case dict():
            return {key: _for_yaml(inner) for key, inner in value.items()}
        case list() if not any(isinstance(inner, dict | list) for inner in value):
            words = CommentedSeq([_for_yaml(inner) for inner in value])
            words.fa.set_flow_style()
            return words
        case list():
            return [_for_yaml(inner) for inner in value]
        case str() if _DAY.fullmatch(value):
            try:
                return date.fromisoformat(value)
            except ValueError:
                return value
    return value


def faults(text: str, kind: str) -> list[Problem]:
    """The problems that the reader and the schema of its kind find in a text."""
    document = read_bytes(text.encode(), "")
    return document.problems + validate(document, wanted_kind=kind)


def draft_text(draft: Draft, stated: dict[str, Data]) -> str:
    """The text of a new file with these fields stated; the other fields are comments.

    Raises ProblemsFoundError where the text, read back, is not a valid file of its kind.
    """
    top = field_of(draft.kind)
    outline: dict[str, Data] = {"kind": None, **draft.outline}
    whole = _mapping(top, outline, stated, every_field=draft.every_field)
    document = read_bytes(to_yaml(whole).encode(), "")
    if document.problems:
        raise ProblemsFoundError(document.problems)
    lines = document.text.split("\n")
    text = [f"# {line}" for line in draft.opening]
    remarked: set[tuple[str, ...]] = {("kind",)}
    for path, mark in sorted(document.keys.items(), key=lambda each: each[1]):
        line = lines[mark.line - 1]
        left_out = _left_out(stated, path)
        if left_out:
            column = document.keys[left_out].column - 1
            line = f"{line[:column]}# {line[column:]}"
        schema_path, field = _place(top, path)
        if schema_path not in remarked and field.remark:
            remarked.add(schema_path)
            line = f"{line.ljust(_REMARKS_FROM)}  # {field.remark}"
        if path[0] not in outline and _HEADING not in text:
            text.append(_HEADING)
        text.append(line)
    whole_text = "\n".join([*text, ""])
    if problems := faults(whole_text, draft.kind):
        raise ProblemsFoundError(problems)
    return whole_text


def _filled(field: Field, outline: Data, stated: Data, *, every_field: bool) -> Data:
    """The stated fields and an example of each other field, in the order of the outline."""
    if field.is_entries:
        return _entries(field, outline, stated)
    if field.by_name:
        return _by_name(field, outline, stated, every_field=every_field)
    if field.refers_to and isinstance(stated, dict) and "from" in stated:
        # The fields that it does not replace are in the file it names.
        return stated
    if isinstance(outline, dict) or isinstance(stated, dict) or (field.is_mapping and every_field):
        return _mapping(field, outline, stated, every_field=every_field)
    if stated is not None:
        return stated
    return field.example if outline is None else outline


def _mapping(field: Field, outline: Data, stated: Data, *, every_field: bool) -> dict[str, Data]:
    first = outline if isinstance(outline, dict) else {}
    own = stated if isinstance(stated, dict) else {}
    names = [*first, *own, *(field.names if every_field else ())]
    return {
        name: _filled(field.below(name), first.get(name), own.get(name), every_field=every_field)
        for name in dict.fromkeys(names)
    }


def _by_name(field: Field, outline: Data, stated: Data, *, every_field: bool) -> Data:
    examples = outline if isinstance(outline, dict) else {}
    entries = stated if isinstance(stated, dict) else dict.fromkeys(examples)
    if not entries and every_field:
        entries = {SOME_NAME: None}
    example = next(iter(examples.values()), None)
    return {
        name: _filled(field.below(name), example, entry, every_field=every_field)
        for name, entry in entries.items()
    } or None


def _entries(field: Field, outline: Data, stated: Data) -> Data:
    """A list of mappings, each with the fields of the outline's one entry and no others."""
    examples = outline if isinstance(outline, list) else []
    entries = stated if isinstance(stated, list) else [None for _ in examples]
    example = examples[0] if examples else None
    filled: list[Data] = []
    for entry in entries:
        whole = _mapping(field.below(0).fields(), example, entry, every_field=False)
        # An entry's first line has its hyphen, so that line must not become a comment.
        first = [name for name in whole if isinstance(entry, dict) and name in entry][:1]
        filled.append({name: whole[name] for name in (*first, *whole)})
    return filled if filled or stated is not None else None


def _left_out(stated: Data, path: DataPath) -> DataPath | None:
    """The shortest start of the path at which nothing is stated."""
    inside: Any = stated
    for depth, part in enumerate(path, start=1):
        if isinstance(inside, dict) and part not in inside:
            return path[:depth]
        if inside is None:
            return path[:depth]
        inside = inside[part]
    return None


def _place(top: Field, path: DataPath) -> tuple[tuple[str, ...], Field]:
    """The schema path of a data path: the same for all entries of a list and all names."""
    field = top
    schema_path: tuple[str, ...] = ()
    for part in path:
        chosen = isinstance(part, int) or field.fields().by_name
        schema_path = (*schema_path, "*" if chosen else str(part))
        field = field.below(part)
    return schema_path, field
