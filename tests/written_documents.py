"""The schemas of written documents as promises: what is written has no member they do not name."""

from functools import cache
from typing import Any

from checker.documents.schemas import schema_of_written


@cache
def closed_schema(kind: str) -> dict[str, Any]:
    """The schema of a kind of document that refuses members it does not describe.

    The published one lets readers ignore them, as a later version may add some.
    """
    closed: dict[str, Any] = _closed(schema_of_written(kind))
    return closed


def _closed(node: Any) -> Any:
    if isinstance(node, list):
        return [_closed(each) for each in node]
    if not isinstance(node, dict):
        return node
    made = {key: _closed(value) for key, value in node.items()}
    if isinstance(node.get("properties"), dict) and "type" in node:
        made.setdefault("additionalProperties", False)
    return made
