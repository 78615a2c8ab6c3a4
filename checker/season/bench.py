"""Where hauls are judged: one process, or one of many, with the rules read once in each."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from hashlib import blake2b
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from checker.documents.problems import ProblemsFoundError
from checker.load.build import Library, Profile, read_profile
from checker.rulebooks.model import Rulebooks
from checker.season.grouping import Grouping
from checker.season.judged import Group
from checker.season.logs.model import Refused
from checker.season.reading import Heading, unpacked
from checker.season.table import joined
from checker.season.totals import Totals

_MOST_KNOWN = 64
"""Load profiles kept; the hauls of one seldom come to more than a few tasks, one after the other."""


class OtherRulesError(RuntimeError):
    """Another machine reads other rules than the one that asks; what they say does not add up."""


@dataclass(frozen=True, slots=True)
class Plan:
    """How hauls are to be judged, small enough to send to another process.

    `read` reads the rulebooks named by `rules`, `found` finds the file of a load as the log names
    it or raises FileNotFoundError; both are functions of a module, as pickle wants.
    """

    read: Callable[[tuple[str, ...]], Rulebooks]
    rules: tuple[str, ...]
    found: Callable[[str], Path]
    root: Path | None
    near: float


@dataclass(frozen=True, slots=True)
class HaulsOf:
    """Hauls of one load, in pieces as the parts of the log gave them."""

    load: str
    pieces: Sequence[tuple[NDArray[np.void], Heading]]

    @property
    def hauls(self) -> int:
        """How many there are."""
        return sum(len(records) for records, _ in self.pieces)


class Bench:
    """The rulebooks, and the load profiles read last."""

    def __init__(self, plan: Plan) -> None:
        """Read the rulebooks."""
        self.plan = plan
        self.rulebooks = plan.read(plan.rules)
        self.rules_digest = digest_of_rules(self.rulebooks)
        self.library = Library()
        self.load = lru_cache(_MOST_KNOWN)(self._load)

    def _load(self, name: str) -> Grouping | str:
        """A load profile made ready for its hauls, or why it cannot be."""
        try:
            profile = read_profile(self.plan.found(name), self.plan.root, self.library)
        except (FileNotFoundError, ProblemsFoundError) as error:
            return str(error).splitlines()[0]
        return Grouping(name, profile, self.rulebooks)

    def totals(self, hauls: HaulsOf) -> Totals:
        """What the hauls of one load come to."""
        totals = Totals()
        grouping = self.load(hauls.load)
        table = joined([unpacked(*piece) for piece in hauls.pieces])
        if isinstance(grouping, str):
            totals.refuse(Refused(row, grouping) for row in table.rows.tolist())
            return totals
        profile = grouping.profile
        totals.loads[hauls.load] = str(profile.file)
        totals.files |= digests(profile)
        for chunk in grouping.chunks(table):
            if isinstance(chunk, Refused):
                totals.refuse([chunk])
            else:
                group = Group(chunk.kept, profile, self.rulebooks, self.plan.near)
                totals.add(group.totals(group.judged(chunk)))
        return totals


@lru_cache(maxsize=1)
def bench(plan: Plan) -> Bench:
    """The bench of this process."""
    return Bench(plan)


def totals_of(plan: Plan, rules_digest: str, hauls: Sequence[HaulsOf]) -> Totals:
    """What some hauls come to; the work that is handed to other processes and machines.

    Raises OtherRulesError where the rules read here are not those of the digest.
    """
    here = bench(plan)
    if here.rules_digest != rules_digest:
        raise OtherRulesError("found other rulebooks on a worker; wanted the same as here")
    found = Totals()
    for each in hauls:
        found.add(here.totals(each))
    return found


def digest_of_rules(rulebooks: Rulebooks) -> str:
    """One short digest of all rulebooks and amendments."""
    parts = [f"{each.id} {each.digest}" for each in (*rulebooks.books, *rulebooks.amendments)]
    return digest_of_bytes("\n".join(parts).encode())


def digests(profile: Profile) -> dict[str, str]:
    """The files that a load profile rests on, each with a digest."""
    return {str(file): digest_of_bytes(file.read_bytes()) for file in sorted(profile.rests_on)}


def digest_of_bytes(content: bytes) -> str:
    """A short digest."""
    return blake2b(content, digest_size=8).hexdigest()
