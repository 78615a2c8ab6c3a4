"""Chunks: hauls that are evaluated together, as one load with one row for each haul."""

import itertools
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from types import MappingProxyType
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from checker.documents.problems import DataPath
from checker.evaluation.tolerances import load_with_corners
from checker.evaluation.variances import Hauls
from checker.load.build import MOST_CORNERED, Profile
from checker.load.model import Load
from checker.logs.decode import Figures
from checker.rulebooks.model import Rulebooks
from checker.season.hauls.identity import KINDS, Things, things_of
from checker.units.arithmetic import Number

_ROWS_AT_ONCE = 2_048
"""Most rows evaluated at once: hauls times the corners of their tolerances."""


class Labels(NamedTuple):
    """What the hauls of a load are counted by: keys, see `identity.py`, and their titles."""

    load: str
    written: str
    """The name of the load in the log."""
    title: str
    """Title of the load; empty if the profile states none."""
    trailer: str
    machines: tuple[str, ...]
    tow_vehicle: str
    uses: frozenset[str]
    """Its files, see `Load.uses`."""
    titles: Mapping[str, Mapping[str, str]]
    """By kind of `identity.KINDS` and key; absent where none is stated."""
    files: Mapping[str, Mapping[str, str]]
    """By kind and id, the file that the figures of what states an id are taken from, if any."""


def labels_of(
    load: str,
    written: str,
    title: str,
    things: Things,
    uses: frozenset[str],
    words: Mapping[DataPath, Any] = MappingProxyType({}),
) -> Labels:
    """The labels of hauls of a load that state `words` in place of its profile's."""
    found = {kind: things.of_kind(kind, words) for kind in KINDS}
    return Labels(
        load=load,
        written=written,
        title=title,
        trailer=found["trailer"][0].key,
        machines=tuple(each.key for each in found["machine"]),
        tow_vehicle=found["tow vehicle"][0].key,
        uses=uses,
        titles={
            kind: {each.key: each.title for each in several if each.title}
            for kind, several in found.items()
        },
        files={
            kind: {each.key: each.file for each in several if each.file and each.key != each.file}
            for kind, several in found.items()
        },
    )


