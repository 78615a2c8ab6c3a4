"""Makes the schemas of documents from the records in `reports/data/`.

After adding or changing a record, write the files again:

    python -m checker.reports.shared.written_schemas
"""

import json
from collections.abc import Iterator
from importlib import import_module
from pkgutil import iter_modules
from types import ModuleType
from typing import Any

import msgspec

from checker.documents.docstrings import field_meanings, first_paragraph
from checker.documents.schemas import WRITTEN, schema_id

_PACKAGE = "checker.reports.data"
_HEADER = {
    "kind": "What this document is.",
    "schema": "Id of the schema; its last number grows when a member goes or changes its meaning.",
    "cinchbook": "Version that wrote it.",
}


def document_modules() -> Iterator[ModuleType]:
    """Every module that makes a document: its `KIND`, the record `Document`, its meaning."""
    package = import_module(_PACKAGE)
    for each in iter_modules(package.__path__):
        yield import_module(f"{_PACKAGE}.{each.name}")


def schema_of_records(module: ModuleType) -> dict[str, Any]:
    """The JSON Schema of the documents of a module.

    Raises TypeError for a field without a docstring.
    """
    kind = module.KIND
    _, components = msgspec.json.schema_components([module.Document], ref_template="#/$defs/{name}")
    records = {each.__name__: each for each in _records(module.Document)}
    definitions = components | {
        name: _described(components[name], record) for name, record in records.items()
    }
    top = definitions["Document"]
    header = {name: {"type": "string", "description": meaning} for name, meaning in _HEADER.items()}
    header["kind"]["const"], header["schema"]["const"] = kind, schema_id(kind)
    top["properties"] = {**header, **top["properties"]}
    top["required"] = [*header, *top["required"]]
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": schema_id(kind),
        "title": first_paragraph(module.Document.__doc__),
        "description": "Numbers are in SI units; null where not stated.",
        "$ref": "#/$defs/Document",
        "$defs": definitions,
    }


def _records(record: type[msgspec.Struct]) -> Iterator[type[msgspec.Struct]]:
    """A record and every record inside it, each once."""
    found: dict[type[msgspec.Struct], None] = {}
    waiting: list[Any] = [record]
    while waiting:
        hint = waiting.pop(0)
        if isinstance(hint, type) and issubclass(hint, msgspec.Struct):
            if hint not in found:
                found[hint] = None
                waiting += [field.type for field in msgspec.structs.fields(hint)]
        else:
            waiting += getattr(hint, "__args__", ())
    return iter(found)


def _described(node: dict[str, Any], record: type[msgspec.Struct]) -> dict[str, Any]:
    """The schema of a record with the docstrings of its fields."""
    meanings = dict(field_meanings(record))
    properties = dict(node["properties"])
    for field in msgspec.structs.fields(record):
        if field.name not in meanings:
            message = f"{record.__name__}.{field.name}: wanted a docstring"
            raise TypeError(message)
        inside = properties[field.encode_name]
        properties[field.encode_name] = {"description": meanings[field.name], **inside}
    return {
        "type": "object",
        "description": first_paragraph(record.__doc__ or ""),
        "properties": properties,
        "required": node["required"],
    }


def text_of_schema(module: ModuleType) -> str:
    """The schema as the text of its file."""
    return json.dumps(schema_of_records(module), indent=2) + "\n"


if __name__ == "__main__":
    for each in document_modules():
        (WRITTEN / f"{each.KIND}.json").write_text(text_of_schema(each), "utf-8")
