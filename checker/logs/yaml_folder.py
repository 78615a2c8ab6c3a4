"""Reads haul logs as a folder of YAML files: hauls, and load profiles that state their day."""

import os
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any, Final, NoReturn

from checker.documents.document import Document, read_bounded
from checker.documents.files import is_folder
from checker.documents.problems import Mark, Problem, ProblemsFoundError
from checker.documents.reader import read_bytes, read_file
from checker.documents.schemas import families
from checker.documents.validate import validate
from checker.logs.cells import CellError, stated
from checker.logs.collecting import Row, to_batch
from checker.logs.columns import ColumnError, column_of
from checker.logs.json_lines import as_list
from checker.logs.model import OF_THE_HAUL, PART_BYTES, Batch, Cell, Column, Log, LogMapping

FILES_OF_A_PART: Final = 256
"""Most files of a part; within it a field must have one unit, as it becomes one column."""

ENDINGS: Final = (".yaml", ".yml")
"""Suffixes of YAML files, in upper or lower case."""

_LOAD, _DATE, _CREW, _HAUL = map(column_of, ("load", "date", "crew", "haul"))


def read(path: Path, mapping: LogMapping) -> Log:
    """The hauls in a folder and its subfolders, sorted by name, or in one file.

    Files of other known kinds are skipped, files of an unknown kind refused. Mapping files do not
    apply. Raises ProblemsFoundError if there is no YAML file.
    """
    names = names_in(path) if is_folder(path) else [path.name]
    if not names:
        found = "a folder without a YAML file"
        wanted = "files of `kind: haul`, or of `kind: load` with a trip.date"
        raise ProblemsFoundError([Problem(str(path), Mark(1, 1), found, wanted)])
    top = path if is_folder(path) else path.parent
    files = [str(top / name) for name in names]
    return Log(str(path), _parts(names, top), len(names), mapping, files)


def _parts(names: Sequence[str], top: Path) -> Iterator["_Files"]:
    """The files in parts of at most FILES_OF_A_PART files, and little more than PART_BYTES."""
    contents: list[bytes | Document] = []
    size = before = 0
    for name in names:
        contents.append(_content(top / name))
        size += len(contents[-1]) if isinstance(contents[-1], bytes) else 0
        if len(contents) == FILES_OF_A_PART or size >= PART_BYTES:
            yield _Files(names[before : before + len(contents)], contents, before, top)
            contents, size, before = [], 0, before + len(contents)
    if contents:
        yield _Files(names[before:], contents, before, top)


def _content(file: Path) -> bytes | Document:
    """The bytes of a file; a document with its problem if it cannot be read."""
    try:
        return read_bounded(file)
    except OSError:
        return read_file(file)


def names_in(folder: Path) -> list[str]:
    """The relative paths of the YAML files in a folder and its subfolders, sorted as paths.

    A link to a folder is included, so that reading it reports a problem. Raises ProblemsFoundError
    for a folder that cannot be listed.
    """
    found: list[Path] = []
    for folder_path, folders, files in os.walk(folder, onerror=_refuse_folder):
        here = Path(folder_path)
        found += [here / name for name in files if name.lower().endswith(ENDINGS)]
        found += [
            here / name
            for name in folders
            if name.lower().endswith(ENDINGS) or (here / name).is_symlink()
        ]
    return [str(path.relative_to(folder)) for path in sorted(found)]


def _refuse_folder(error: OSError) -> NoReturn:
    found = f"a folder that cannot be read ({(error.strerror or str(error)).lower()})"
    problem = Problem(str(error.filename), Mark(1, 1), found, "every folder of the log readable")
    raise ProblemsFoundError([problem]) from error


@dataclass(frozen=True, slots=True)
class _Files:
    """Some files of a folder with their contents; `before` is the number of files before them.

    The process that parses them may be on a machine that does not have the folder.
    """

    names: Sequence[str]
    contents: Sequence[bytes | Document]
    before: int
    top: Path

    @property
    def size(self) -> int:
        return len(self.names)

    def read(self) -> Batch:
        return to_batch(self._rows())

    def _rows(self) -> Iterator[tuple[int, Row | str]]:
        files = zip(self.names, self.contents, strict=True)
        for position, (name, content) in enumerate(files, start=self.before + 1):
            file = self.top / name
            document = content if isinstance(content, Document) else read_bytes(content, str(file))
            row = _row(file, document)
            if isinstance(row, str):
                yield position, row
            elif row:
                yield position, {_HAUL: Path(name).with_suffix("").as_posix(), **row}


def _row(file: Path, document: Document) -> Row | str:
    """The row of a file; its first problem if it is not valid; an empty row if it is not a haul."""
    data = document.data
    kind = data.get("kind") if isinstance(data, dict) else None
    is_haul = kind in ("haul", "load")
    if isinstance(kind, str) and kind in families() and not is_haul and not document.problems:
        return {}
    wanted = str(kind) if is_haul else None
    problems = document.problems + validate(document, wanted_kind=wanted)
    if not problems:
        row, problems = _haul(document) if kind == "haul" else _load(document, file)
    if problems:
        return str(min(problems, key=lambda each: (each.mark, each.found, each.wanted)))
    return row


def _load(document: Document, file: Path) -> tuple[Row, list[Problem]]:
    """The row of a load profile, which is a haul on the day of its trip, and its problems."""
    data: Any = document.data
    day = data.get("trip", {}).get("date")
    if day is None:
        return {}, [document.problem(("trip",), "no trip.date", "the day of the haul")]
    return {_LOAD: str(file), _DATE: date.fromisoformat(day)}, []


def _haul(document: Document) -> tuple[Row, list[Problem]]:
    """The row of a document that is valid by the schema of a haul, and remaining problems."""
    data: Any = document.data
    row: dict[Column, Cell] = {
        _LOAD: data["load"],
        _DATE: date.fromisoformat(data["date"]),
        _CREW: data.get("crew"),
    }
    problems = []
    for field, value in data.get("differs", {}).items():
        path = ("differs", field)
        try:
            column = column_of(field)
        except ColumnError as error:
            mark = document.key_mark(path)
            problem = Problem(document.file, mark, error.found, error.wanted, error.suggestion)
            problems.append(problem)
            continue
        if column.role in OF_THE_HAUL:
            mark = document.key_mark(path)
            wanted = f"`{field}:` above, not under `differs:`"
            problems.append(Problem(document.file, mark, f"'{field}' here", wanted))
            continue
        cell = as_list(value) if isinstance(value, list) else value
        try:
            stated(column, cell)
        except CellError as error:
            its = error.problem
            problems.append(document.problem(path, its.found, its.wanted, its.suggestion))
        row[column] = cell
    return row, problems