@dataclass(frozen=True, slots=True)
class Chunk:
    """Hauls that differ only in numbers: same rules in force, same words in their loads.

    Their loads are one load or several loads of the same shape.
    """

    profile: Profile
    """One of the load profiles, with the words that all hauls state in place of its own.

    A field in `columns` has the text of an arbitrary row here.
    """
    loads: Sequence[Labels]
    """Of each load, and of each trailer, tow vehicle and machine that hauls name in its place."""
    load_of: NDArray[np.intp]
    """Index into `loads` of each haul."""
    on: date
    """A day on which the same rules are in force as on the days of all hauls."""
    rows: NDArray[np.int64]
    """Row number of each haul in the log."""
    days: NDArray[np.int64]
    """Days since 0001-01-01, as `date.toordinal` counts."""
    crews: Sequence[str]
    crew_of: NDArray[np.intp]
    """Index into `crews` of each haul's crew; the name is empty if the log states none."""
    columns: Mapping[DataPath, Figures]
    """The figures in which the hauls or their loads differ, one row for each haul."""
    doubtful: Mapping[str, NDArray[np.bool_]] = field(default_factory=dict)
    """By name of the doubtful figure, True for hauls that have it."""
    doubt_words: Mapping[str, Mapping[int, str]] = field(default_factory=dict)
    """By name of the doubtful figure, what its first rows of the log state."""
    departs: Mapping[str, NDArray[np.bool_]] = field(default_factory=dict)
    """By field, True for hauls whose row states something else than the load profile."""
    saved: "Chunk | None" = None
    """The load profiles themselves, a row for each; None where the chunk is of them."""
    saved_of: NDArray[np.intp] = field(default_factory=lambda: np.zeros(1, dtype=np.intp))
    """Index into the rows of `saved` of each of `loads`."""

    def take(self, rows: slice | NDArray[np.intp]) -> "Chunk":
        """The chunk with only the given hauls."""
        present, load_of = np.unique(self.load_of[rows], return_inverse=True)
        return replace(
            self,
            loads=[self.loads[index] for index in present.tolist()],
            load_of=load_of,
            rows=self.rows[rows],
            days=self.days[rows],
            crew_of=self.crew_of[rows],
            columns={path: column.take(rows) for path, column in self.columns.items()},
            doubtful={name: hauls[rows] for name, hauls in self.doubtful.items()},
            departs={name: hauls[rows] for name, hauls in self.departs.items()},
            saved_of=self.saved_of[present] if self.saved else self.saved_of,
        )

    def slices(self) -> "Iterator[Chunk]":
        """The chunk in slices small enough to evaluate at once."""
        at_once = max(_ROWS_AT_ONCE // self.corners, 1)
        for first in range(0, self.hauls, at_once):
            yield self.take(slice(first, first + at_once))

    @property
    def hauled(self) -> Hauls:
        """When and by whom each load was hauled."""
        uses = [each.uses for each in self.loads]
        return Hauls(self.days, uses, self.load_of, self.crews, self.crew_of)

    @property
    def hauls(self) -> int:
        """Number of hauls."""
        return len(self.rows)

    @property
    def _tolerances(self) -> Mapping[DataPath, tuple[Number, Number]]:
        """Value and half-width of every figure with a tolerance; one number, or one a haul."""
        stated: dict[DataPath, tuple[Number, Number]] = {
            path: figure
            for path, figure in self.profile.tolerances.items()
            if path not in self.columns
        }
        varied = {
            path: (column.values, column.halves)
            for path, column in self.columns.items()
            if column.halves.any()
        }
        return stated | varied

    @property
    def corners(self) -> int:
        """Rows of the load for each haul: one as stated, then every corner of the tolerances."""
        tolerances = len(self._tolerances)
        return 1 + 2**tolerances if tolerances else 1

    @property
    def has_chosen_corners(self) -> bool:
        """True if there are too many tolerances to check all corners, so the rules select some."""
        return len(self._tolerances) > MOST_CORNERED

    def load(self, rulebooks: Rulebooks) -> tuple[Load, int]:
        """The load of all hauls and its number of corners; row c * hauls + h is corner c of haul h.

        A haul with too many tolerances to check all corners is alone in its chunk; its corners are
        selected as for a single profile.
        """
        tolerances = self._tolerances
        if self.has_chosen_corners:
            load = load_with_corners(self.profile, rulebooks, self.on)
            return load, load.rows
        ends = itertools.product((-1.0, 1.0), repeat=len(tolerances))
        signs = np.array([(0.0,) * len(tolerances), *(ends if tolerances else ())])
        rows: dict[DataPath, Number] = {}
        for path, column in self.columns.items():
            rows[path] = self._over_corners(column.values, len(signs))
        for index, (path, (value, half)) in enumerate(tolerances.items()):
            rows[path] = self._over_corners(value + half * signs[:, [index]], len(signs))
        return self.profile.load(rows), len(signs)

    def _over_corners(self, values: NDArray[np.float64], corners: int) -> Number:
        """The values of a field in every row; a plain number if there is only one row."""
        found = np.broadcast_to(values, (corners, self.hauls)).ravel()
        return found if found.size > 1 else float(found[0])


def chunk_of_profile(profile: Profile, row: int, on: date) -> Chunk:
    """A load profile as a chunk of one row; `on` is the day to check it for."""
    title = str(profile.merged.data.get("title", ""))
    labels = labels_of("", "", title, things_of(profile), profile.uses)
    return Chunk(
        profile=profile,
        loads=[labels],
        load_of=np.zeros(1, dtype=np.intp),
        on=on,
        rows=np.array([row]),
        days=np.array([on.toordinal()]),
        crews=[""],
        crew_of=np.zeros(1, dtype=np.intp),
        columns={},
    )
