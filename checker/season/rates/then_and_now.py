"""Tests whether something is broken more or less often now than then, over the same loads.

Loads hauled in one of the two seasons alone say nothing; so do loads of which every haul is on hold
in both, as by a fault of the profile.
"""

from collections.abc import Hashable, Mapping
from enum import StrEnum
from types import MappingProxyType
from typing import TypeVar

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from checker.season.rates.correcting import FEWEST, FEWEST_LOADS, LEVEL, can_be_named, rounded
from checker.season.rates.statistics import (
    above_by_clusters,
    least_two_sided,
    marked_among_drawn,
    two_sided,
)

Stratum = TypeVar("Stratum", bound=Hashable)


class ChangeResult(StrEnum):
    """What the two seasons show. Values are those of the JSON document."""

    MORE = "more often"
    LESS = "less often"
    UNEXPLAINED = "no more than chance explains"
    TOO_FEW = "too few to say"
    NO_LOAD = "no load in both"
    TOO_OPEN = "too many open hauls to compare"


class Change(Struct, frozen=True):
    """Decided hauls of the loads in both seasons, and those in which something is broken.

    `expected` is how many would be broken now at the shares of then. `p` is the probability of a
    difference as large on either side by chance alone, `corrected` the same corrected for the
    number of comparisons; both are None where none is made.
    """

    now: int
    now_broken: int
    then: int
    then_broken: int
    expected: float
    least: float
    """The smallest `p` that these numbers of hauls can give."""
    rises: bool
    """True if more are broken now than all these hauls together would give."""
    too_open: bool = False
    """True if so many hauls are open then or now that none is made."""
    few_loads: bool = False
    """True if loads are too few to take each as a whole: each haul counts as if by itself."""
    p: float | None = None
    corrected: float | None = None
    result: ChangeResult = ChangeResult.TOO_FEW

    def with_result(self, corrected: float | None, made: int) -> "Change":
        """The same with its corrected probability, one of `made`, and what it shows."""
        if self.too_open:
            result = ChangeResult.TOO_OPEN
        elif not self.now or not self.then:
            result = ChangeResult.NO_LOAD
        elif corrected is None or not can_be_named(self.least, made):
            result = ChangeResult.TOO_FEW
        elif corrected > LEVEL:
            result = ChangeResult.UNEXPLAINED
        else:
            result = ChangeResult.MORE if self.rises else ChangeResult.LESS
        return replace(self, corrected=corrected, result=result)


def change(
    then: Mapping[Stratum, tuple[int, int]],
    now: Mapping[Stratum, tuple[int, int]],
    *,
    loads: Mapping[Stratum, str] = MappingProxyType({}),
    too_open: bool = False,
) -> Change:
    """The change from then to now, not yet corrected for the number of comparisons.

    Both have for each load, or another stratum, the decided hauls and those in which it is broken.
    `loads` has the loads of strata that are only parts of one. With `too_open` nothing is tested.
    """
    both = [load for load in then if load in now and then[load][0] and now[load][0]]
    before, after = (
        np.array([season[load] for load in both], dtype=np.int64).reshape(-1, 2).T
        for season in (then, now)
    )
    decided, broken = before + after
    p, least, few_loads = None, 1.0, False
    if not too_open and min(after[0].sum(), before[0].sum()) >= FEWEST:
        distribution = marked_among_drawn(decided, broken, after[0])
        p = two_sided(distribution, int(after[1].sum()))
        least = least_two_sided(distribution)
        # Of few loads, faults that go on from haul to haul cannot be told from a difference.
        of_load: dict[Hashable, float] = {}
        for stratum, excess in zip(both, after[1] - after[0] * broken / decided, strict=True):
            load = loads.get(stratum, stratum)
            of_load[load] = of_load.get(load, 0.0) + float(excess)
        excesses = np.array([*of_load.values()])
        few_loads = bool(np.count_nonzero(excesses) < FEWEST_LOADS)
        if not few_loads:
            sides = (above_by_clusters(excesses), above_by_clusters(-excesses))
            p = max(p, min(2 * min(sides), 1.0))
    return Change(
        now=int(after[0].sum()),
        now_broken=int(after[1].sum()),
        then=int(before[0].sum()),
        then_broken=int(before[1].sum()),
        expected=rounded(float((after[0] * before[1] / before[0]).sum())),
        least=rounded(least),
        rises=bool(after[1].sum() > (after[0] * broken / decided).sum()),
        too_open=too_open,
        few_loads=few_loads,
        p=None if p is None else rounded(p),
    )
