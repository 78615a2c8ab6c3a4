"""The load profiles that a log names, and its hauls grouped by them."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from checker.documents.problems import DataPath, Mark, Problem, ProblemsFoundError
from checker.evaluation.against_rules import profile_faults, variance_faults
from checker.load.build import Library, Profile, read_profile
from checker.logs.model import Refused
from checker.rulebooks.model import Rulebooks
from checker.season.hauls.chunk import Chunk
from checker.season.hauls.digests import digest_of_text
from checker.season.hauls.file_names import FileNames
from checker.season.hauls.grouping import Grouping
from checker.season.hauls.same_shape import LoadSummary, combine_loads, summary_of
from checker.season.hauls.table import Table, stack_tables

_MOST_SUMMARIES = 1024
"""Summaries cached: each is used twice, first to find loads of the same shape."""
_MOST_PROFILES = 32
"""Load profiles cached, some 160 kB each: one is read for its summary, then again for its hauls."""
_MOST_GROUPINGS = 3
"""Groupings cached, as the next task may use the same."""


LoadOf: TypeAlias = NDArray[np.intp]
"""For each haul of a table the index of its load."""


@dataclass(frozen=True, slots=True)
class HaulsOfLoad:
    """Hauls of one load, in slices of the parts of the log."""

    load: str
    slices: Sequence[Table]

    @property
    def hauls(self) -> int:
        """Number of hauls."""
        return sum(map(len, self.slices))


def rows_of(hauls: Iterable[HaulsOfLoad]) -> set[int]:
    """The row numbers of some hauls in the log."""
    return {row for each in hauls for some in each.slices for row in some.rows.tolist()}


class Loads:
    """Reads and caches the load profiles that a log names."""

    def __init__(
        self,
        found: Callable[[str], Path],
        root: Path | None,
        rulebooks: Sequence[Rulebooks],
        library: Library | None = None,
        names: FileNames | None = None,
    ) -> None:
        """Prepare loads for evaluation by one or more sets of rulebooks.

        `found` returns the file of a load by its name in the log or raises FileNotFoundError;
        references in profiles are relative to `root`.
        """
        self._found, self._root = found, root
        self.rulebooks = rulebooks
        self.library = library or Library()
        self._names = names or FileNames()
        self.profile = lru_cache(_MOST_PROFILES)(self._profile)
        self.grouping = lru_cache(_MOST_GROUPINGS)(self._grouping)
        self._summaries: dict[str, LoadSummary | str] = {}
        self._refused: dict[str, str] = {}
        self._paths: dict[str, Sequence[DataPath]] = {}

    def load(self, name: str) -> LoadSummary | str:
        """The summary of a load, or the reason why it cannot be used."""
        if name in self._refused:
            return self._refused[name]
        if name not in self._summaries:
            try:
                profile = self.profile(name)
                # Fields that hauls may replace are checked for each haul instead.
                if faults := self._faults_in_all(profile, variance_faults):
                    raise ProblemsFoundError(faults)
            except (FileNotFoundError, ProblemsFoundError) as error:
                self.learn(name, self._names.text(str(error).splitlines()[0]))
            else:
                summary = summary_of(name, profile, self._digests_of(profile))
                self.learn(name, replace(summary, file=self._names.name(profile.file)))
        return self._summaries[name]

    def learn(self, name: str, load: LoadSummary | str) -> None:
        """Add a summary to the cache, as read by this or another process, or the reason."""
        if isinstance(load, LoadSummary):
            # Loads of one shape share the same paths, which are the largest part of a summary.
            load = replace(load, paths=self._paths.setdefault(load.pattern, load.paths))
        self._summaries[name] = load
        if len(self._summaries) > _MOST_SUMMARIES:
            del self._summaries[next(iter(self._summaries))]

    def refuse(self, name: str, reason: str) -> None:
        """Have a load refused for good, whatever another process reads."""
        self._refused[name] = reason

    def already_read(self, names: Iterable[str]) -> dict[str, LoadSummary | str]:
        """The named loads that are refused, or whose summaries are in the cache."""
        known = ((name, self._refused.get(name, self._summaries.get(name))) for name in names)
        return {name: load for name, load in known if load is not None}

    def chunks(
        self,
        hauls: Sequence[HaulsOfLoad],
        repeated: Callable[[Table, LoadOf], tuple[Table, LoadOf]] = lambda *given: given,
    ) -> Iterator[Chunk | Refused]:
        """The hauls in chunks, and those that cannot be checked as Refused.

        `repeated` repeats hauls that are to be checked for several days.
        """
        by_pattern: dict[str, list[tuple[LoadSummary, HaulsOfLoad]]] = {}
        for each in hauls:
            load = self.load(each.load)
            if isinstance(load, str):
                yield from (
                    Refused(row, load) for some in each.slices for row in some.rows.tolist()
                )
            else:
                by_pattern.setdefault(load.pattern, []).append((load, each))
        for pairs in by_pattern.values():
            grouping = self.grouping(tuple(load.name for load, _ in pairs))
            table = stack_tables([some for _, each in pairs for some in each.slices])
            load_of = np.repeat(np.arange(len(pairs)), [each.hauls for _, each in pairs])
            yield from grouping.chunks(*repeated(table, load_of))

    def _profile(self, name: str) -> Profile:
        """A load profile; raises ProblemsFoundError or FileNotFoundError."""
        return read_profile(self._found(name), self._root, self.library)

    def faults(self, profile: Profile) -> list[Problem]:
        """The problems that prevent every set of rulebooks from checking a profile."""
        return self._faults_in_all(profile, profile_faults)

    def _faults_in_all(
        self, profile: Profile, faults: Callable[[Profile, Rulebooks], Iterator[Problem]]
    ) -> list[Problem]:
        """The faults under the last set of rulebooks, if there are faults under every set.

        Faults under only some sets are an effect of the rule change, not of the load.
        """
        found = [list(faults(profile, each)) for each in self.rulebooks]
        return found[-1] if all(found) else []

    def _grouping(self, names: tuple[str, ...]) -> Grouping:
        loads = [load for load in map(self.load, names) if isinstance(load, LoadSummary)]
        return Grouping(
            combine_loads(loads, self._unchanged(names[0])), self.rulebooks, self._unchanged
        )

    def _unchanged(self, name: str) -> Profile:
        """The profile of a load; raises ProblemsFoundError if its files changed since the summary.

        The profile may be read again, and two versions of a file must not be mixed.
        """
        load = self.load(name)
        try:
            profile = self.profile(name)
        except FileNotFoundError as error:
            raise changed_meanwhile(name) from error
        if isinstance(load, str) or self._digests_of(profile) != load.digests:
            raise changed_meanwhile(str(profile.file))
        return profile

    def _digests_of(self, profile: Profile) -> dict[str, str]:
        """All files that a load profile was read from, each with a digest of its text."""
        texts = profile.rests_on.items()
        return {self._names.name(file): digest_of_text(text) for file, text in texts}


def changed_meanwhile(file: str) -> ProblemsFoundError:
    """The error for a load profile that changed during the audit."""
    found = "a load profile that changed while its hauls were checked"
    wanted = "it to stay as it is until all are checked"
    return ProblemsFoundError([Problem(file, Mark(1, 1), found, wanted)])
