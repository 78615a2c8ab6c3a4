"""Makes the JSON Schema of profiles from the records in `load/model/`.

After adding or changing a field, write the file again:

    python -m checker.load.profile_schema

A check reads the written file, so that it does not have to make the schema.
"""

import json
from pathlib import Path
from types import NoneType
from typing import Annotated, Any, Literal, TypeAlias, get_args, get_origin

import msgspec
from msgspec import Struct

from checker.documents import schemas
from checker.documents.docstrings import field_meanings, first_paragraph
from checker.load.model import KINDS, RECORDS, TAKEN_FROM
from checker.load.model.field_types import NOT_WRITTEN, Keywords, Text

Node: TypeAlias = dict[str, Any]

_REFERENCE = Keywords(
    type="string",
    pattern="^[A-Za-z0-9_][A-Za-z0-9_. -]*(/[A-Za-z0-9_][A-Za-z0-9_. -]*)*$",
    description="A file under the profile root, without .yaml.",
    examples=("trailers/flat-tandem-16",),
)
_KIND = Keywords(type="string", description="What this file describes.")
_NOTE = Annotated[Text, Keywords(description="Anything a reader should know; no rule reads it.")]
_NAMES = {record: name for name, record in RECORDS.items()}


def profile_schema() -> Node:
    """The JSON Schema of every kind of profile file, from the records.

    Raises TypeError for a field whose type or meaning is not declared.
    """
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": "urn:cinchbook:profile",
        "title": "Load profiles and what they refer to",
        "type": "object",
        "required": ["kind"],
        "properties": {"kind": {"enum": list(KINDS)}},
        "allOf": [
            {
                "if": {"required": ["kind"], "properties": {"kind": {"const": kind}}},
                "then": _reference(kind),
            }
            for kind in KINDS
        ],
        "$defs": {
            "reference": msgspec.to_builtins(_REFERENCE),
            **{name: _definition(name, record) for name, record in RECORDS.items()},
        },
    }


def _reference(name: str) -> Node:
    return {"$ref": f"#/$defs/{name}"}


def _definition(name: str, record: type[Struct]) -> Node:
    """The schema of a record, as a mapping."""
    properties: dict[str, Node] = {}
    if name in KINDS or name in TAKEN_FROM:
        properties |= {"kind": msgspec.to_builtins(_KIND), "title": {}, "note": _node(_NOTE)}
        properties |= {} if name == "load" else {"from": _reference("reference")}
    required = ["kind"] if name == "load" else []
    meanings = dict(field_meanings(record))
    for field in msgspec.structs.fields(record):
        if NOT_WRITTEN in get_args(field.type):
            continue
        node = _node(field.type)
        if ("$ref" in node or "description" in node) is (field.name in meanings):
            message = f"{name}.{field.name}: wanted one docstring, here or where its type is made"
            raise TypeError(message)
        if field.name in meanings:
            node = {"description": meanings[field.name], **node}
        if node.pop("required", False):
            required.append(field.encode_name)
        properties[field.encode_name] = node
    return {
        "type": "object",
        "record": name,
        "description": first_paragraph(record.__doc__ or ""),
        "properties": properties,
        "additionalProperties": False,
        **({"required": required} if required else {}),
    }


def _node(hint: Any) -> Node:
    """The schema of a field or of an entry, from its type and the keywords beside it."""
    bare, keywords = _bare(hint)
    if bare in _NAMES:
        return _of_record(_NAMES[bare], keywords)
    if get_origin(bare) is Literal:
        return {"enum": list(get_args(bare)), **keywords}
    if get_origin(bare) is tuple:
        entry = _node(get_args(bare)[0])
        if keywords.get("type") == "object":
            return {**keywords, "additionalProperties": entry}
        return {"type": "array", "items": entry, **keywords}
    if "type" in keywords or "enum" in keywords:
        return keywords
    message = f"{bare} is neither in field_types.py nor a record in RECORDS"
    raise TypeError(message)


def _bare(hint: Any) -> tuple[Any, Node]:
    """A type without `Annotated` and `| None`, and its keywords, the outermost last."""
    if get_origin(hint) is Annotated:
        inner, *marks = get_args(hint)
        bare, keywords = _bare(inner)
        for mark in marks:
            keywords |= msgspec.to_builtins(mark)
        return bare, keywords
    if NoneType in get_args(hint):
        (stated,) = (each for each in get_args(hint) if each is not NoneType)
        return _bare(stated)
    return hint, {}


def _of_record(name: str, keywords: Node) -> Node:
    """The schema of a nested record: a mapping, a name, or a file name or mapping."""
    match keywords.get("type"):
        case None:
            return _reference(name)
        case "string":
            return keywords
    return {
        **keywords,
        "if": {"type": "string"},
        "then": _reference("reference"),
        "else": _reference(name),
    }


def text_of_schema() -> str:
    """The schema as the text of its file."""
    return json.dumps(profile_schema(), indent=2) + "\n"


if __name__ == "__main__":
    Path(schemas.__file__).with_name("profile.json").write_text(text_of_schema(), "utf-8")
