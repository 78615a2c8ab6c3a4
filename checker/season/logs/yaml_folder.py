"""Haul logs as a folder of YAML files: each haul a file, and each load that states its day."""

import fnmatch
import os
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any, Final

from checker.documents.problems import Mark, Problem, ProblemsFoundError
from checker.documents.reader import Document, read_file
from checker.documents.validate import validate
from checker.season.logs.cells import CellError, stated
from checker.season.logs.collecting import Row, collected
from checker.season.logs.columns import ColumnError, column_of
from checker.season.logs.json_lines import as_list
from checker.season.logs.model import OF_THE_HAUL, Batch, Cell, Column, Log, OwnWords

FILES_OF_A_PART: Final = 256

_OF_A_HAUL: Final = ("load", "date", "crew")


def read(path: Path, own: OwnWords) -> Log:
    """The hauls in a folder and the folders in it, sorted by name, or in one file.

    Files of other kinds are passed over; the program's own words hold in all. Raises
    ProblemsFoundError where there is no YAML file.
    """
    names = names_in(path) if path.is_dir() else [path.name]
    if not names:
        found = "a folder without a YAML file"
        wanted = "files of `kind: haul`, or of `kind: load` with a trip.date"
        raise ProblemsFoundError([Problem(str(path), Mark(1, 1), found, wanted)])
    top = path if path.is_dir() else path.parent
    parts = (
        _Files(names[first : first + FILES_OF_A_PART], first, top)
        for first in range(0, len(names), FILES_OF_A_PART)
    )
    return Log(str(path), parts, len(names), own)


def names_in(folder: Path) -> list[str]:
    """The YAML files of a folder and of the folders in it, named from there, in the log's order.

    That is the order of paths, part by part. The names are texts, since to make a path of each
    costs more than to read the file.
    """
    names: list[str] = []
    for place, folders, files in os.walk(folder):
        inside = os.path.relpath(place, folder)
        here = fnmatch.filter([*folders, *files], "*.yaml")
        names += here if inside == os.curdir else [f"{inside}{os.sep}{name}" for name in here]
    # As paths are sorted, without making them.
    return sorted(names, key=lambda name: os.path.normcase(name).split(os.sep))  # noqa: PTH206


@dataclass(frozen=True, slots=True)
class _Files:
    """Some files of a folder; `before` is how many come before them."""

    names: Sequence[str]
    before: int
    top: Path

    @property
    def size(self) -> int:
        return len(self.names)

    def batches(self) -> Iterator[Batch]:
        return collected(_rows(self.names, self.before, self.top))


def _rows(names: Sequence[str], before: int, top: Path) -> Iterator[tuple[int, Row | str]]:
    for position, name in enumerate(names, start=before + 1):
        file = top / name
        document = read_file(file)
        kind = _kind(document)
        if kind is None and not document.problems:
            continue
        problems = document.problems + validate(document, wanted_kind=kind)
        row: dict[Column, Cell] = {}
        if not problems:
            fields, problems = _haul(document) if kind == "haul" else _load(document, file)
            own = os.path.splitext(name)[0].replace(os.sep, "/")  # noqa: PTH122 - as in names_in
            row = {column_of("haul"): own, **fields}
        yield position, str(min(problems)) if problems else row


def _kind(document: Document) -> str | None:
    """The kind of a file that is a haul; None for what may lie beside them."""
    kind = document.data.get("kind") if isinstance(document.data, dict) else None
    return kind if isinstance(kind, str) and kind in ("haul", "load") else None


def _haul(document: Document) -> tuple[Row, list[Problem]]:
    data: Any = document.data
    row: dict[Column, Cell] = {column_of(name): data.get(name) for name in _OF_A_HAUL}
    row[column_of("date")] = date.fromisoformat(data["date"])
    problems = []
    differs: Mapping[str, Any] = data.get("differs", {})
    for field, value in differs.items():
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


def _load(document: Document, file: Path) -> tuple[Row, list[Problem]]:
    """A load profile is a haul of its own on its trip's day."""
    data: Any = document.data
    day = data.get("trip", {}).get("date")
    if day is None:
        return {}, [document.problem(("trip",), "no trip.date", "the day of the haul")]
    return {column_of("load"): str(file), column_of("date"): date.fromisoformat(day)}, []
