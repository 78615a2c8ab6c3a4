"""Settings of one project: `cinchbook.yaml`, looked for from the working directory upwards."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, Final

from msgspec import Struct, field

from checker.documents.document import Document
from checker.documents.problems import ProblemsFoundError
from checker.documents.validate import validate
from checker.units import parse

FILE: Final = "cinchbook.yaml"
_BUILT_IN: Final[Mapping[str, Any]] = {
    "rules": ["shipped"],
    "amendments": [],
    "profiles": None,
    "units": "us",
    "near": "5 %",
}
# Of these, each entry may be a path, which starts from the folder of the file.
_PATHS: Final = frozenset({"rules", "amendments", "profiles"})


class Settings(Struct, frozen=True):
    """What commands use where their options do not say otherwise.

    `rules` and `amendments` are paths, or ids of shipped rulebooks where there is no such path;
    `near` is a share of the limit. `origins` says of each setting where it was set.
    """

    file: Path | None
    rules: Sequence[str]
    amendments: Sequence[str]
    profiles: str | None
    units: str
    near: float
    stated: Mapping[str, Any] = field(default_factory=dict)
    origins: Mapping[str, str] = field(default_factory=dict)


def settings_above(folder: Path) -> Settings:
    """The settings of the nearest folder that has any, from `folder` upwards; else built in.

    Raises ProblemsFoundError with everything that is wrong in the file.
    """
    for each in (folder, *folder.parents):
        if (each / FILE).is_file():
            return _read(each / FILE)
    return _settings(None, {}, {})


def _read(file: Path) -> Settings:
    # Imported where there is a file: most runs have none.
    from checker.documents.reader import read_file

    document = read_file(file)
    problems = document.problems + validate(document, wanted_kind="settings")
    data: Any = document.data
    if isinstance(data, dict):
        problems += [
            document.problem(path, f"no file or folder '{name}'", f"a path from {file.parent}")
            for path, name in _named(data)
            if not (file.parent / name).exists()
        ]
    if problems:
        raise ProblemsFoundError(problems)
    origins = {name: _origin(document, name) for name in data if name in _BUILT_IN}
    return _settings(file, data, origins)


def _named(data: Mapping[str, Any]) -> list[tuple[tuple[str | int, ...], str]]:
    """Entries that can only be paths; an entry of `rules` may be an id as well."""
    listed = data.get("amendments")
    named: list[tuple[tuple[str | int, ...], Any]] = [(("profiles",), data.get("profiles"))]
    if isinstance(listed, list):
        named += [(("amendments", index), name) for index, name in enumerate(listed)]
    return [(path, name) for path, name in named if isinstance(name, str)]


def _origin(document: Document, name: str) -> str:
    return f"{document.file}:{document.value_mark((name,)).line}"


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
        units=stated["units"],
        near=parse(stated["near"], "ratio").value,
        stated=stated,
        origins=origins,
    )
