"""Tests whether something is broken more or less often now than then, over the same loads.

Loads hauled in one of the two seasons alone say nothing; so do loads of which every haul is on hold
in both, as by a fault of the profile.
"""

from collections.abc import Mapping, Sequence
from enum import StrEnum

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from checker.season.contrasts import FEWEST, LEVEL, rounded
from checker.season.statistics import holm, least_two_sided, marked_among_drawn, two_sided

ByLoad = Mapping[str, tuple[int, int]]
"""By load, the decided hauls and those in which it is broken."""


class ChangeResult(StrEnum):
    """What the two seasons show. Values are those of the JSON document."""

    MORE = "more often"
    LESS = "less often"
    UNEXPLAINED = "no more than chance explains"
    TOO_FEW = "too few to say"
    NO_LOAD = "no load in both"


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
    p: float | None = None
    corrected: float | None = None
    result: ChangeResult = ChangeResult.TOO_FEW


def change(then: ByLoad, now: ByLoad) -> Change:
    """The change from then to now, not yet corrected for the number of comparisons."""
    both = [load for load in then if load in now and then[load][0] and now[load][0]]
    before, after = (
        np.array([season[load] for load in both], dtype=np.int64).reshape(-1, 2).T
        for season in (then, now)
    )
    decided, broken = before + after
    p, least = None, 1.0
    if min(after[0].sum(), before[0].sum()) >= FEWEST:
        distribution = marked_among_drawn(decided, broken, after[0])
        p = two_sided(distribution, int(after[1].sum()))
        least = least_two_sided(distribution)
    return Change(
        now=int(after[0].sum()),
        now_broken=int(after[1].sum()),
        then=int(before[0].sum()),
        then_broken=int(before[1].sum()),
        expected=rounded(float((after[0] * before[1] / before[0]).sum())),
        least=rounded(least),
        rises=bool(after[1].sum() > (after[0] * broken / decided).sum()),
        p=None if p is None else rounded(p),
    )


def corrected_changes(found: Sequence[Change | None]) -> list[Change | None]:
    """The same with the result of each; None stays None."""
    given = [each.p for each in found if each is not None and each.p is not None]
    by_test = iter(holm(given))
    return [
        None
        if each is None
        else _with_result(each, None if each.p is None else rounded(next(by_test)), len(given))
        for each in found
    ]


def _with_result(each: Change, p: float | None, made: int) -> Change:
    if not each.now or not each.then:
        result = ChangeResult.NO_LOAD
    elif p is None or each.least * made > LEVEL:
        result = ChangeResult.TOO_FEW
    elif p > LEVEL:
        result = ChangeResult.UNEXPLAINED
    else:
        result = ChangeResult.MORE if each.rises else ChangeResult.LESS
    return replace(each, corrected=p, result=result)
