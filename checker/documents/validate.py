"""Hold one document against the schema of its kind; every fault becomes a located problem."""

import json
import re
from collections.abc import Callable, Iterator, Mapping
from datetime import date
from functools import cache
from typing import Any

from jsonschema import Draft202012Validator, FormatChecker
from jsonschema.exceptions import ValidationError
from jsonschema.validators import extend
from referencing import Registry, Resource

from checker.documents.problems import DataPath, Problem, listed, nearest, quoted
from checker.documents.reader import Document
from checker.documents.schemas import HAUL, PROFILE, RULES, SETTINGS, families, schema
from checker.units import UnitError, parse

_SIGNS: Mapping[str, tuple[Callable[[float], bool], str]] = {
    "positive": (lambda value: value > 0, "more than zero"),
    "not negative": (lambda value: value >= 0, "zero or more"),
}


_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_SOURCE_OR_PRACTICE = "either `source:` and `at:`, or `common_practice: yes`, not both"


class _QuantityError(ValidationError):
    """A quantity that cannot be read, with the words the units module found for it."""

    def __init__(self, found: str, wanted: str, suggestion: str | None = None) -> None:
        super().__init__(found)
        self.found, self.wanted, self.suggestion = found, wanted, suggestion


def _check_quantity(
    _validator: object, kind: str, value: object, node: Mapping[str, Any]
) -> Iterator[ValidationError]:
    """The project's own keyword `quantity`: text with a unit of that kind, of the right sign."""
    if not isinstance(value, str) or node["type"] != "string":
        return
    try:
        quantity = parse(value, kind)
    except UnitError as error:
        guess = error.suggestion and quoted(error.suggestion)
        yield _QuantityError(f"'{error.found}'", error.wanted, guess)
        return
    holds, words = _SIGNS.get(node.get("sign", ""), (lambda _value: True, ""))
    if not holds(quantity.value - quantity.half_width):
        yield _QuantityError(quoted(value), words)


def _check_pattern(
    _validator: object, pattern: str, value: object, _node: object
) -> Iterator[ValidationError]:
    """JSON Schema's `pattern`, whose `$` is the end, not before a last line break as Python's."""
    if isinstance(value, str) and not re.search(pattern.replace("$", r"\Z"), value):
        yield ValidationError(f"{value!r} does not match {pattern}")


def _check_unique(
    _validator: object, _wanted: object, value: object, _node: object
) -> Iterator[ValidationError]:
    """JSON Schema's `uniqueItems` for lists of words, the only ones our schemas ask it of.

    jsonschema compares every pair of a list that cannot be sorted, which a hostile file makes long.
    """
    words = [item for item in value if isinstance(item, str)] if isinstance(value, list) else []
    if len(set(words)) < len(words):
        yield ValidationError("a word twice")


def _is_day(value: object) -> bool:
    if not isinstance(value, str):
        return True
    try:
        date.fromisoformat(value)
    except ValueError:
        return False
    return _DAY.fullmatch(value) is not None


@cache
def _validator(family: str) -> Any:
    registry: Registry[Any] = Registry().with_resources(
        (name_schema["$id"], Resource.from_contents(name_schema))
        for name_schema in (schema(PROFILE), schema(RULES), schema(SETTINGS), schema(HAUL))
    )
    formats = FormatChecker(formats=())
    formats.checks("date")(_is_day)
    # jsonschema does not say what `extend` takes and gives.
    kind = extend(  # type: ignore[no-untyped-call]
        Draft202012Validator,
        {
            "quantity": _check_quantity,
            "pattern": _check_pattern,
            "uniqueItems": _check_unique,
        },
    )
    return kind(schema(family), registry=registry, format_checker=formats)


def validate(document: Document, *, wanted_kind: str | None = None) -> list[Problem]:
    """All the ways a document departs from the schema of its kind, ordered by place.

    `wanted_kind` is the kind the place that refers to this file needs.
    """
    data = document.data
    if not isinstance(data, dict):
        if document.problems:
            return []
        return [document.problem((), _shown(data), "a document that starts with `kind: ...`")]
    kind = data.get("kind")
    known = [wanted_kind] if wanted_kind else list(families())
    if not isinstance(kind, str) or kind not in known:
        found = "no 'kind'" if kind is None else f"{_shown(kind)} as the kind"
        guess = nearest(kind, known) if isinstance(kind, str) else None
        wanted = f"`kind: ...`, {_one_of(known)}"
        path: DataPath = ("kind",) if "kind" in data else ()
        return [document.problem(path, found, wanted, guess and quoted(guess))]
    errors = _validator(families()[kind]).iter_errors(data)
    problems = [problem for error in errors for problem in _problems(document, error)]
    return sorted(set(problems), key=lambda p: (p.mark, p.found))


def value_problems(value: str | float, node: Mapping[str, Any]) -> list[Problem]:
    """How a value departs from the schema node of one field of a profile; it stands in no file."""
    document = Document("", {"value": value}, {}, {})
    alone = _validator(PROFILE).evolve(schema={"properties": {"value": node}})
    errors = alone.iter_errors(document.data)
    return [problem for error in errors for problem in _problems(document, error)]


def _shown(value: object) -> str:
    """A value as a message names it."""
    match value:
        case None:
            return "nothing"
        case bool():
            return "true" if value else "false"
        case dict():
            return "a mapping"
        case list():
            return "a list"
        case int() | float():
            return f"the bare number {value}"
        case _:
            return quoted(str(value))


_TYPE_WORDS = {
    "object": "a mapping of `key: value` lines",
    "array": "a list of `- ...` lines",
    "string": "text",
    "number": "a plain number",
    "integer": "a whole number",
}


