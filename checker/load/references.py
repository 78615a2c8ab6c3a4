"""Follow a profile's references and lay its own fields over what they bring in.

`trailer: trailers/flat-tandem-16` takes a whole file; `from: trailers/flat-tandem-16` beside
other fields takes the file and lets those fields win. References stay inside the profile root.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from checker.documents.problems import DataPath, Mark, Problem, nearest
from checker.documents.reader import Data, Document, read_file
from checker.documents.validate import validate

MOST_REFERENCES_DEEP = 8


@dataclass(frozen=True, slots=True)
class Merged:
    """Plain data after all references, with the file and place each value came from."""

    data: dict[str, Data]
    places: dict[DataPath, tuple[str, Mark]]
    problems: list[Problem] = field(default_factory=list)


def _child_kind(kind: str, path: DataPath) -> str | None:
    """The kind of file a reference at this path of a document of `kind` must be."""
    if kind != "load":
        return None
    match path:
        case ("trailer",):
            return "trailer"
        case ("tow_vehicle",):
            return "tow-vehicle"
        case ("carrier",):
            return "carrier"
        case ("articles", int()):
            return "machine"
        case ("tiedowns", int()):
            return "tiedown"
    return None


class References:
    """Reads each referenced file once and remembers its problems."""

    def __init__(self, root: Path, show: Callable[[Path], str]) -> None:
        self.root = root.resolve()
        self.show = show
        self.read: dict[Path, Document] = {}
        self.problems: list[Problem] = []

    def merged(self, document: Document, kind: str) -> Merged:
        """The document with every reference in it followed."""
        places = {path: (document.file, mark) for path, mark in document.values.items()}
        data = document.data if isinstance(document.data, dict) else {}
        value, found = self._expand(data, (), kind, document, places, ())
        assert isinstance(value, dict)
        return Merged(value, found, self.problems)

    def _expand(
        self,
        value: Data,
        path: DataPath,
        kind: str,
        document: Document,
        places: dict[DataPath, tuple[str, Mark]],
        trail: tuple[Path, ...],
    ) -> tuple[Data, dict[DataPath, tuple[str, Mark]]]:
        """One value with its references followed, and places relative to that value."""
        inner = _child_kind(kind, path)
        if inner and isinstance(value, str):
            return self._fetch(value, inner, document, path, trail)
        here: dict[DataPath, tuple[str, Mark]] = {}
        if path in places:
            here[()] = places[path]
        if isinstance(value, list):
            items: list[Data] = []
            for index, item in enumerate(value):
                done, found = self._expand(item, (*path, index), kind, document, places, trail)
                items.append(done)
                here |= {(index, *rest): place for rest, place in found.items()}
            return items, here
        if not isinstance(value, dict):
            return value, here
        own: dict[str, Data] = {}
        for key, item in value.items():
            done, found = self._expand(item, (*path, key), kind, document, places, trail)
            own[key] = done
            here |= {(key, *rest): place for rest, place in found.items()}
        reference = value.get("from")
        wanted = inner or (kind if not path else None)
        if isinstance(reference, str) and wanted:
            base, base_places = self._fetch(reference, wanted, document, (*path, "from"), trail)
            return _laid_over(base, base_places, own, here)
        return own, here

    def _fetch(
        self,
        reference: str,
        kind: str,
        document: Document,
        path: DataPath,
        trail: tuple[Path, ...],
    ) -> tuple[Data, dict[DataPath, tuple[str, Mark]]]:
        """The data of a referenced file; an empty mapping and a problem where there is none."""
        target = self.root / f"{reference}.yaml"
        fault = self._fault(target, reference, trail)
        if fault:
            self.problems.append(document.problem(path, f"'{reference}'", *fault))
            return {}, {}
        if target not in self.read:
            self.read[target] = read_file(target, self.show(target))
            self.problems += self.read[target].problems
            self.problems += validate(self.read[target], wanted_kind=kind)
        found = self.read[target]
        if not isinstance(found.data, dict) or found.data.get("kind") != kind:
            if not found.problems and isinstance(found.data, dict):
                said = f"'{reference}', a file of kind '{found.data.get('kind')}'"
                self.problems.append(document.problem(path, said, f"a file of kind '{kind}'"))
            return {}, {}
        places = {at: (found.file, mark) for at, mark in found.values.items()}
        return self._expand(found.data, (), kind, found, places, (*trail, target))

    def _fault(
        self, target: Path, reference: str, trail: tuple[Path, ...]
    ) -> tuple[str, str | None] | None:
        """Why a reference cannot be followed: what is wanted, and a near name."""
        if not target.resolve().is_relative_to(self.root):
            return "a file inside the profile root", None
        if target in trail:
            return "a reference that does not lead back to itself", None
        if len(trail) >= MOST_REFERENCES_DEEP:
            return f"at most {MOST_REFERENCES_DEEP} references one behind the other", None
        if not target.is_file():
            there = (
                [f"{Path(reference).parent}/{near.stem}" for near in target.parent.glob("*.yaml")]
                if target.parent.is_dir()
                else []
            )
            guess = nearest(reference, there)
            return f"a file {reference}.yaml under {self.show(self.root)}", guess and f"'{guess}'"
        return None


def _laid_over(
    base: Data,
    base_places: dict[DataPath, tuple[str, Mark]],
    own: Data,
    own_places: dict[DataPath, tuple[str, Mark]],
) -> tuple[Data, dict[DataPath, tuple[str, Mark]]]:
    """Mappings merge key by key and the nearer file wins; anything else is replaced whole."""
    if not (isinstance(base, dict) and isinstance(own, dict)):
        return own, own_places
    data: dict[str, Data] = dict(base)
    places = dict(base_places)
    for key, value in own.items():
        below = _below(base_places, key)
        if key in base:
            value, inner = _laid_over(base[key], below, value, _below(own_places, key))
            for rest in below:
                del places[(key, *rest)]
        else:
            inner = _below(own_places, key)
        data[key] = value
        places |= {(key, *rest): place for rest, place in inner.items()}
    if () in own_places:
        places[()] = own_places[()]
    return data, places


def _below(places: dict[DataPath, tuple[str, Mark]], key: str) -> dict[DataPath, tuple[str, Mark]]:
    return {path[1:]: place for path, place in places.items() if path[:1] == (key,)}
