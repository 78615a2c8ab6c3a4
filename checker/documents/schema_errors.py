"""Explains every way in which a document does not fit its schema.

`quick_validation.py` answers quickly whether a document fits. For one that does not, this module
uses a slower validator that reports every error with its path and its schema node.
"""

import json
import re
from collections.abc import Callable, Iterator, Mapping
from functools import cache, partial
from itertools import islice
from typing import Any, NamedTuple

from jsonschema import Draft202012Validator, FormatChecker
from jsonschema.exceptions import ValidationError
from jsonschema.validators import extend
from msgspec.structs import replace
from referencing import Registry, Resource

from checker.documents.document import Document
from checker.documents.problems import (
    MOST_OF_A_FILE,
    DataPath,
    Problem,
    describe,
    limit_problems,
    listed,
    nearest,
    quoted,
)
from checker.documents.schema_keywords import TextFault, is_day, jurisdiction_fault, quantity_fault
from checker.documents.schemas import FAMILIES, PROFILE, schema
from checker.documents.trade_words import word_meant
from checker.documents.wrong_forms import wrong_form
from checker.documents.yaml_mistakes import SPECIAL_SPACE

_MOST_ERRORS = 10_000
"""The search ends after this many: finding each takes a while."""

_SOURCE_OR_PRACTICE = "either `source:` and `at:`, or `common_practice: yes`, not both"


class _TextError(ValidationError):
    """A quantity or code that cannot be read, with the fault found."""

    def __init__(self, fault: TextFault) -> None:
        super().__init__(fault.found)
        self.fault = fault


def _check_quantity(
    _validator: object, _kind: str, value: object, node: Mapping[str, Any]
) -> Iterator[ValidationError]:
    """The project's own keyword `quantity`."""
    fault = quantity_fault(value, node)
    if fault is not None:
        yield _TextError(fault)


def _check_jurisdiction(
    _validator: object, where: str, value: object, _node: object
) -> Iterator[ValidationError]:
    """The project's own keyword `jurisdiction`."""
    fault = jurisdiction_fault(value, where)
    if fault is not None:
        yield _TextError(fault)


def _check_pattern(
    _validator: object, pattern: str, value: object, node: Mapping[str, Any]
) -> Iterator[ValidationError]:
    """JSON Schema's `pattern`; its `$` is the end of the text, in Python also a last line break.

    For jurisdiction codes the pattern serves editors only: the keyword `jurisdiction` reports
    faults.
    """
    if "jurisdiction" in node:
        return
    if isinstance(value, str) and not re.search(pattern.replace("$", r"\Z"), value):
        yield ValidationError(f"{value!r} does not match {pattern}")


def _check_unique(
    _validator: object, _wanted: object, value: object, _node: object
) -> Iterator[ValidationError]:
    """JSON Schema's `uniqueItems` for lists of words, the only use in our schemas.

    jsonschema compares every pair of a list that cannot be sorted, which a hostile file makes slow.
    """
    words = [item for item in value if isinstance(item, str)] if isinstance(value, list) else []
    if len(set(words)) < len(words):
        yield ValidationError("a word twice")


@cache
def _validator(family: str) -> Any:
    registry: Registry[Any] = Registry().with_resources(
        (schema(name)["$id"], Resource.from_contents(schema(name))) for name in FAMILIES
    )
    formats = FormatChecker(formats=())
    formats.checks("date")(is_day)
    # jsonschema has no types for `extend`.
    kind = extend(  # type: ignore[no-untyped-call]
        Draft202012Validator,
        {
            "quantity": _check_quantity,
            "jurisdiction": _check_jurisdiction,
            "pattern": _check_pattern,
            "uniqueItems": _check_unique,
        },
    )
    return kind(schema(family), registry=registry, format_checker=formats)


def document_problems(document: Document, family: str) -> list[Problem]:
    """All problems of a document with the schema of that name, ordered by location."""
    errors = _validator(family).iter_errors(document.data)
    some = islice(errors, _MOST_ERRORS)
    drafts = [draft for error in some for draft in _problems(document, error)]
    drafts.sort(key=lambda draft: (draft.problem.mark, draft.problem.found))
    # Only for problems that will be listed: finding a near word is the slowest part.
    finished = map(_finished, drafts[:MOST_OF_A_FILE])
    rest = (draft.problem for draft in drafts[MOST_OF_A_FILE:])
    return limit_problems([*finished, *rest], cut=next(errors, None) is not None)


def problems_of_value(value: str | float, node: Mapping[str, Any]) -> list[Problem]:
    """The problems of a value with the schema node of one profile field; they have no location."""
    document = Document("", {"value": value}, {}, {})
    alone = _validator(PROFILE).evolve(schema={"properties": {"value": node}})
    errors = alone.iter_errors(document.data)
    return [_finished(draft) for error in errors for draft in _problems(document, error)]


