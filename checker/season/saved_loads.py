"""Load profiles and hauls of logs as chunks, each to be judged on one or more days."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path, PurePath

import numpy as np
from numpy.typing import NDArray

from checker.documents.escaping import escaped
from checker.documents.problems import ProblemsFoundError
from checker.load.build import Profile
from checker.season.checkpoint import Checkpoint, PartStore
from checker.season.chunk import Chunk, chunk_of_profile
from checker.season.loads import HaulsOfNone, Loads
from checker.season.logs.model import Refused
from checker.season.logs.opening import is_log, open_log
from checker.season.reading import read_part
from checker.season.table import Table
from checker.season.tasks import in_order, pattern_of, tasks

_BITS = 32
"""So many bits of a row's number count it in its file; those above tell the file."""
_LAST = (1 << _BITS) - 1


@dataclass(frozen=True, slots=True)
class RefusedLoad:
    """A load, a haul or a whole file that is not judged, and what is wrong with it."""

    name: str
    problems: Sequence[str]


class SavedLoads:
    """The loads and hauls in some files.

    A row has a number that also tells its file. Row 0 is the load profile that a file holds itself.
    """

    def __init__(self, files: Sequence[Path], loads: Loads, work: Checkpoint) -> None:
        """The hauls of logs are kept in the folder of `work`, not in memory."""
        self._files, self._loads, self._work = files, loads, work
        self._parts = PartStore()
        self._refused: dict[int, RefusedLoad] = {}

    @property
    def refused(self) -> list[RefusedLoad]:
        """What cannot be judged, in order; known once all chunks are taken."""
        return [each for _, each in sorted(self._refused.items(), key=lambda item: item[0])]

    def name(self, number: int) -> PurePath:
        """A load or haul as reports name it: its file, for a haul with its row."""
        file, row = str(self._files[number >> _BITS]), number & _LAST
        return PurePath(escaped(f"{file}:{row}" if row else file))

    def chunks(
        self, days_of: Callable[[Profile], Iterable[date]], days: Callable[[date], Sequence[date]]
    ) -> Iterator[Chunk]:
        """All loads and hauls that can be judged, once for each day on which they are to be.

        `days_of` gives the days of a load profile, `days` those of a haul on a day.
        """
        for index, file in enumerate(self._files):
            first = index << _BITS
            try:
                if is_log(file):
                    self._read_log(file, first)
                else:
                    profile = self._loads.profile(str(file))
                    if faults := self._loads.faults(profile):
                        raise ProblemsFoundError(faults)
                    yield from (chunk_of_profile(profile, first, on) for on in days_of(profile))
            except (ProblemsFoundError, FileNotFoundError) as found:
                # The hauls that stand before the place in a log are judged.
                problems = str(found).splitlines()
                self._refused[first + _LAST] = RefusedLoad(escaped(str(file)), problems)
        patterns = {name: pattern_of(self._loads.load(name)) for name in self._parts.loads}
        for task in tasks(self._parts, in_order(patterns)):
            for hauls in self._loads.by_shape(task):
                if isinstance(hauls, HaulsOfNone):
                    self._refuse(hauls.refused)
                    continue
                for chunk in hauls.grouping.chunks(*_on(days, hauls.table, hauls.load_of)):
                    if isinstance(chunk, Refused):
                        self._refuse([chunk])
                    else:
                        yield chunk

    def _read_log(self, file: Path, first: int) -> None:
        log = open_log(file)
        for part in log.parts:
            read = read_part(part, log.own)
            read.records["row"] += first
            self._refuse(replace(each, row=first + each.row) for each in read.refused)
            number = len(self._parts.parts)
            self._work.put_part(number, (number, 1), read)
            self._parts.put(str(file), *self._work.part(number))

    def _refuse(self, rows: Iterable[Refused]) -> None:
        for each in rows:
            name, file = str(self.name(each.row)), escaped(str(self._files[each.row >> _BITS]))
            # What is wrong with a file of one haul comes with its line and column.
            said = each.said if each.said.startswith(f"{file}:") else f"{name}: {each.said}"
            self._refused[each.row] = RefusedLoad(name, [said])


def _on(
    days: Callable[[date], Sequence[date]], table: Table, load_of: NDArray[np.intp]
) -> tuple[Table, NDArray[np.intp]]:
    """Hauls once for each of the days on which they are to be judged."""
    own, codes = np.unique(table.days, return_inverse=True)
    wanted = [[day.toordinal() for day in days(date.fromordinal(each))] for each in own.tolist()]
    times = np.array([len(each) for each in wanted])[codes]
    rows = np.repeat(np.arange(len(table.rows)), times)
    on = np.array([day for code in codes.tolist() for day in wanted[code]], dtype=np.int64)
    return replace(table.of(rows), days=on), load_of[rows]
