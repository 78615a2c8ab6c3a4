"""Where hauls are judged: one process, or one of many, with the rules read once in each."""

import pickle
from collections import OrderedDict
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache

from checker.rulebooks.model import Rulebooks
from checker.season.chunk import Chunk, Kept
from checker.season.judged import Group, JudgedChunk
from checker.season.totals import Totals

_MOST_GROUPS = 512
"""Groups kept ready; each holds what is alike for all its hauls, some hundred kilobytes."""


@dataclass(frozen=True, slots=True)
class Plan:
    """How hauls are to be judged, small enough to send to another process.

    `read` reads the rulebooks named by `rules`; it is a function of a module, as pickle wants.
    """

    read: Callable[[tuple[str, ...]], Rulebooks]
    rules: tuple[str, ...]
    near: float


class Bench:
    """The rulebooks, and load profiles made ready for their hauls."""

    def __init__(self, plan: Plan) -> None:
        """Read the rulebooks."""
        self.rulebooks = plan.read(plan.rules)
        self.near = plan.near
        self._groups: OrderedDict[Kept, Group] = OrderedDict()

    def judged(self, chunk: Chunk) -> tuple[Group, JudgedChunk]:
        """A chunk with what every rule says of every haul."""
        group = self._group(chunk)
        return group, group.judged(chunk)

    def _group(self, chunk: Chunk) -> Group:
        if chunk.kept in self._groups:
            self._groups.move_to_end(chunk.kept)
        else:
            profile = pickle.loads(chunk.profile)  # noqa: S301 - pickled by this program itself
            self._groups[chunk.kept] = Group(chunk.kept, profile, self.rulebooks, self.near)
            if len(self._groups) > _MOST_GROUPS:
                self._groups.popitem(last=False)
        return self._groups[chunk.kept]


@lru_cache(maxsize=1)
def bench(plan: Plan) -> Bench:
    """The bench of this process."""
    return Bench(plan)


def totals_of(plan: Plan, chunks: Sequence[Chunk]) -> Totals:
    """What some chunks come to; the work that is handed to other processes and machines."""
    found = Totals()
    for chunk in chunks:
        group, judged = bench(plan).judged(chunk)
        found.add(group.totals(judged))
    return found
