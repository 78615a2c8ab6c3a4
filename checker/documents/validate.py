"""Hold one document against the schema of its kind; every fault becomes a located problem."""

from collections.abc import Callable, Iterator, Mapping
from datetime import date
from functools import cache
from typing import Any

from jsonschema import Draft202012Validator, FormatChecker
from jsonschema.exceptions import ValidationError
from jsonschema.validators import extend
from referencing import Registry, Resource

from checker.documents.problems import DataPath, Problem, listed, nearest
from checker.documents.reader import Document
from checker.documents.schemas import PROFILE, RULES, families, schema
from checker.units import UnitError, parse

_SIGNS: Mapping[str, tuple[Callable[[float], bool], str]] = {
    "positive": (lambda value: value > 0, "more than zero"),
    "not negative": (lambda value: value >= 0, "zero or more"),
}


class _QuantityError(ValidationError):
    """A quantity that cannot be read, with the words the units module found for it."""

    def __init__(self, found: str, wanted: str, suggestion: str | None = None) -> None:
        super().__init__(found)
        self.found, self.wanted, self.suggestion = found, wanted, suggestion


def _check_quantity(
    _validator: object, kind: str, value: object, node: Mapping[str, Any]
) -> Iterator[ValidationError]:
    """The project's own keyword `quantity`: text with a unit of that kind, of the right sign."""
    if not isinstance(value, str):
        return
    try:
        quantity = parse(value, kind)
    except UnitError as error:
        guess = error.suggestion and f"'{error.suggestion}'"
        yield _QuantityError(f"'{error.found}'", error.wanted, guess)
        return
    holds, words = _SIGNS.get(node.get("sign", ""), (lambda _value: True, ""))
    if not holds(quantity.value - quantity.half_width):
        yield _QuantityError(f"'{value}'", words)


def _is_day(value: object) -> bool:
    if not isinstance(value, str):
        return True
    try:
        date.fromisoformat(value)
    except ValueError:
        return False
    return len(value) == len("2026-05-14")


@cache
def _validator(family: str) -> Any:
    registry: Registry[Any] = Registry().with_resources(
        (name_schema["$id"], Resource.from_contents(name_schema))
        for name_schema in (schema(PROFILE), schema(RULES))
    )
    formats = FormatChecker(formats=())
    formats.checks("date")(_is_day)
    kind = extend(Draft202012Validator, {"quantity": _check_quantity})
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
        found = "no 'kind'" if kind is None else f"the kind {_shown(kind)}"
        guess = nearest(kind, known) if isinstance(kind, str) else None
        wanted = f"`kind: {listed(known)}`"
        path: DataPath = ("kind",) if "kind" in data else ()
        return [document.problem(path, found, wanted, guess and f"'{guess}'")]
    errors = _validator(families()[kind]).iter_errors(data)
    problems = [problem for error in errors for problem in _problems(document, error)]
    return sorted(set(problems), key=lambda p: (p.mark, p.found))


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
            text = str(value)
            return f"'{text[:60]}…'" if len(text) > 60 else f"'{text}'"


_TYPE_WORDS = {
    "object": "a mapping of `key: value` lines",
    "array": "a list of `- ...` lines",
    "string": "text",
    "number": "a plain number",
    "integer": "a whole number",
}


def _wanted_type(node: Mapping[str, Any]) -> str:
    wanted = node["type"]
    names = wanted if isinstance(wanted, list) else [wanted]
    return " or ".join(_TYPE_WORDS.get(name, name) for name in names)


def _problems(document: Document, error: ValidationError) -> Iterator[Problem]:
    """The problems one schema error stands for, in a crew member's words."""
    path: DataPath = tuple(error.absolute_path)
    node, value = error.schema, error.instance
    assert isinstance(node, Mapping)
    if isinstance(error, _QuantityError):
        yield document.problem(path, error.found, error.wanted, error.suggestion)
        return
    match error.validator:
        case "additionalProperties":
            yield from _unknown_keys(document, path, value, node)
        case "required":
            yield from _missing_keys(document, path, value, node)
        case _ if "propertyNames" in error.absolute_schema_path:
            mark = document.key_mark((*path, value))
            yield Problem(document.file, mark, f"the name {_shown(value)}", _wanted_form(node))
        case "type":
            yield _wrong_type(document, path, value, node)
        case "enum":
            words = [str(word) for word in node["enum"]]
            guess = _answer(value) if words == ["yes", "no"] else None
            guess = guess or (nearest(value, words) if isinstance(value, str) else None)
            yield document.problem(path, _shown(value), _one_of(words), guess and f"'{guess}'")
        case "const":
            yield document.problem(path, _shown(value), f"'{node['const']}'")
        case "format":
            yield document.problem(path, _shown(value), "a day such as 2026-05-14")
        case _:
            yield document.problem(path, _shown(value), _wanted_form(node))


def _one_of(words: list[str]) -> str:
    return words[0] if len(words) == 1 else f"one of: {listed(words, most=20)}"


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
        return document.problem(path, "nothing after the colon", "a value, or leave the line out")
    if kind and isinstance(value, int | float) and not isinstance(value, bool):
        try:
            parse(str(value), kind)
        except UnitError as error:
            guess = error.suggestion and f"'{error.suggestion}'"
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
            yield Problem(document.file, mark, f"the key '{key}'", wanted, guess and f"'{guess}'")


def _missing_keys(
    document: Document, path: DataPath, value: Mapping[str, Any], node: Mapping[str, Any]
) -> Iterator[Problem]:
    for key in node["required"]:
        if key not in value:
            mark = document.value_mark(path)
            where = f"in '{path[-1]}'" if path and isinstance(path[-1], str) else "here"
            yield Problem(document.file, mark, f"no '{key}' {where}", f"a line `{key}: ...`")


def _wanted_form(node: Mapping[str, Any]) -> str:
    """What a value should look like, from the description and examples of its schema node."""
    if "not" in node or "required" in node:
        return "either `source:` and `at:`, or `common_practice: yes`, not both"
    bounds = {
        "minItems": "at least {} entry",
        "maxItems": "at most {} entries",
        "minimum": "at least {}",
        "maximum": "at most {}",
        "maxLength": "at most {} characters",
        "minLength": "some text",
    }
    parts = [str(node["description"]).rstrip(".")] if "description" in node else []
    parts += [words.format(node[key]) for key, words in bounds.items() if key in node]
    if "pattern" in node and "description" not in node:
        parts.append("lower-case letters, digits, spaces, hyphens")
    if "examples" in node:
        parts.append(f"such as {node['examples'][0]}")
    return ", ".join(parts)
