"""The JSON Schemas (2020-12) of files that people write, and of documents that commands write."""

from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

import msgspec

PROFILE = "profile"
RULES = "rules"
SETTINGS = "settings"
HAUL = "haul"
FORMAT = 1
"""Grows when a member of a written document goes or changes its meaning, not when one is added."""

FAMILIES = (PROFILE, RULES, SETTINGS, HAUL)
"""The schemas of files that people write."""


WRITTEN = Path(__file__).with_name("written")
"""The folder of the schemas of documents that commands write with `--as json`."""


@cache
def written_kinds() -> tuple[str, ...]:
    """The kinds of documents that commands write, in order."""
    return tuple(sorted(file.stem for file in WRITTEN.glob("*.json")))


@cache
def schema(name: str) -> Mapping[str, Any]:
    """The schema of files of that family, parsed."""
    return _parsed(Path(__file__).with_name(f"{name}.json"))


@cache
def schema_of_written(kind: str) -> Mapping[str, Any]:
    """The schema of the documents of that kind, parsed."""
    return _parsed(WRITTEN / f"{kind}.json")


def _parsed(file: Path) -> Mapping[str, Any]:
    parsed: Mapping[str, Any] = msgspec.json.decode(file.read_bytes())
    return parsed


def schema_id(kind: str) -> str:
    """The id of the schema of a document that commands write, with the number of its format."""
    return f"urn:cinchbook:{kind}:{FORMAT}"


@cache
def families() -> Mapping[str, str]:
    """Every `kind` of file, and the name of its schema."""
    return {kind: name for name in FAMILIES for kind in schema(name)["properties"]["kind"]["enum"]}


def schema_of_kind(kind: str) -> dict[str, Any]:
    """One self-contained schema for files of that kind, for editors."""
    family = schema(families()[kind])
    bundled = {name: dict(definition) for name, definition in family["$defs"].items()}
    if family is not schema(PROFILE):
        bundled["profile"] = dict(schema(PROFILE))
    return {
        "$schema": family["$schema"],
        "$id": f"{family['$id']}:{kind}",
        "title": f"A file of kind '{kind}'",
        "$ref": f"#/$defs/{kind}",
        "properties": {"kind": {"const": kind}},
        "required": ["kind"],
        "$defs": bundled,
    }


def definition(name: str) -> Mapping[str, Any]:
    """One definition of the schema of profiles, such as `trailer`."""
    found: Mapping[str, Any] = schema(PROFILE)["$defs"][name]
    return found


def resolved(node: Mapping[str, Any]) -> Mapping[str, Any]:
    """A schema node; if it is a reference into the profile definitions, its target."""
    while "$ref" in node:
        node = definition(node["$ref"].rsplit("/", 1)[-1])
    return node


def field_description(path: str) -> str:
    """The meaning of a load profile field, for a path such as `articles.1.placed.x`."""
    return str(field_node(path).get("description", ""))


def field_kind(path: str) -> str | None:
    """The kind of quantity of a field of a load profile; None for answers, words and lists."""
    return field_node(path).get("quantity")


def word_for_none(path: str) -> str | None:
    """The word that a load profile field accepts instead of a quantity, if it has one."""
    return field_node(path).get("word_for_none")


def field_node(path: str) -> Mapping[str, Any]:
    """The schema of a field of a load profile."""
    node = definition("load")
    for part in path.split("."):
        node = resolved(node)
        node = resolved(node["else"]) if "else" in node else node
        inside = node.get("properties", {})
        if part in inside:
            node = inside[part]
        elif "items" in node:
            node = node["items"]
        else:
            node = node.get("additionalProperties", node)
    return resolved(node)
