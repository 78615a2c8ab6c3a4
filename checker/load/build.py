"""From a profile file to a `Load`: reads, validates, follows references, makes tolerance rows."""

import itertools
from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np
from msgspec import Struct, field
from msgspec.structs import replace

from checker.documents.document import Document
from checker.documents.problems import DataPath, ProblemsFoundError
from checker.documents.schemas import definition
from checker.documents.validate import validate
from checker.load.convert import Converted, field_path, quantities, to_gear, to_load
from checker.load.gear_problems import gear_problems
from checker.load.model import Gear, Load
from checker.load.names import lost_names
from checker.load.plausible.reading import Doubt, doubts, refusals
from checker.load.references import Library, Merged, References, TakenFrom
from checker.units.arithmetic import Number
from checker.units.parsing import Quantity, parse

MOST_CORNERED = 10
"""With up to this many tolerances all their corners are rows: each one doubles the rows."""


def profile_root(file: Path) -> Path:
    """The folder that references start from: the nearest `profiles`, else the file's own."""
    for folder in file.resolve().parents:
        if folder.name == "profiles":
            return folder
    return file.resolve().parent


def shown_path(path: Path) -> str:
    """A path for messages: relative to the working directory if it is below that."""
    here = Path.cwd()
    full = path.absolute()
    return str(full.relative_to(here)) if full.is_relative_to(here) else str(path)


class Profile(Struct, frozen=True, dict=True):  # a dict, to cache computed values
    """A valid profile file with its references followed; makes loads with changed numbers."""

    merged: Merged
    file: Path
    rests_on: Mapping[Path, str] = field(default_factory=dict)
    """The text of every file it was read from, its own included, by absolute path."""
    read_as: Sequence[Path] = ()
    """The same files as they were found, by whatever links."""
    uses: frozenset[str] = frozenset()
    """The same files as references name them, but for those of the gear alone."""
    root: Path | None = None
    """The folder that was asked for as the one that references start from."""
    taken_from: Mapping[DataPath, TakenFrom] = field(default_factory=dict)
    """By path, the files that the trailer, the tow vehicle and articles are taken from."""

    @cached_property
    def figures(self) -> Mapping[DataPath, Quantity]:
        """Every number that the profile states."""
        stated = quantities(self.merged.data, definition("load"), ())
        return {path: parse(text, kind) for path, text, kind in stated}

    @cached_property
    def tolerances(self) -> Mapping[DataPath, tuple[float, float]]:
        """Value and half-width of every number stated with a tolerance."""
        return {
            path: (figure.value, figure.half_width)
            for path, figure in self.figures.items()
            if figure.half_width
        }

    @cached_property
    def doubts(self) -> tuple[Doubt, ...]:
        """Stated values that are possible and far outside the usual range."""
        return doubts(self.merged.data, self.merged.locations)

    @cached_property
    def gear(self) -> Gear | None:
        """What the crew carries; None where neither the load nor its carrier names any."""
        return to_gear(self.merged.gear) if self.merged.gear else None

    @cached_property
    def _converted(self) -> Converted:
        """What all its loads share."""
        return Converted()

    @cached_property
    def stated(self) -> Load:
        """The load as the file states it, each tolerance at its middle."""
        return self.load({})

    def replaced(self, texts: Mapping[DataPath, Any]) -> "Profile":
        """The profile with other text in some fields, or with added fields.

        What is added, with all that is in it, gets the location of what encloses it.
        """
        data = self.merged.data
        locations = dict(self.merged.locations)
        for path, text in texts.items():
            data = _with(data, path, text)
            for depth in range(len(path)):
                locations.setdefault(path[: depth + 1], locations[path[:depth]])
            for inside in _paths_below(text):
                locations.setdefault((*path, *inside), locations[path])
        return replace(self, merged=replace(self.merged, data=data, locations=locations))

    def load(
        self,
        values: Mapping[DataPath, Number] | None = None,
    ) -> Load:
        """The load with some fields given other values; tolerances count at their middle.

        Without values: one row as stated, then one for every corner of the tolerances. If there are
        too many tolerances for that, one row for each end of each tolerance.
        """
        if values is not None:
            return to_load(self.merged, self.file, values, self.uses, self.gear, self._converted)
        ends = len(self.tolerances)
        if not ends:
            return self.stated
        if ends <= MOST_CORNERED:
            return self.with_signs(list(itertools.product((-1.0, 1.0), repeat=ends)))
        return self.with_signs([*np.eye(ends), *-np.eye(ends)])

    def with_signs(self, signs: Sequence[Sequence[float] | np.ndarray]) -> Load:
        """The load as stated in its first row, then one row for each row of `signs`.

        `signs` holds -1, 0 or 1 for each tolerance, in the order of `tolerances`.
        """
        table = np.array(signs, dtype=float).reshape(len(signs), len(self.tolerances))
        return to_load(
            self.merged,
            self.file,
            {
                path: np.concatenate(([value], value + half * table[:, column]))
                for column, (path, (value, half)) in enumerate(self.tolerances.items())
            },
            self.uses,
            self.gear,
            self._converted,
        )


def _paths_below(value: Any) -> Iterator[DataPath]:
    """The path of every value inside a mapping or a list."""
    keys = value if isinstance(value, dict) else range(len(value) if isinstance(value, list) else 0)
    for key in keys:
        yield (key,)
        yield from ((key, *inside) for inside in _paths_below(value[key]))


def _with(data: Any, path: DataPath, text: Any) -> Any:
    """A copy of the data with another value at one path; the rest may be shared."""
    if not path:
        return text
    part, *rest = path
    changed = data.copy()
    inside = data.get(part, {}) if isinstance(data, dict) else data[part]
    changed[part] = _with(inside, tuple(rest), text)
    return changed


def read_profile(file: Path, root: Path | None = None, library: Library | None = None) -> Profile:
    """The profile of a file and everything it refers to; `library` saves reading files twice.

    Raises ProblemsFoundError with every problem of the file and of what it refers to.
    """
    library = library or Library()
    return profile_of(library.take(file, shown_path(file)), file, root, library)


def profile_of(
    document: Document, file: Path, root: Path | None = None, library: Library | None = None
) -> Profile:
    """The profile of a document that is to be, or is, the content of a file.

    Raises ProblemsFoundError with every problem of the document and of what it refers to.
    """
    problems = document.problems + validate(document, wanted_kind="load")
    if document.kind != "load":
        raise ProblemsFoundError(problems)
    references = References(root or profile_root(file), shown_path, library)
    merged = references.merged(document, "load")
    problems += merged.problems
    if merged.complete:
        problems += lost_names(merged) + refusals(merged.data, merged.locations)
        problems += gear_problems(merged.gear) if merged.gear else []
    if problems:
        raise ProblemsFoundError(problems)
    documents = {file: document, **references.read}
    full = {path: path.resolve() for path in documents}
    texts = {full[path]: each.text for path, each in documents.items()}
    used = documents.keys() - references.for_gear_alone
    uses = frozenset(filter(None, (references.name_of(full[path]) for path in used)))
    return Profile(merged, file, texts, tuple(documents), uses, root, references.taken_from)


def read_load(file: Path, root: Path | None = None) -> Load:
    """The load of one profile file; problems as in `read_profile`."""
    return read_profile(file, root).load()


__all__ = [
    "Library",
    "Profile",
    "field_path",
    "profile_root",
    "read_load",
    "read_profile",
    "shown_path",
]
