"""Follows a profile's references and merges its own fields over the referenced files.

`trailer: trailers/flat-tandem-16` takes a whole file; `from: trailers/flat-tandem-16` beside other
fields takes the file, and those fields win. References stay inside the profile root.
"""

import re
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, TypeAlias

from msgspec import Struct, field
from msgspec.structs import replace

from checker.documents.document import MOST_NODES, Data, Document
from checker.documents.document_cache import DocumentCache
from checker.documents.folders import is_yaml
from checker.documents.problems import (
    MOST_OF_A_FILE,
    DataPath,
    Mark,
    Problem,
    ProblemsFoundError,
    nearest,
    quoted,
)
from checker.documents.schemas import definition, families
from checker.documents.validate import validate
from checker.load.model.load import LogRow

MOST_REFERENCES_DEEP = 8

Locations: TypeAlias = dict[DataPath, tuple[str, Mark]]
"""The file and position of each value of merged data."""


def location_of(path: DataPath, locations: Locations) -> tuple[str, Mark]:
    """The file and position of a value, or of the nearest enclosing one that has them."""
    while path not in locations:
        path = path[:-1]
    return locations[path]


class Merged(Struct, frozen=True):
    """Plain data after all references, with the location of each value.

    It is incomplete when a reference could not be followed.
    """

    data: dict[str, Data]
    locations: Locations
    problems: list[Problem] = field(default_factory=list)
    complete: bool = True
    remarks: Mapping[DataPath, str] = {}
    """What to say of a value that stands otherwise at its place, such as how it was scaled."""
    gear: "Merged | None" = None
    """What the crew carries, by paths of its own; `data` has none of it, as no rule reads it."""
    sections: Locations = {}
    """The document's own position, that of each of its keys and of each entry of its lists."""
    log_row: LogRow | None = None
    """The row of a haul log that states a part of it."""


class TakenFrom(Struct, frozen=True):
    """The file that a part of a load is taken from, and its title and id there, else empty."""

    file: Path
    title: str
    id: str


_IN_A_LOAD: Mapping[str, DataPath] = {"load": (), "carrier": ("carrier",), "gear": ("gear",)}
"""The kinds of file that have references inside, and where a load holds their data."""


def _kind_wanted(kind: str, path: DataPath) -> str | None:
    """The kind of file that a reference at this path of a document of `kind` must name."""
    if kind not in _IN_A_LOAD:
        return None if path else kind
    match (*_IN_A_LOAD[kind], *path):
        case ("trailer",):
            return "trailer"
        case ("tow_vehicle",):
            return "tow-vehicle"
        case ("carrier",):
            return "carrier"
        case ("gear",) | ("carrier", "gear"):
            return "gear"
        case ("articles", int()):
            return "machine"
        case ("tiedowns", int()) | (*_, "gear", "tiedowns", int()):
            return "tiedown"
    return None


class Library:
    """Documents that loads refer to; each file is read once, however many loads refer to it."""

    def __init__(self, cache: DocumentCache | None = None) -> None:
        """Files in the cache `cache` are not parsed again."""
        self._cache = cache or DocumentCache(None)
        self._read_ahead: dict[tuple[Path, str], Document] = {}
        self._known: dict[tuple[Path, str, str], tuple[Document, list[Problem]]] = {}

    def read_ahead(self, file: Path, shown: str) -> Document:
        """A file as it is now, kept until `take` asks for it."""
        document = self._cache.read_file(file, shown)
        self._read_ahead[file, shown] = document
        return document

    def take(self, file: Path, shown: str) -> Document:
        """The file that `read_ahead` kept, else as it is now; no longer kept after that."""
        document = self._read_ahead.pop((file, shown), None)
        return document or self._cache.read_file(file, shown)

    def read(self, file: Path, shown: str, kind: str) -> tuple[Document, list[Problem]]:
        """A file validated against the schema of its own kind, or of `kind` if it has none."""
        key = (file, shown, kind)
        if key not in self._known:
            document = self.take(file, shown)
            known = document.kind in families()
            problems = validate(document, wanted_kind=None if known else kind)
            self._known[key] = document, document.problems + problems
        return self._known[key]


