"""The settings of one project: `cinchbook.yaml` in the working directory or a folder above it."""

import os
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, Final

from msgspec import Struct, field

from checker.documents.document import Document
from checker.documents.escaping import escaped
from checker.documents.folders import IgnorePatterns
from checker.documents.problems import Mark, Problem, ProblemsFoundError
from checker.documents.validate import validate
from checker.units.definitions import EXAMPLE, read_definitions
from checker.units.parsing import parse
from checker.units.words import Unit

FILE: Final = "cinchbook.yaml"
_MISSPELT: Final = ("cinchbook.yml", "cinchbook.YAML", "cinchbook.YML", "Cinchbook.yaml")
"""Misspelt names of the file, which no command would read."""
_BUILT_IN: Final[Mapping[str, Any]] = {
    "rules": ["shipped"],
    "amendments": [],
    "profiles": None,
    "columns": None,
    "units": "profile",
    "own_units": [],
    "near": "5 %",
    "ignore": [],
    "longest_variance": None,
}


class Settings(Struct, frozen=True):
    """What commands use when their options do not set it.

    `rules` and `amendments` are paths, or ids of shipped rulebooks if there is no such path;
    `columns` is a mapping file for logs; `near` is a share of the limit; `ignored` files are
    skipped in folders; `own_units` are the units that the organisation defines; `longest_variance`
    is in days. `origins` says where each setting was made.
    """

    file: Path | None
    rules: Sequence[str]
    amendments: Sequence[str]
    profiles: str | None
    columns: str | None
    units: str
    own_units: tuple[Unit, ...]
    near: float
    ignored: IgnorePatterns
    longest_variance: int | None
    stated: Mapping[str, Any] = field(default_factory=dict)
    origins: Mapping[str, str] = field(default_factory=dict)


def read_settings(folder: Path, top: Path | None = None) -> Settings:
    """The settings of the nearest folder that has any, from `folder` upwards; else the defaults.

    With `top` the search ends at that folder. Raises ProblemsFoundError with every problem of the
    file.
    """
    for each in (folder, *folder.parents):
        # Also for a broken link: settings that cannot be read must not count as missing.
        _refuse_misspelt(each)
        if os.path.lexists(each / FILE):
            return _read(each / FILE, None if top is None else os.path.relpath(each / FILE, folder))
        if each == top:
            break
    return _settings(None, {}, {})


def _refuse_misspelt(folder: Path) -> None:
    """Raise ProblemsFoundError for a settings file with a misspelt name, which would be ignored."""
    found = [folder / name for name in _MISSPELT if os.path.lexists(folder / name)]
    # On a disk that ignores letter case, all of them are the one file.
    wrong = [each for each in found if not _is_same(each, folder / FILE)]
    if wrong:
        wanted = f"the name {FILE} for settings"
        raise ProblemsFoundError(
            Problem(str(each), Mark(1, 1), f"a file called {each.name}", wanted) for each in wrong
        )


def _is_same(file: Path, other: Path) -> bool:
    try:
        return file.samefile(other)
    except OSError:
        return False


def _read(file: Path, shown_as: str | None) -> Settings:
    # Imported only where there is a file: most runs have none.
    from checker.documents.reader import read_file

    document = read_file(file, shown_as)
    problems = document.problems + validate(document, wanted_kind="settings")
    data: Any = document.data
    if isinstance(data, dict):
        problems += [
            document.problem(path, f"no file or folder '{name}'", f"a path from {file.parent}")
            for path, name in _named(data)
            if not (file.parent / name).exists()
        ]
        problems += _faults_of_units(document, data.get("own_units"))
    if problems:
        raise ProblemsFoundError(problems)
    origins = {name: _origin(document, name) for name in data if name in _BUILT_IN}
    return _settings(file, data, origins)


def _named(data: Mapping[str, Any]) -> list[tuple[tuple[str | int, ...], str]]:
    """Entries that can only be paths; an entry of `rules` may also be an id."""
    listed = data.get("amendments")
    named: list[tuple[tuple[str | int, ...], Any]] = [
        ((name,), data.get(name)) for name in ("profiles", "columns")
    ]
    if isinstance(listed, list):
        named += [(("amendments", index), name) for index, name in enumerate(listed)]
    return [(path, name) for path, name in named if isinstance(name, str)]


def _faults_of_units(document: Document, lines: object) -> list[Problem]:
    """Problems of the organisation's own units, beyond the schema."""
    if not isinstance(lines, list):
        return []
    # The schema refuses anything but text; a text in its place keeps the indices of the others.
    _, faults = read_definitions([line if isinstance(line, str) else EXAMPLE for line in lines])
    return [
        document.problem(
            ("own_units", fault.index), escaped(fault.found), fault.wanted, fault.suggestion
        )
        for fault in faults
        if isinstance(lines[fault.index], str)
    ]


def _origin(document: Document, name: str) -> str:
    return f"{document.file}:{document.value_mark((name,)).line}"


def _days(text: str | None) -> int | None:
    return int(text.split()[0]) if text else None


def _settings(file: Path | None, data: Mapping[str, Any], origins: Mapping[str, str]) -> Settings:
    stated = {**_BUILT_IN, **{name: value for name, value in data.items() if name in _BUILT_IN}}

    def found(name: str) -> str:
        beside = file.parent / name if file else Path(name)
        return str(beside) if file and beside.exists() else name

    return Settings(
        file=file,
        rules=[found(name) for name in stated["rules"]],
        amendments=[found(name) for name in stated["amendments"]],
        profiles=stated["profiles"] and found(stated["profiles"]),
        columns=stated["columns"] and found(stated["columns"]),
        units=stated["units"],
        own_units=read_definitions(stated["own_units"])[0],
        near=parse(stated["near"], "ratio").value,
        ignored=IgnorePatterns(stated["ignore"], file and file.parent),
        longest_variance=_days(stated["longest_variance"]),
        stated=stated,
        origins=origins,
    )