class _Draft(NamedTuple):
    """A problem, and the words to search for a suggestion."""

    problem: Problem
    hint: Callable[[], str | None] | None = None


def _finished(draft: _Draft) -> Problem:
    guess = draft.hint and draft.hint()
    return replace(draft.problem, suggestion=quoted(guess)) if guess else draft.problem


def _problems(document: Document, error: ValidationError) -> Iterator[_Draft]:
    """The problems behind one schema error, in words for a crew member."""
    path: DataPath = tuple(error.absolute_path)
    node: Any = error.schema
    value: Any = error.instance
    keyword = str(error.validator)
    if isinstance(error, _TextError):
        fault = error.fault
        yield _Draft(document.problem(path, fault.found, fault.wanted, fault.suggestion))
        return
    match keyword:
        case "additionalProperties":
            yield from _unknown_keys(document, path, value, node)
        case "required" if error.absolute_schema_path[-2] == "else":
            absent = " and ".join(f"no '{key}'" for key in node["required"] if key not in value)
            yield _Draft(document.problem(path, f"{absent} here", _SOURCE_OR_PRACTICE))
        case "required":
            yield from _missing_keys(document, path, value, node)
        case "not":
            mark = document.key_mark((*path, "common_practice"))
            found = "`common_practice: yes` beside a source"
            yield _Draft(Problem(document.file, mark, found, _SOURCE_OR_PRACTICE))
        case _ if "propertyNames" in error.absolute_schema_path:
            mark = document.key_mark((*path, value))
            wanted = _wanted_form(node, keyword)
            yield _Draft(Problem(document.file, mark, f"the name {describe(value)}", wanted))
        case "type":
            # Where a reference or a mapping is accepted, the node around it describes both.
            if error.absolute_schema_path[-2] != "else":
                yield _Draft(wrong_form(document, path, value, node))
        case "enum":
            hint = partial(_word_meant, value, node["enum"])
            yield _Draft(wrong_form(document, path, value, node), hint)
        case "const":
            yield _Draft(document.problem(path, describe(value), f"'{node['const']}'"))
        case "format":
            yield _Draft(document.problem(path, describe(value), "a day such as 2026-05-14"))
        case "minItems" | "maxItems":
            found = f"a list of {len(value)}" if value else "an empty list"
            yield _Draft(document.problem(path, found, _wanted_form(node, keyword)))
        case _:
            wanted = _wanted_form(node, keyword)
            yield _Draft(document.problem(path, describe(value), wanted))


def _word_meant(value: object, words: list[str]) -> str | None:
    """The accepted word nearest to a text; for a bare number, the same digits in quotes."""
    if isinstance(value, list) and len(value) == 1:
        value = value[0]
    if words == ["yes", "no"] and (answer := _answer(value)):
        return answer
    if isinstance(value, str):
        return value if value in words else word_meant(value, words) or nearest(value, words)
    return str(value) if str(value) in words else None


def _answer(value: object) -> str | None:
    """The yes or no meant by true, on, 1, Y and the like."""
    folded = str(value).casefold()
    if folded in {"true", "on", "1", "y", "yes"}:
        return "yes"
    return "no" if folded in {"false", "off", "0", "n", "no"} else None


def _unknown_keys(
    document: Document, path: DataPath, value: Mapping[str, Any], node: Mapping[str, Any]
) -> Iterator[_Draft]:
    known = node["properties"]
    wanted = f"one of: {listed(known)}"
    for key in value:
        if key not in known:
            mark = document.key_mark((*path, key))
            if special := SPECIAL_SPACE.search(key):
                found = f"the key {quoted(key)} with a special space (U+{ord(special[0]):04X})"
                yield _Draft(Problem(document.file, mark, found, "plain spaces"))
                continue
            problem = Problem(document.file, mark, f"the key {quoted(key)}", wanted)
            yield _Draft(problem, partial(_key_meant, key, list(known)))


def _key_meant(key: str, known: list[str]) -> str | None:
    """The field that the trade calls so, else the one with the nearest name."""
    return word_meant(key, known) or nearest(key, known)


def _missing_keys(
    document: Document, path: DataPath, value: Mapping[str, Any], node: Mapping[str, Any]
) -> Iterator[_Draft]:
    for key in node["required"]:
        if key not in value:
            mark = document.value_mark(path)
            where = f"in {quoted(path[-1])}" if path and isinstance(path[-1], str) else "here"
            problem = Problem(document.file, mark, f"no '{key}' {where}", f"a line `{key}: ...`")
            yield _Draft(problem)


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
    """The form of an accepted value: its description, the bound it broke, an example."""
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
