"""A value of another form than its field has: a list for a word, a number for text.

The problem says what was typed, not only what the schema misses.
"""

import re
from collections.abc import Mapping
from typing import Any

from checker.documents.document import Document
from checker.documents.problems import DataPath, Problem, describe, listed, one_of, quoted, shorten
from checker.documents.yaml_mistakes import no_space
from checker.units.parsing import UnitError, parse

_FORMS = {
    "object": "a mapping of `key: value` lines",
    "number": "a plain number",
    "integer": "a whole number",
}
_GLUED = re.compile(r"-?\s*([\w-]+):(\S.*)")
_GROUPED = re.compile(r"[0-9]{1,3}(,[0-9]{3})+(\.[0-9]+)?")
_DECIMAL = re.compile(r"[0-9]+([.,][0-9]+)?")


def wrong_form(
    document: Document, path: DataPath, value: object, node: Mapping[str, Any]
) -> Problem:
    """The problem of a value that has not the form of its field or is none of its words."""
    if value is None:
        return _nothing(document, path, node)
    stated: str | list[str] = node.get("type", "string")
    types = [stated] if isinstance(stated, str) else stated
    if "quantity" in node and _is_number(value) and (fault := _fault_of_number(value, node)):
        return document.problem(path, describe(value), *fault)
    suggestion = None
    found = _list_found(value) if isinstance(value, list) else describe(value)
    match types[0]:
        case "array":
            wanted, suggestion = _list_wanted(value, node)
            if found_instead := _no_space_after_hyphen(value):
                found = found_instead
        case "object":
            wanted = _FORMS["object"]
            if "properties" not in node and isinstance(value, list):
                wanted = "a name for each, `name:`, with its fields below, and no `- `"
            if isinstance(value, str) and (glued := missing_space(value)):
                found, suggestion = glued
        case "number" | "integer":
            wanted = _FORMS[types[0]]
            if isinstance(value, str) and (number := _plain_number(value)):
                wanted += " without quotes and commas"
                suggestion = f"`{number}`"
        case _ if "enum" in node:
            wanted = _word_wanted(value, node["enum"])
        case _:
            wanted, suggestion = _text_wanted(value, node)
            for other in types[1:]:
                wanted += f"{',' * (',' in wanted)} or {_FORMS.get(other, 'a list')}"
    return document.problem(path, found, wanted, suggestion)


def _plain_number(text: str) -> str | None:
    """A number in quotes, with commas between thousands or as the decimal sign, as YAML has it."""
    if _GROUPED.fullmatch(text):
        return text.replace(",", "")
    return text.replace(",", ".") if _DECIMAL.fullmatch(text) else None


def missing_space(text: str) -> tuple[str, str] | None:
    """What was found and what is meant where a text is `key:value`; None for any other text."""
    glued = _GLUED.fullmatch(text)
    if glued is None:
        return None
    found, _, meant = no_space(*glued.groups())
    return found, meant


def _nothing(document: Document, path: DataPath, node: Mapping[str, Any]) -> Problem:
    lines = document.text.split("\n")
    mark = document.value_mark(path)
    line = lines[mark.line - 1] if mark.line <= len(lines) else ""
    wanted = one_of(node["enum"]) if "enum" in node else "a value, or leave the line out"
    if isinstance(path[-1], str) and re.search(r":\s+#\S", line[mark.column - 1 :]):
        found = "nothing before `#`, which begins a comment"
        return document.problem(path, found, f"{wanted}; quotes around a value with `#`")
    found = "nothing after the colon" if isinstance(path[-1], str) else "an empty entry"
    return document.problem(path, found, wanted)


def _list_found(value: list[Any]) -> str:
    if not value:
        return "an empty list"
    return f"a list with {describe(value[0])}" if len(value) == 1 else f"a list of {len(value)}"


def _list_wanted(value: object, node: Mapping[str, Any]) -> tuple[str, str | None]:
    """The form of a list, and a single value as a list."""
    if isinstance(value, dict):
        wanted = "a list: `- ` before the first field of each entry, the others indented below it"
        return wanted, None
    if isinstance(value, str) and "$ref" not in node["items"]:
        if re.match(r"-\w", value):
            return "a list of `- ...` lines", f"`- {shorten(value[1:])}`"
        parts = [part.strip() for part in value.split(",")]
        return "a list in brackets or of `- ...` lines", f"`[{shorten(', '.join(parts))}]`"
    return "a list of `- ...` lines", None


def _no_space_after_hyphen(value: object) -> str | None:
    if isinstance(value, str):
        return f"no space after the `-` of {quoted(value)}" if re.match(r"-\w", value) else None
    if isinstance(value, dict) and (key := next(iter(value), "")).startswith("-"):
        return f"no space after the `-` of {quoted(key)}"
    return None


def _word_wanted(value: object, words: list[str]) -> str:
    if isinstance(value, list | dict):
        return f"one word without brackets and `- `: {listed(words, most=20)}"
    in_quotes = ", with quotes around a number" if _is_number(value) and str(value) in words else ""
    return one_of(words) + in_quotes


def _text_wanted(value: object, node: Mapping[str, Any]) -> tuple[str, str | None]:
    """The form of a text or a quantity, and what is meant by a value of another form."""
    if isinstance(value, list):
        only = value[0] if len(value) == 1 and isinstance(value[0], str) else None
        return "one value without brackets and `- `", only and quoted(only)
    if node.get("format") == "date":
        return "a day such as 2026-05-14", None
    if isinstance(value, bool | int | float) and "quantity" not in node:
        word = str(value).lower() if isinstance(value, bool) else str(value)
        return "text, with quotes around a number, true or false", quoted(word)
    return "text", None


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _fault_of_number(value: object, node: Mapping[str, Any]) -> tuple[str, str | None] | None:
    """What a quantity wants where a bare number stands, and the number with a unit."""
    try:
        parse(str(value), node["quantity"])
    except UnitError as error:
        return error.wanted, error.suggestion and quoted(error.suggestion)
    return None