class References:
    """Follows the references of one document and collects their problems."""

    def __init__(
        self, root: Path, show: Callable[[Path], str], library: Library | None = None
    ) -> None:
        """With a library, files that other documents refer to as well are not read again."""
        self.root = root.resolve()
        self.show = show
        self.library = library or Library()
        self.read: dict[Path, Document] = {}
        self.taken_from: dict[DataPath, TakenFrom] = {}
        """By path in the load, the file that a part of it was taken from."""
        self.for_gear_alone: set[Path] = set()
        """Files read for what the crew carries, and for nothing that is on the load."""
        self._in_gear = False
        self.problems: list[Problem] = []
        self.complete = True
        self.nodes = 0

    def name_of(self, full: Path) -> str | None:
        """The name by which references from the profile root mean a file; None for other files.

        `full` is its resolved path.
        """
        if not full.is_relative_to(self.root):
            return None
        return full.relative_to(self.root).with_suffix("").as_posix()

    def merged(self, document: Document, kind: str) -> Merged:
        """The document with every reference in it followed."""
        locations: Locations = {}
        data = document.data if isinstance(document.data, dict) else {}
        value = self._expand(data, (), kind, document, (), (), locations)
        assert isinstance(value, dict)
        sections = {
            path: (document.file, mark)
            for path, mark in document.values.items()
            if len(path) < 2 or (len(path) == 2 and isinstance(path[1], int))
        }
        whole = Merged(value, locations, self.problems, self.complete, sections=sections)
        return _with_gear_apart(whole) if kind == "load" else whole

    def _expand(
        self,
        value: Data,
        path: DataPath,
        kind: str,
        document: Document,
        trail: tuple[Path, ...],
        at: DataPath,
        locations: Locations,
    ) -> Data:
        """The value at a path of a document, with its references followed.

        Its location, and those of all below it, are added to `locations`, from the path `at` on.
        """
        wanted = _kind_wanted(kind, path)
        if wanted == "gear" and not self._in_gear:
            self._in_gear = True
            found = self._expand(value, path, kind, document, trail, at, locations)
            self._in_gear = False
            return found
        if wanted and isinstance(value, str):
            return self._fetch(value, wanted, document, path, trail, at, locations)
        reference = value.get("from") if isinstance(value, dict) else None
        if not (wanted and isinstance(reference, str)):
            return self._inside(value, path, kind, document, trail, at, locations)
        here: Locations = {}
        own = self._inside(value, path, kind, document, trail, at, here)
        base = self._fetch(reference, wanted, document, (*path, "from"), trail, at, locations)
        if kind != "load" and isinstance(base, dict):
            # A file that takes its figures from another one describes another thing.
            base = {key: each for key, each in base.items() if key != "id"}
        # Positions below a replaced list remain; nothing uses them.
        locations.update(here)
        return _merge(base, own, value)

    def _inside(
        self,
        value: Data,
        path: DataPath,
        kind: str,
        document: Document,
        trail: tuple[Path, ...],
        at: DataPath,
        locations: Locations,
    ) -> Data:
        """One value with the references inside it followed, as `_expand`."""
        if kind not in _IN_A_LOAD:
            # Files of the other kinds have none: all loads can share their data.
            locations.update(
                {at + below: (document.file, mark) for below, mark in document.values.items()}
            )
            return value
        if path in document.values:
            locations[at] = document.file, document.values[path]
        if not isinstance(value, list | dict):
            return value
        own: Data = value.copy()
        inside: Any = own
        for key, item in enumerate(value) if isinstance(value, list) else value.items():
            inside[key] = self._expand(
                item, (*path, key), kind, document, trail, (*at, key), locations
            )
        return own

    def _fetch(
        self,
        reference: str,
        kind: str,
        document: Document,
        path: DataPath,
        trail: tuple[Path, ...],
        at: DataPath,
        locations: Locations,
    ) -> Data:
        """The data of a referenced file; an empty mapping and a problem if there is none."""
        if not re.fullmatch(definition("reference")["pattern"], reference):
            # The schema has reported it already.
            return self._nothing()
        target = self.root / f"{reference}.yaml"
        fault = self._fault(target, reference, trail)
        if fault:
            return self._nothing(document.problem(path, quoted(reference), *fault))
        found = self._read(target, kind)
        if found.kind != kind:
            if found.kind not in families():
                return self._nothing()
            found_words = f"{quoted(reference)}, a file of kind '{found.kind}'"
            return self._nothing(document.problem(path, found_words, f"a file of kind '{kind}'"))
        self.nodes += len(found.values)
        if self.nodes > MOST_NODES:
            wanted = f"at most {MOST_NODES:,} values in all files it brings in"
            raise ProblemsFoundError([document.problem(path, "a very large load", wanted)])
        data = self._expand(found.data, (), kind, found, (*trail, target), at, locations)
        if not trail and isinstance(data, dict):
            self.taken_from[path[:-1] if path[-1] == "from" else path] = TakenFrom(
                target, str(data.get("title", "")), str(data.get("id", ""))
            )
        return data

    def _nothing(self, *problems: Problem) -> Data:
        self.problems += problems
        self.complete = False
        return {}

    def _read(self, target: Path, kind: str) -> Document:
        """A file validated against the schema of its own kind, or of `kind` if it has none."""
        if target not in self.read:
            self.read[target], problems = self.library.read(target, self.show(target), kind)
            self.problems += problems
            self.for_gear_alone.add(target)
        if not self._in_gear:
            self.for_gear_alone.discard(target)
        return self.read[target]

    def _fault(
        self, target: Path, reference: str, trail: tuple[Path, ...]
    ) -> tuple[str, str | None] | None:
        """Why a reference cannot be followed: what is wanted, and a near name."""
        if target in trail:
            return "a reference that does not lead back to itself", None
        if len(trail) >= MOST_REFERENCES_DEEP:
            return f"at most {MOST_REFERENCES_DEEP} references one behind the other", None
        if target in self.read:
            return None
        if not _is_file(target):
            wanted = f"a file {reference}.yaml under {self.show(self.root)}"
            if len(self.problems) >= MOST_OF_A_FILE:  # the search is the slowest part
                return wanted, None
            files = [path for path in target.parent.glob("*") if is_yaml(path) and _is_file(path)]
            # A reference never means a file with another suffix, or with .YAML in capitals.
            if named := next((path.name for path in files if path.stem == target.stem), None):
                return f"{wanted}; there is {quoted(named)}, which wants that name", None
            guess = nearest(target.stem, [path.stem for path in files if path.suffix == ".yaml"])
            return wanted, guess and quoted(Path(reference).with_name(guess).as_posix())
        if not target.resolve().is_relative_to(self.root):
            return "a file inside the profile root", None
        return None


