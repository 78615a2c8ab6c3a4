"""JSON documents that commands write: one header for all of them."""

from collections.abc import Mapping
from typing import Any

from msgspec import Struct, to_builtins

from checker import __version__
from checker.documents.escaping import json_text
from checker.documents.schemas import schema_id


def json_document(kind: str, members: Mapping[str, Any], *, levels: int | None = None) -> str:
    """A document of a kind as text: its kind, the id of its schema, the version that wrote it.

    `levels` is how many levels of nesting have lines of their own. Default: all.
    """
    header = {"kind": kind, "schema": schema_id(kind), "cinchbook": __version__}
    return json_text({**header, **members}, levels=levels)


def record_document(kind: str, record: Struct) -> str:
    """A document as text whose members are those of a record."""
    return json_document(kind, to_builtins(record))
