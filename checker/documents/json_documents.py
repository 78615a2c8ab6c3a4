"""Reads back JSON documents that the program wrote; each fault is a problem with a location."""

import json
import re
from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, NoReturn

from checker.documents.files import open_binary
from checker.documents.problems import DataPath, Mark, Problem, ProblemsFoundError, listed, quoted
from checker.documents.reader import UNPRINTABLE
from checker.documents.schemas import schema_of_written
from checker.documents.strict_json import DuplicateNameError, NotANumberError, strict_json

if TYPE_CHECKING:
    from jsonschema.exceptions import ValidationError

MOST_BYTES: Final = 64_000_000

_TOKEN = re.compile(r'"(?:[^"\\]|\\.)*"|[][{},:]|[^][{},:"\s]+')
_TYPES = {
    "object": "an object",
    "array": "a list",
    "string": "text",
    "number": "a number",
    "integer": "a whole number",
    "boolean": "true or false",
    "null": "null",
}

_AS_WRITTEN = "a document as the program wrote it"


@dataclass(frozen=True)
class JsonDocument:
    """A JSON document: its data, and its text, to locate problems."""

    file: str
    data: Any
    text: str

    def problem(self, path: DataPath, found: str, wanted: str) -> Problem:
        """A problem at the value of a path, or at the nearest enclosing value that exists."""
        while path not in self._starts and path:
            path = path[:-1]
        return Problem(self.file, self._mark(self._starts[path]), found, wanted)

    @cached_property
    def _starts(self) -> dict[DataPath, int]:
        """The offset of each value in the text; computed only when something is wrong."""
        return dict(_value_starts(self.text))

    @cached_property
    def _lines(self) -> list[int]:
        return [0, *(found.end() for found in re.finditer("\n", self.text))]

    def _mark(self, start: int) -> Mark:
        line = bisect_right(self._lines, start)
        return Mark(line, start - self._lines[line - 1] + 1)


def read_json_document(path: Path, kind: str, version: str) -> JsonDocument:
    """The document of that kind in a file, by its schema; `version` is this program's.

    Raises ProblemsFoundError. If the document does not fit the schema and another version of the
    program wrote it, the problem says so.
    """
    from jsonschema import Draft202012Validator  # takes long to import

    document = _parsed(path)
    found = document.data.get("kind") if isinstance(document.data, dict) else None
    if found != kind:
        found_kind = (
            f"{_describe(found)} as the kind" if found is not None else "no document with a kind"
        )
        wanted = f"{quoted(kind)}, a document that `cinchbook {kind} --as json` writes"
        raise ProblemsFoundError([document.problem(("kind",), found_kind, wanted)])
    errors = Draft202012Validator(schema_of_written(kind)).iter_errors(document.data)
    problems = [problem for error in errors for problem in _problems(document, error)]
    wrote = document.data.get("cinchbook")
    if problems and isinstance(wrote, str) and wrote != version:
        wanted = f"a document of version {version}; make it again with this version"
        problems.append(
            document.problem(("cinchbook",), f"a form of version {quoted(wrote)}", wanted)
        )
    # Only a document that fits its schema is certain to be shallow.
    problems = problems or [
        document.problem(path, f"a control character {strange!a}", "plain text")
        for path, strange in _control_characters(document.data, ())
    ]
    if problems:
        raise ProblemsFoundError(problems)
    return document


def _parsed(path: Path) -> JsonDocument:
    """The JSON in a file; raises ProblemsFoundError."""

    def refused(mark: Mark, found: str, wanted: str) -> NoReturn:
        raise ProblemsFoundError([Problem(str(path), mark, found, wanted)])

    try:
        with open_binary(path) as file:
            raw = file.read(MOST_BYTES + 1)
    except OSError as error:
        reason = (error.strerror or "cannot be read").lower()
        refused(Mark(1, 1), f"a file that cannot be read ({reason})", "a JSON document")
    if len(raw) > MOST_BYTES:
        refused(Mark(1, 1), "a very large file", f"at most {MOST_BYTES:,} bytes")
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        good = raw[: error.start].decode("utf-8-sig", "replace").split("\n")
        refused(Mark(len(good), len(good[-1]) + 1), "bytes that are not UTF-8 text", "JSON")
    try:
        data = strict_json(text)
    except json.JSONDecodeError as error:
        mark = Mark(error.lineno, error.colno)
        refused(mark, f"text that is not JSON ({error.msg})", "a whole JSON document")
    except DuplicateNameError as error:
        refused(Mark(1, 1), f"the member {quoted(str(error))} twice in one object", _AS_WRITTEN)
    except NotANumberError as error:
        refused(Mark(1, 1), f"the number {error}", _AS_WRITTEN)
    except (ValueError, RecursionError):  # a number of thousands of digits; deep nesting
        refused(Mark(1, 1), "a number or a nesting without end", _AS_WRITTEN)
    return JsonDocument(str(path), data, text)


def _value_starts(text: str) -> Iterator[tuple[DataPath, int]]:
    """Path and offset of every value in valid JSON."""
    # For each open object and list, the name or the index of the next value.
    path: list[Any] = []
    for token in _TOKEN.finditer(text):
        word = token[0]
        if path and path[-1] is None and word[0] == '"':
            path[-1] = json.loads(word)
        elif word == ",":
            path[-1] = path[-1] + 1 if isinstance(path[-1], int) else None
        elif word in "}]":
            path.pop()
        elif word != ":":
            yield tuple(path), token.start()
            if word in "{[":
                path.append(None if word == "{" else 0)


def _problems(document: JsonDocument, error: "ValidationError") -> Iterator[Problem]:
    """The problems behind one schema error."""
    path: DataPath = tuple(error.absolute_path)
    value: Any = error.instance
    node: Any = error.schema
    match str(error.validator):
        case "required":
            for name in [name for name in node["required"] if name not in value]:
                yield document.problem(path, f"no {quoted(name)} in this object", "that member too")
        case "type":
            types = node["type"] if isinstance(node["type"], list) else [node["type"]]
            wanted = " or ".join(_TYPES[name] for name in types)
            yield document.problem(path, _describe(value), wanted)
        case "enum":
            words = [word for word in node["enum"] if word is not None]
            yield document.problem(path, _describe(value), f"one of: {listed(words)}")
        case "minimum":
            yield document.problem(path, _describe(value), f"at least {node['minimum']}")
        case "maximum":
            yield document.problem(path, _describe(value), f"at most {node['maximum']}")
        case _:
            yield document.problem(path, _describe(value), "what `cinchbook schema` says")


def _describe(value: object) -> str:
    match value:
        case dict():
            return "an object"
        case list():
            return "a list"
        case str():
            return quoted(value)
        case _:
            return json.dumps(value)


def _control_characters(data: Any, path: DataPath) -> Iterator[tuple[DataPath, str]]:
    """Control characters in the data, which only an escape can put there."""
    if isinstance(data, str):
        if found := UNPRINTABLE.search(data):
            yield path, found[0]
    elif isinstance(data, dict):
        for name, value in data.items():
            yield from _control_characters(name, path)
            yield from _control_characters(value, (*path, name))
    elif isinstance(data, list):
        for index, value in enumerate(data):
            yield from _control_characters(value, (*path, index))
