"""What the schema of profiles says of each field of a load, looked up once for all loads."""

from collections.abc import Mapping
from typing import Any

from msgspec import Struct

from checker.documents.schemas import resolved
from checker.load.model import RECORDS

_NOT_OF_THE_MODEL = ("kind", "note")


class FieldSchema(Struct, frozen=True):
    """What the schema says of one value; of a file name or a mapping, what it says of the latter.

    `fields` has the schema's own properties, with None for those that the model does not hold, and
    `others` is for all other keys, which may be `note`, and for the entries of a list.
    """

    node: Mapping[str, Any]
    record: type[Struct] | None
    fields: Mapping[str, "FieldSchema | None"]
    others: "FieldSchema | None"
    is_quantity: bool
    is_answer: bool


_known: dict[int, tuple[Mapping[str, Any], FieldSchema]] = {}
"""By the identity of a node, which is kept as well: no other node can have it."""


def field_schema(node: Mapping[str, Any]) -> FieldSchema:
    """The entry for a node of the schema of profiles."""
    if id(node) not in _known:
        _known[id(node)] = node, _looked_up(node)
    return _known[id(node)][1]


def _looked_up(node: Mapping[str, Any]) -> FieldSchema:
    node = resolved(node)
    node = resolved(node.get("else", node))
    others = node.get("items") or node.get("additionalProperties")
    return FieldSchema(
        node,
        RECORDS.get(node.get("record", "")),
        {
            key: field_schema(below) if _in_model(key, below) else None
            for key, below in node.get("properties", {}).items()
        },
        field_schema(others) if others else None,
        "quantity" in node,
        node.get("enum") == ["yes", "no"],
    )


def _in_model(key: str, node: Mapping[str, Any]) -> bool:
    return key not in _NOT_OF_THE_MODEL and not (key == "from" and "$ref" in node)
