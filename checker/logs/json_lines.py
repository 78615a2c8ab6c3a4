"""Reads haul logs with one JSON object a line; fields are nested or named by dotted paths."""

import json
import os
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, BinaryIO, Final

from checker.documents.problems import quoted
from checker.documents.strict_json import (
    DuplicateNameError,
    NotANumberError,
    has_lone_surrogate,
    strict_json,
)
from checker.logs.collecting import Row, to_batch
from checker.logs.columns import ColumnError, header_text, mapped_column
from checker.logs.limits import MOST_ROW_BYTES
from checker.logs.model import (
    NO_NUMBER,
    PART_BYTES,
    PART_ROWS,
    Batch,
    Cell,
    Column,
    Log,
    LogMapping,
)
from checker.logs.opening import open_log_file

_MOST_DEPTH: Final = 12
_MARK: Final = b"\xef\xbb\xbf"


class _RowError(ValueError):
    """The line is not a valid row; the message is the reason."""


def read(path: Path, mapping: LogMapping) -> Log:
    """The log in a file of JSON lines; raises ProblemsFoundError if it cannot be opened."""
    file = open_log_file(path, "JSON lines")
    return Log(str(path), _parts(file, mapping), os.fstat(file.fileno()).st_size, mapping)


def _parts(file: BinaryIO, mapping: LogMapping) -> Iterator["_Lines"]:
    before = 0
    with file:
        while lines := _next_lines(file):
            yield _Lines(before, lines, mapping)
            before += len(lines)


def _next_lines(file: BinaryIO) -> list[bytes]:
    """The lines of the next part; a line that is too long is cut and later refused."""
    lines: list[bytes] = []
    size = 0
    while size < PART_BYTES and len(lines) < PART_ROWS:
        line = rest = file.readline(MOST_ROW_BYTES + 1)
        while len(rest) > MOST_ROW_BYTES and not rest.endswith(b"\n"):
            rest = file.readline(MOST_ROW_BYTES + 1)
        if not line:
            break
        lines.append(line)
        size += len(line)
    return lines


@dataclass(frozen=True, slots=True)
class _Lines:
    """Some lines of a log; `before` is the number of lines above them."""

    before: int
    lines: Sequence[bytes]
    mapping: LogMapping

    @property
    def size(self) -> int:
        return sum(map(len, self.lines))

    def read(self) -> Batch:
        return to_batch(self._rows())

    def _rows(self) -> Iterator[tuple[int, Row | str]]:
        """Each line that is not blank, with its number, as a row or as the reason to refuse it."""
        reading = _Reading(self.mapping)
        for number, line in enumerate(self.lines, start=self.before + 1):
            text = line.removeprefix(_MARK) if number == 1 else line
            if text.strip():
                try:
                    yield number, reading.row(text)
                except _RowError as error:
                    yield number, str(error)


class _Reading:
    """Converts the lines of a log to rows; finds the column that a key names only once."""

    def __init__(self, mapping: LogMapping) -> None:
        self.mapping = mapping
        self.known: dict[str, Column | None] = {}

    def row(self, line: bytes) -> Row:
        """The row of a line; raises _RowError."""
        if len(line) > MOST_ROW_BYTES:
            message = f"found a line of more than {MOST_ROW_BYTES:,} bytes; wanted one haul a line"
            raise _RowError(message)
        row: dict[Column, Cell] = {}
        fields: set[str] = set()
        for header, cell in _flat(_object(line).items(), "", 1):
            column = self._column(header)
            if column is None:
                continue
            if column.field in fields:
                message = f"found {column.field} twice; wanted each field once"
                raise _RowError(message)
            fields.add(column.field)
            row[column] = cell
        return row

    def _column(self, header: str) -> Column | None:
        if header not in self.known:
            try:
                self.known[header] = mapped_column(header_text(header), self.mapping)
            except ColumnError as error:
                raise _RowError(str(error)) from error
        return self.known[header]


def _object(line: bytes) -> dict[str, Any]:
    try:
        text = line.decode()
        data = strict_json(text)
    except json.JSONDecodeError as error:
        message = f"found a line that is no JSON ({error.msg}, character {error.colno})"
        raise _RowError(message) from error
    except UnicodeDecodeError as error:
        message = "found a line that is no UTF-8 text"
        raise _RowError(message) from error
    except DuplicateNameError as error:
        message = f"found {quoted(str(error))} twice; wanted each field once"
        raise _RowError(message) from error
    except NotANumberError as error:
        raise _RowError(NO_NUMBER.format(error)) from error
    except (ValueError, RecursionError) as error:  # a number of thousands of digits; deep nesting
        message = "found a line that is no haul; wanted fields and what they are"
        raise _RowError(message) from error
    if not isinstance(data, dict):
        message = "found a line that is no JSON object; wanted {...}"
        raise _RowError(message)
    if has_lone_surrogate(text, data):
        message = "found an escape that stands for half a character; wanted whole ones"
        raise _RowError(message)
    return data


def _flat(entries: Iterable[tuple[Any, Any]], above: str, depth: int) -> Iterator[tuple[str, Cell]]:
    """All values below some entries with their dotted paths; list entries count from 1."""
    for key, value in entries:
        if depth > _MOST_DEPTH:
            message = "found very deep nesting; wanted fields of a load"
            raise _RowError(message)
        path = f"{above}{key}"
        below = f"{path}." if path else ""
        if isinstance(value, dict):
            yield from _flat(value.items(), below, depth + 1)
        elif not isinstance(value, list):
            yield path, value
        elif any(isinstance(item, dict | list) for item in value):
            yield from _flat(enumerate(value, start=1), below, depth + 1)
        else:
            yield path, as_list(value)


def as_list(items: list[Any]) -> str:
    """A list of plain values as one cell."""
    return f"[{'; '.join(map(str, items))}]"