def _is_file(path: Path) -> bool:
    try:
        return path.is_file()
    except OSError:  # a name too long, or a folder without permission
        return False


def _merge(base: Data, own: Data, written: Data) -> Data:
    """Both values merged: mappings key by key, where `own` wins; other values are replaced.

    `written` is `own` before its references were followed. What a reference inside it brings in
    replaces the value.
    """
    if not (isinstance(base, dict) and isinstance(own, dict)):
        return own
    inside: Any = written
    return base | {
        key: value if _refers(inside[key]) else _merge(base.get(key), value, inside[key])
        for key, value in own.items()
    }


def _refers(written: Data) -> bool:
    """True for a text, which may name a file, and for a mapping with `from`."""
    named = written.get("from") if isinstance(written, dict) else written
    return isinstance(named, str)


def _with_gear_apart(whole: Merged) -> Merged:
    """A load with the gear taken out of its data: its own, else that of its carrier."""
    data = dict(whole.data)
    carrier = data.get("carrier")
    found: dict[DataPath, Data] = {}
    if "gear" in data:
        found["gear",] = data.pop("gear")
    if isinstance(carrier, dict) and "gear" in carrier:
        data["carrier"] = carrier = dict(carrier)
        found["carrier", "gear"] = carrier.pop("gear")
    if not found:
        return whole
    (start, gear), *_ = found.items()
    size = len(start)
    below = {path[size:]: at for path, at in whole.locations.items() if path[:size] == start}
    outside = {
        path: at
        for path, at in whole.locations.items()
        if path[:1] not in found and path[:2] not in found
    }
    apart = Merged(gear, below, complete=whole.complete) if isinstance(gear, dict) else None
    return replace(whole, data=data, locations=outside, gear=apart)
