"""Load profiles and hauls of logs as chunks, each to be checked for one or more days."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import partial
from pathlib import Path, PurePath
from typing import TYPE_CHECKING

import numpy as np

from checker.documents.escaping import escaped
from checker.documents.problems import ProblemsFoundError
from checker.load.build import Profile
from checker.logs.model import LogMapping, Refused
from checker.logs.opening import is_log, open_log
from checker.logs.remarks import Remarks
from checker.season.hauls.chunk import Chunk, chunk_of_profile
from checker.season.hauls.loads import LoadOf, Loads
from checker.season.hauls.reading import read_part
from checker.season.hauls.table import Table
from checker.season.running.part_store import PartStore
from checker.season.running.tasks import group_by_pattern, pattern_of, tasks

if TYPE_CHECKING:
    from numpy.typing import NDArray

_BITS = 32
"""Low bits of a row number that hold the row in its file; the bits above hold the file."""
_LAST = (1 << _BITS) - 1


@dataclass(frozen=True, slots=True)
class RefusedLoad:
    """A load, haul or whole file that cannot be checked, and its problems."""

    name: str
    problems: Sequence[str]


class SavedLoads:
    """The load profiles and hauls in some files.

    A row number also identifies the file. Row 0 of a file is the load profile in it.
    """

    def __init__(
        self,
        files: Sequence[Path],
        loads: Loads,
        parts: PartStore,
        mapping: LogMapping | None = None,
    ) -> None:
        """Store the hauls of logs, read by a mapping, in `parts`, not in memory."""
        self._files, self._loads, self._parts, self._mapping = files, loads, parts, mapping
        self._refused: dict[int, RefusedLoad] = {}
        self._own_days: list[tuple[NDArray[np.int64], NDArray[np.int64]]] = []
        """Rows and own days of the hauls read."""

    @property
    def refused(self) -> list[RefusedLoad]:
        """Everything that cannot be checked, in order; complete after all chunks are read."""
        return [each for _, each in sorted(self._refused.items(), key=lambda item: item[0])]

    def name(self, number: int) -> PurePath:
        """The name of a load or haul in reports: its file, for a haul with its row."""
        file, row = str(self._files[number >> _BITS]), number & _LAST
        return PurePath(escaped(f"{file}:{row}" if row else file))

    def own_days(self, rows: "NDArray[np.int64]") -> "NDArray[np.int64]":
        """The days of some loads or hauls, as ordinals; known once their chunks are read."""
        known, days = map(np.concatenate, zip(*self._own_days, strict=True))
        order = np.argsort(known)
        found: NDArray[np.int64] = days[order][np.searchsorted(known[order], rows)]
        return found

    def chunks(
        self, own_day_of: Callable[[Profile], date], days: Callable[[date], Sequence[date]]
    ) -> Iterator[Chunk]:
        """All loads and hauls that can be checked, once for each day to check.

        `own_day_of` returns the day of a load profile, `days` the days to check by the own day.
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
                    own = own_day_of(profile)
                    self._own_days.append((np.array([first]), np.array([own.toordinal()])))
                    yield from (chunk_of_profile(profile, first, on) for on in days(own))
            except (ProblemsFoundError, FileNotFoundError) as found:
                # Hauls before the problem in a log are still checked.
                problems = str(found).splitlines()
                self._refused[first + _LAST] = RefusedLoad(escaped(str(file)), problems)
        patterns = {name: pattern_of(self._loads.load(name)) for name in self._parts.ranges}
        for task in tasks(self._parts, group_by_pattern(patterns)):
            for chunk in self._loads.chunks(task, partial(self._repeat_for_days, days)):
                if isinstance(chunk, Refused):
                    self._refuse([chunk])
                else:
                    yield chunk

    def _read_log(self, file: Path, first: int) -> None:
        log = open_log(file, self._mapping)
        remarks, before = Remarks(), self._parts.number
        for part in log.parts:
            read = read_part(part, log.mapping)
            remarks.merge(read.remarks)
            read.hauls.records["row"] += first
            self._refuse(replace(each, row=first + each.row) for each in read.refused)
            self._parts.put(str(file), read)
        try:
            remarks.refuse_contradicted(log.file)
        except ProblemsFoundError:
            # Its days or figures may all have been misread.
            self._parts.drop_from(before)
            raise

    def _refuse(self, rows: Iterable[Refused]) -> None:
        for each in rows:
            name, file = str(self.name(each.row)), escaped(str(self._files[each.row >> _BITS]))
            # The problem of a file with one haul already has its line and column.
            problem = (
                each.reason if each.reason.startswith(f"{file}:") else f"{name}: {each.reason}"
            )
            self._refused[each.row] = RefusedLoad(name, [problem])

    def _repeat_for_days(
        self, days: Callable[[date], Sequence[date]], table: Table, load_of: LoadOf
    ) -> tuple[Table, LoadOf]:
        """The hauls, each repeated for every day to check it for."""
        own_days = table.days
        self._own_days.append((table.rows, own_days))
        own, codes = np.unique(own_days, return_inverse=True)
        days_by_own_day = [
            [day.toordinal() for day in days(date.fromordinal(each))] for each in own.tolist()
        ]
        times = np.array([len(each) for each in days_by_own_day])[codes]
        rows = np.repeat(np.arange(len(table)), times)
        repeated = table.take(rows)
        repeated.records["day"] = [day for code in codes.tolist() for day in days_by_own_day[code]]
        return repeated, load_of[rows]
