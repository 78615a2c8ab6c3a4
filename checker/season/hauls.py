"""Hauls of a log as whole profiles: which load, on which day, and what differed from it."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import date
from operator import attrgetter
from pathlib import Path

from checker.documents.problems import DataPath, ProblemsFoundError
from checker.load.build import Library, Profile, read_profile
from checker.load.names import lost_names
from checker.load.order import order_problems
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
    log: Path, found: Callable[[str], Path], own: OwnWords | None = None
) -> Iterator[Haul | Refused]:
    """Each row as a haul or with the reason why not: read rows and refused ones add up.

    `found` finds the file of a load as the log names it; `own` says how an officer's log is
    written. Raises ProblemsFoundError where the file as a whole cannot be read.
    """
    loads = _Loads(found)
    for batch in settled(open_log(log, own)):
        hauls = _hauls(log, batch, loads)
        yield from sorted([*hauls, *batch.refused], key=attrgetter("row"))


class _Loads:
    """The load profiles of a log, each read once, or why it cannot be."""

    def __init__(self, found: Callable[[str], Path]) -> None:
        self.found = found
        self.known: dict[str, Profile | str] = {}
        self.library = Library()

    def profile(self, name: str) -> Profile | str:
        """The profile, or the first thing that is wrong with it."""
        if name not in self.known:
            try:
                self.known[name] = read_profile(self.found(name), library=self.library)
            except (FileNotFoundError, ProblemsFoundError) as error:
                self.known[name] = str(error).splitlines()[0]
        return self.known[name]


def _hauls(log: Path, batch: Batch, loads: _Loads) -> Iterator[Haul | Refused]:
    fields = [column for column in batch.columns if column.role not in OF_THE_HAUL]
    days = zip(batch.numbers, batch.cells["load"], batch.cells["date"], strict=True)
    for index, (number, name, day) in enumerate(days):
        assert isinstance(day, date)  # as every batch promises
        profile = loads.profile(str(name))
        if isinstance(profile, str):
            yield Refused(number, profile)
            continue
        cells = {column: batch.cells[column.field][index] for column in fields}
        changed = _changed(profile, cells)
        if isinstance(changed, str):
            yield Refused(number, changed)
        else:
            yield Haul(number, replace(changed, file=Path(f"{log}:{number}")), day)


def _changed(profile: Profile, cells: dict[Column, Cell]) -> Profile | str:
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
    # Not whether axle weights add to the weight: a log may well tell one of them only.
    between = lost_names(changed.merged) + order_problems(changed.merged)
    return "; ".join(problem.words for problem in between) or changed
