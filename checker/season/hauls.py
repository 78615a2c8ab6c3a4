"""Hauls of a log as whole profiles: which load, on which day, and what differed from it."""

from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from operator import attrgetter
from pathlib import Path

from msgspec.structs import replace

from checker.documents.escaping import escaped
from checker.documents.problems import DataPath, Mark, ProblemsFoundError
from checker.load.build import Library, Profile, read_profile
from checker.load.names import lost_names
from checker.load.plausible.reading import refusals
from checker.load.references import Places
from checker.season.logs.cells import CellError, stated
from checker.season.logs.columns import data_path, reaches
from checker.season.logs.model import OF_THE_HAUL, Batch, Cell, Column, OwnWords, Refused
from checker.season.logs.opening import open_log
from checker.season.logs.settling import settled

__all__ = ["Haul", "Refused", "read_hauls"]


@dataclass(frozen=True, slots=True)
class Haul:
    """A load profile with what differed that day; `row` is where it stands in the log."""

    row: int
    profile: Profile
    on: date


def read_hauls(
    log: Path,
    found: Callable[[str], Path],
    own: OwnWords | None = None,
    *,
    root: Path | None = None,
    wanted: Collection[int] | None = None,
) -> Iterator[Haul | Refused]:
    """Each row as a haul or with the reason why not: read rows and refused ones add up.

    `found` finds the file of a load as the log names it, whose references start from `root`; `own`
    says how an officer's log is written. With `wanted` only these rows are built and given out.
    Raises ProblemsFoundError where the file as a whole cannot be read.
    """
    loads = _Loads(found, root)
    for batch in settled(open_log(log, own)):
        hauls = _hauls(log, batch, loads, wanted)
        refused = [each for each in batch.refused if wanted is None or each.row in wanted]
        yield from sorted([*hauls, *refused], key=attrgetter("row"))


class _Loads:
    """The load profiles of a log, each read once, or why it cannot be."""

    def __init__(self, found: Callable[[str], Path], root: Path | None) -> None:
        self.found = found
        self.root = root
        self.known: dict[str, Profile | str] = {}
        self.library = Library()

    def profile(self, name: str) -> Profile | str:
        """The profile, or the first thing that is wrong with it."""
        if name not in self.known:
            try:
                self.known[name] = read_profile(self.found(name), self.root, self.library)
            except (FileNotFoundError, ProblemsFoundError) as error:
                self.known[name] = str(error).splitlines()[0]
        return self.known[name]


def _hauls(
    log: Path, batch: Batch, loads: _Loads, wanted: Collection[int] | None
) -> Iterator[Haul | Refused]:
    fields = [column for column in batch.columns if column.role not in OF_THE_HAUL]
    days = zip(batch.numbers, batch.cells["load"], batch.cells["date"], strict=True)
    for index, (number, name, day) in enumerate(days):
        assert isinstance(day, date)  # as every batch promises
        if wanted is not None and number not in wanted:
            continue
        profile = loads.profile(str(name))
        if isinstance(profile, str):
            yield Refused(number, profile)
            continue
        cells = {column: batch.cells[column.field][index] for column in fields}
        changed = _changed(profile, cells, (escaped(str(log)), Mark(number, 1)))
        if isinstance(changed, str):
            yield Refused(number, changed)
        else:
            yield Haul(number, replace(changed, file=Path(f"{log}:{number}")), day)


def _changed(profile: Profile, cells: dict[Column, Cell], row: tuple[str, Mark]) -> Profile | str:
    """The profile with the cells that are not blank laid over it, or why that cannot be."""
    texts: dict[DataPath, object] = {}
    faults = []
    for column, cell in cells.items():
        if cell is None:
            continue
        if not reaches(column.field, profile.merged.data):
            said = "found a column that leads nowhere in this load; wanted one of its fields"
            faults.append(f"{column.field}: {said}")
            continue
        try:
            texts[data_path(column.field)] = stated(column, cell)
        except CellError as error:
            faults.append(f"{column.field}: {error}")
    if faults or not texts:
        return "; ".join(faults) or profile
    changed = profile.replaced(texts)
    places = {**changed.merged.places, **_in_row(texts, row)}
    changed = replace(changed, merged=replace(changed.merged, places=places))
    merged = changed.merged
    between = lost_names(merged) + refusals(merged.data, merged.places, of_haul=True)
    return "; ".join(problem.words for problem in between) or changed


def _in_row(texts: Mapping[DataPath, object], row: tuple[str, Mark]) -> Places:
    """What a row states stands there, not where the profile states what it took the place of."""
    places: Places = {}
    for path, text in texts.items():
        inside = [(*path, index) for index in range(len(text) if isinstance(text, list) else 0)]
        places |= dict.fromkeys((path, *inside), row)
    return places