def _wanted_type(node: Mapping[str, Any]) -> str:
    wanted = node["type"]
    names: list[str] = wanted if isinstance(wanted, list) else [wanted]
    return " or ".join(_TYPE_WORDS.get(name, name) for name in names)


def _problems(document: Document, error: ValidationError) -> Iterator[Problem]:
    """The problems one schema error stands for, in a crew member's words."""
    path: DataPath = tuple(error.absolute_path)
    node: Any = error.schema
    value: Any = error.instance
    keyword = str(error.validator)
    if isinstance(error, _QuantityError):
        yield document.problem(path, error.found, error.wanted, error.suggestion)
        return
    match keyword:
        case "additionalProperties":
            yield from _unknown_keys(document, path, value, node)
        case "required" if error.absolute_schema_path[-2] == "else":
            absent = " and ".join(f"no '{key}'" for key in node["required"] if key not in value)
            yield document.problem(path, f"{absent} here", _SOURCE_OR_PRACTICE)
        case "required":
            yield from _missing_keys(document, path, value, node)
        case "not":
            mark = document.key_mark((*path, "common_practice"))
            found = "`common_practice: yes` beside a source"
            yield Problem(document.file, mark, found, _SOURCE_OR_PRACTICE)
        case _ if "propertyNames" in error.absolute_schema_path:
            mark = document.key_mark((*path, value))
            wanted = _wanted_form(node, keyword)
            yield Problem(document.file, mark, f"the name {_shown(value)}", wanted)
        case "type":
            # Where a reference or a mapping may stand, the node around it tells of both.
            if error.absolute_schema_path[-2] != "else":
                yield _wrong_type(document, path, value, node)
        case "enum":
            guess = _answer(value) if node["enum"] == ["yes", "no"] else None
            guess = guess or _word_meant(value, node["enum"])
            wanted = _one_of(node["enum"])
            found = "nothing after the colon" if value is None else _shown(value)
            yield document.problem(path, found, wanted, guess and quoted(guess))
        case "const":
            yield document.problem(path, _shown(value), f"'{node['const']}'")
        case "format":
            yield document.problem(path, _shown(value), "a day such as 2026-05-14")
        case "minItems" | "maxItems":
            found = f"a list of {len(value)}" if value else "an empty list"
            yield document.problem(path, found, _wanted_form(node, keyword))
        case _:
            wanted = _wanted_form(node, keyword)
            yield document.problem(path, _shown(value), wanted)


def _one_of(words: list[str]) -> str:
    return words[0] if len(words) == 1 else f"one of: {listed(words, most=20)}"


def _word_meant(value: object, words: list[str]) -> str | None:
    """The accepted word nearest to a text; for a bare number, the same digits in quotes."""
    if isinstance(value, str):
        return nearest(value, words)
    return str(value) if str(value) in words else None


def _answer(value: object) -> str | None:
    """The yes or no a person meant by true, on, 1, Y and the like."""
    folded = str(value).casefold()
    if folded in {"true", "on", "1", "y", "yes"}:
        return "yes"
    return "no" if folded in {"false", "off", "0", "n", "no"} else None


def _wrong_type(
    document: Document, path: DataPath, value: object, node: Mapping[str, Any]
) -> Problem:
    kind = node.get("quantity")
    if value is None:
        found = "nothing after the colon" if isinstance(path[-1], str) else "an empty entry"
        return document.problem(path, found, "a value, or leave the line out")
    if kind and isinstance(value, int | float) and not isinstance(value, bool):
        try:
            parse(str(value), kind)
        except UnitError as error:
            guess = error.suggestion and quoted(error.suggestion)
            return document.problem(path, _shown(value), error.wanted, guess)
    return document.problem(path, _shown(value), _wanted_type(node))


def _unknown_keys(
    document: Document, path: DataPath, value: Mapping[str, Any], node: Mapping[str, Any]
) -> Iterator[Problem]:
    known = node["properties"]
    for key in value:
        if key not in known:
            guess = nearest(key, known)
            mark = document.key_mark((*path, key))
            wanted = f"one of: {listed(known)}"
            found = f"the key {quoted(key)}"
            yield Problem(document.file, mark, found, wanted, guess and quoted(guess))


def _missing_keys(
    document: Document, path: DataPath, value: Mapping[str, Any], node: Mapping[str, Any]
) -> Iterator[Problem]:
    for key in node["required"]:
        if key not in value:
            mark = document.value_mark(path)
            where = f"in {quoted(path[-1])}" if path and isinstance(path[-1], str) else "here"
            yield Problem(document.file, mark, f"no '{key}' {where}", f"a line `{key}: ...`")


_BOUNDS = {
    "minItems": "at least {} entry",
    "maxItems": "at most {} entries",
    "minimum": "at least {}",
    "maximum": "at most {}",
    "minLength": "some text",
    "maxLength": "at most {} characters",
    "maxProperties": "at most {} entries",
    "uniqueItems": "each entry once",
}


def _wanted_form(node: Mapping[str, Any], keyword: str) -> str:
    """What a value should look like: its description, the bound it broke, an example."""
    parts = []
    if "description" in node:
        words = str(node["description"]).rstrip(".")
        parts.append(words[0].lower() + words[1:])
    if keyword in _BOUNDS:
        parts.append(_BOUNDS[keyword].format(node[keyword]))
    if "examples" in node:
        example = node["examples"][0]
        parts.append(f"such as {example if isinstance(example, str) else json.dumps(example)}")
    return ", ".join(parts)
