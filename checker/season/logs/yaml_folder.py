"""Haul logs as a folder of YAML files: each haul a file, and each load that states its day."""

import os
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any, Final, NoReturn

from checker.documents.document import Document
from checker.documents.files import is_folder
from checker.documents.problems import Mark, Problem, ProblemsFoundError
from checker.documents.reader import read_file
from checker.documents.schemas import families
from checker.documents.validate import validate
from checker.season.logs.collecting import Row, collected
from checker.season.logs.columns import column_of
from checker.season.logs.haul_file import DATE, LOAD, haul_row
from checker.season.logs.model import Batch, Log, OwnWords
from checker.season.logs.plain_hauls import plain_row

FILES_OF_A_BATCH: Final = 256
"""Of so many a field stands in one unit: files of a batch are columns together."""
FILES_OF_A_PART: Final = 4 * FILES_OF_A_BATCH

ENDINGS: Final = (".yaml", ".yml")
"""In small or large letters, what the name of a YAML file ends in."""

_HAUL: Final = column_of("haul")
_HAULS: Final = ("haul", "load")
"""The kinds of files that are hauls."""


def read(path: Path, own: OwnWords) -> Log:
    """The hauls in a folder and the folders in it, sorted by name, or in one file.

    Files of other kinds are passed over, those of a kind that is none are refused; the program's
    own words hold in all. Raises ProblemsFoundError where there is no YAML file.
    """
    names = names_in(path) if is_folder(path) else [path.name]
    if not names:
        found = "a folder without a YAML file"
        wanted = "files of `kind: haul`, or of `kind: load` with a trip.date"
        raise ProblemsFoundError([Problem(str(path), Mark(1, 1), found, wanted)])
    top = path if is_folder(path) else path.parent
    parts = (
        _Files(names[first : first + FILES_OF_A_PART], first, top)
        for first in range(0, len(names), FILES_OF_A_PART)
    )
    return Log(str(path), parts, len(names), own)


def names_in(folder: Path) -> list[str]:
    """The YAML files of a folder and of the folders in it, named from there, in the log's order.

    That is the order of paths, part by part. The names are texts, since to make a path of each
    costs more than to read the file. A link to a folder is named like a file, so that whoever reads
    it says that it cannot be read. Raises ProblemsFoundError for a folder that cannot be listed.
    """
    names: list[str] = []
    for place, folders, files in os.walk(folder, onerror=_refuse_folder):
        inside = os.path.relpath(place, folder)
        here = [name for name in (*folders, *files) if name.lower().endswith(ENDINGS)]
        here += [
            name
            for name in folders
            if os.path.islink(os.path.join(place, name)) and name not in here  # noqa: PTH114, PTH118
        ]
        names += here if inside == os.curdir else [f"{inside}{os.sep}{name}" for name in here]
    # As paths are sorted, without making them.
    return sorted(names, key=lambda name: os.path.normcase(name).split(os.sep))  # noqa: PTH206


def _refuse_folder(error: OSError) -> NoReturn:
    found = f"a folder that cannot be read ({(error.strerror or str(error)).lower()})"
    problem = Problem(str(error.filename), Mark(1, 1), found, "every folder of the log readable")
    raise ProblemsFoundError([problem]) from error


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
        for first in range(0, len(self.names), FILES_OF_A_BATCH):
            names = self.names[first : first + FILES_OF_A_BATCH]
            yield from collected(_rows(names, self.before + first, self.top))


def _rows(names: Sequence[str], before: int, top: Path) -> Iterator[tuple[int, Row | str]]:
    beneath = os.path.join(top, "")  # noqa: PTH118 - as in names_in
    for position, name in enumerate(names, start=before + 1):
        fields = plain_row(beneath + name) or _explained(top / name)
        if isinstance(fields, str):
            yield position, fields
        elif fields:
            own = os.path.splitext(name)[0].replace(os.sep, "/")  # noqa: PTH122 - as in names_in
            yield position, {_HAUL: own, **fields}


def _explained(file: Path) -> Row | str:
    """The row of a file, or what is wrong with it first; a row of nothing if it is no haul."""
    document = read_file(file)
    kind = _kind(document)
    is_haul = kind in _HAULS
    if kind in families() and not is_haul and not document.problems:
        return {}
    problems = document.problems + validate(document, wanted_kind=kind if is_haul else None)
    if not problems:
        row, problems = haul_row(document) if kind == "haul" else _load(document, file)
    return _first(problems) if problems else row


def _first(problems: Sequence[Problem]) -> str:
    """Of the problems of one file the one that stands first."""
    return str(min(problems, key=lambda each: (each.mark, each.found, each.wanted)))


def _kind(document: Document) -> str:
    """What a file says it is; nothing where it says no such thing."""
    kind = document.data.get("kind") if isinstance(document.data, dict) else None
    return kind if isinstance(kind, str) else ""


def _load(document: Document, file: Path) -> tuple[Row, list[Problem]]:
    """A load profile is a haul of its own on its trip's day."""
    data: Any = document.data
    day = data.get("trip", {}).get("date")
    if day is None:
        return {}, [document.problem(("trip",), "no trip.date", "the day of the haul")]
    return {LOAD: str(file), DATE: date.fromisoformat(day)}, []
