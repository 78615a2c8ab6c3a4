"""The load profiles that a log names, and its hauls grouped by them."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from checker.documents.problems import DataPath, Mark, Problem, ProblemsFoundError
from checker.evaluation.against_rules import profile_faults, variance_faults
from checker.load.build import Library, Profile, read_profile, shown_path
from checker.rulebooks.model import Rulebooks
from checker.season.digests import digest_of_text
from checker.season.grouping import Grouping
from checker.season.logs.model import Refused
from checker.season.reading import RowSlice, unpacked
from checker.season.same_shape import LoadSummary, of_one_shape, summary_of
from checker.season.table import Table

_MOST_KNOWN = 1024
"""Loads kept: they are asked for twice, first to find those of the same shape."""
_MOST_READY = 3
"""Load profiles kept, and those made ready for their hauls: the next task may be of the same."""


@dataclass(frozen=True, slots=True)
class HaulsOf:
    """Hauls of one load, in pieces as the parts of the log gave them."""

    load: str
    pieces: Sequence[RowSlice]

    @property
    def hauls(self) -> int:
        """How many there are."""
        return sum(len(records) for records, _ in self.pieces)


@dataclass(frozen=True, slots=True)
class HaulsOfShape:
    """Hauls of loads of the same shape; `load_of` holds the index of each haul's load."""

    loads: Sequence[LoadSummary]
    grouping: Grouping
    table: Table
    load_of: NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class HaulsOfNone:
    """Hauls of a load that cannot be judged."""

    refused: Sequence[Refused]


class Loads:
    """The load profiles of a log, those read last kept."""

    def __init__(
        self,
        found: Callable[[str], Path],
        root: Path | None,
        rulebooks: Sequence[Rulebooks],
        library: Library | None = None,
    ) -> None:
        """Hold profiles against several sets of rulebooks.

        `found` finds the file of a load as the log names it or raises FileNotFoundError; references
        start from `root`.
        """
        self._found, self._root = found, root
        self.rulebooks = rulebooks
        self.library = library or Library()
        self.profile = lru_cache(_MOST_READY)(self._profile)
        self.grouping = lru_cache(_MOST_READY)(self._grouping)
        self._known: dict[str, LoadSummary | str] = {}
        self._paths: dict[str, Sequence[DataPath]] = {}

    def load(self, name: str) -> LoadSummary | str:
        """A load that its hauls can be held against, or why it cannot be."""
        if name not in self._known:
            try:
                profile = self.profile(name)
                # What hauls may state otherwise is asked of each of them.
                if faults := self._for_all(profile, variance_faults):
                    raise ProblemsFoundError(faults)
            except (FileNotFoundError, ProblemsFoundError) as error:
                self._learn(name, str(error).splitlines()[0])
            else:
                self.learn(summary_of(name, profile, digests(profile)))
        return self._known[name]

    def learn(self, load: LoadSummary) -> None:
        """Take a load as it is read already, perhaps by another process."""
        # Loads of one shape have the same paths, and these are most of what is held of a load.
        paths = self._paths.setdefault(load.pattern, load.paths)
        self._learn(load.name, replace(load, paths=paths))

    def _learn(self, name: str, load: LoadSummary | str) -> None:
        self._known[name] = load
        if len(self._known) > _MOST_KNOWN:
            del self._known[next(iter(self._known))]

    def at_hand(self, names: Iterable[str]) -> list[LoadSummary]:
        """Those of some loads that need not be read."""
        found = map(self._known.get, names)
        return [load for load in found if isinstance(load, LoadSummary)]

    def by_shape(self, hauls: Sequence[HaulsOf]) -> Iterator[HaulsOfShape | HaulsOfNone]:
        """Hauls of some loads, those of the same shape together."""
        alike: dict[str, list[tuple[LoadSummary, HaulsOf]]] = {}
        for each in hauls:
            load = self.load(each.load)
            if isinstance(load, str):
                rows = (row for records, _ in each.pieces for row in records["row"].tolist())
                yield HaulsOfNone([Refused(row, load) for row in rows])
            else:
                alike.setdefault(load.pattern, []).append((load, each))
        for pairs in alike.values():
            loads = [load for load, _ in pairs]
            grouping = self.grouping(tuple(load.name for load in loads))
            yield HaulsOfShape(loads, grouping, *unpacked([each.pieces for _, each in pairs]))

    def _profile(self, name: str) -> Profile:
        """A load profile; raises ProblemsFoundError or FileNotFoundError."""
        return read_profile(self._found(name), self._root, self.library)

    def faults(self, profile: Profile) -> list[Problem]:
        """Why none of the sets of rulebooks can judge a profile by itself; or nothing."""
        return self._for_all(profile, profile_faults)

    def _for_all(
        self, profile: Profile, faults: Callable[[Profile, Rulebooks], Iterator[Problem]]
    ) -> list[Problem]:
        """Faults under every set of rulebooks, as the last has them.

        Under some of them alone they are what a change of the rules does to the load.
        """
        found = [list(faults(profile, each)) for each in self.rulebooks]
        return found[-1] if all(found) else []

    def _grouping(self, names: tuple[str, ...]) -> Grouping:
        loads = [load for load in map(self.load, names) if isinstance(load, LoadSummary)]
        return Grouping(
            of_one_shape(loads, self._unchanged(names[0])), self.rulebooks, self._unchanged
        )

    def _unchanged(self, name: str) -> Profile:
        """The profile that the figures of a load are from; raises ProblemsFoundError.

        It may be read anew, and what two versions of a file say must not be put together.
        """
        load = self.load(name)
        try:
            profile = self.profile(name)
        except FileNotFoundError as error:
            raise changed_meanwhile(name) from error
        if isinstance(load, str) or digests(profile) != load.digests:
            raise changed_meanwhile(str(profile.file))
        return profile


def digests(profile: Profile) -> dict[str, str]:
    """The files that a load profile rests on, each with a digest of its text as it was read."""
    return {shown_path(file): digest_of_text(text) for file, text in profile.rests_on.items()}


def changed_meanwhile(file: str) -> ProblemsFoundError:
    """What to say of a file of which some hauls rest on one version and some on another."""
    found = "a load profile that changed while its hauls were judged"
    wanted = "it to stay as it is until all are judged"
    return ProblemsFoundError([Problem(file, Mark(1, 1), found, wanted)])
