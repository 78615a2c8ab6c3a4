"""Haul logs as a folder of YAML files: each haul a file, and each load that states its day."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any, Final

from checker.documents.document import Document
from checker.documents.problems import Mark, Problem, ProblemsFoundError
from checker.documents.reader import read_file
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
    files = sorted(path.rglob("*.yaml")) if path.is_dir() else [path]
    if not files:
        found = "a folder without a YAML file"
        wanted = "files of `kind: haul`, or of `kind: load` with a trip.date"
        raise ProblemsFoundError([Problem(str(path), Mark(1, 1), found, wanted)])
    top = path if path.is_dir() else path.parent
    parts = (
        _Files(files[first : first + FILES_OF_A_PART], first, top)
        for first in range(0, len(files), FILES_OF_A_PART)
    )
    return Log(str(path), parts, len(files), own)


@dataclass(frozen=True, slots=True)
class _Files:
    """Some files of a folder; `before` is how many come before them."""

    files: Sequence[Path]
    before: int
    top: Path

    @property
    def size(self) -> int:
        return len(self.files)

    def batches(self) -> Iterator[Batch]:
        return collected(_rows(self.files, self.before, self.top))


def _rows(files: Sequence[Path], before: int, top: Path) -> Iterator[tuple[int, Row | str]]:
    for position, file in enumerate(files, start=before + 1):
        document = read_file(file)
        kind = _kind(document)
        if kind is None and not document.problems:
            continue
        problems = document.problems + validate(document, wanted_kind=kind)
        row: dict[Column, Cell] = {}
        if not problems:
            fields, problems = _haul(document) if kind == "haul" else _load(document, file)
            name = file.relative_to(top).with_suffix("").as_posix()
            row = {column_of("haul"): name, **fields}
        yield position, _first(problems) if problems else row


def _first(problems: Sequence[Problem]) -> str:
    """Of the problems of one file the one that stands first."""
    return str(min(problems, key=lambda each: (each.mark, each.found, each.wanted)))


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
