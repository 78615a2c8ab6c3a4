"""Variances: signed permissions to go against one rule, in a load or in a register.

A variance never makes a rule met. It only keeps a rule that is not met, or too close to call, from
holding the load on its days; before and after them it does not count. What is not stated stays
open, and no must-rule of law is excused: where a company is stricter than the law, a variance
excuses down to the law and no further.
"""

from collections.abc import Collection, Iterator, Mapping, Sequence
from datetime import date
from enum import StrEnum

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from checker.load.model import Load, Variance
from checker.rulebooks.days import within
from checker.rulebooks.model import Rule, Rulebooks
from checker.rulebooks.variances import law_beneath


class VarianceStatus(StrEnum):
    """The status of a variance on a day."""

    IN_USE = "in use"
    NOT_NEEDED = "not needed"
    NOT_ENOUGH = "not enough"
    """The rule is not met, or too close to call, by the law beneath the company's figure too."""
    FOR_SOME_CREWS = "for some crews only"
    """It counts in the hauls of its crews; who hauls a single load is not known."""
    NOT_BEGUN = "not begun"
    EXPIRED = "expired"


class Permit(Struct, frozen=True):
    """A variance, and True in each row in which it counts; one entry counts for all rows."""

    variance: Variance
    rows: NDArray[np.bool_]


Permits = Mapping[str, Sequence[Permit]]
"""The variances that count somewhere, by the rule that they excuse."""


class Hauls(Struct, frozen=True):
    """What decides whether a variance counts, for each row: the day, the load and the crew.

    `load_of` and `crew_of` hold indices into `uses` and `crews`; each array has an entry a row.
    """

    days: NDArray[np.int64]
    uses: Sequence[frozenset[str]]
    """The files of each load, see `Load.uses`."""
    load_of: NDArray[np.intp]
    crews: Sequence[str]
    crew_of: NDArray[np.intp]

    def where(self, variance: Variance) -> NDArray[np.bool_]:
        """True in rows in which the variance counts."""
        first, end = variance.starts.toordinal(), variance.ends.toordinal()
        found = (first <= self.days) & (self.days < end)
        if variance.uses:
            found &= np.array([variance.uses <= each for each in self.uses])[self.load_of]
        if variance.crews:
            found &= np.array([crew in variance.crews for crew in self.crews])[self.crew_of]
        return found


def one_haul(load: Load, on: date) -> Hauls:
    """A load on a day, hauled by the crew that its row of a log names.

    Of a load profile nobody knows who hauls it: a variance of some crews does not count.
    """
    one = np.zeros(1, dtype=np.intp)
    crew = load.log_row.crew if load.log_row else ""
    return Hauls(np.array([on.toordinal()]), [load.uses], one, [crew], one)


def permits(load: Load, rulebooks: Rulebooks, hauls: Hauls) -> Permits:
    """The variances of a load and of the register that count for any of its hauls."""
    found: dict[str, list[Permit]] = {}
    for variance in (*load.variances, *rulebooks.variances):
        rows = hauls.where(variance)
        if rows.any():
            found.setdefault(variance.rule, []).append(Permit(variance, rows))
    return found


def permits_of(rule: Rule, given: Permits) -> Sequence[Permit]:
    """Those of one rule; none where law alone leaves nothing to excuse."""
    found = given.get(rule.id, ())
    return () if found and law_beneath(rule) is rule else found


def variances_of(load: Load, rulebooks: Rulebooks) -> Iterator[Variance]:
    """The variances of a load and those of the register that may count for it, on any day.

    Of one that counts for some crews only, nobody knows before the haul.
    """
    yield from load.variances
    yield from (each for each in rulebooks.variances if each.uses <= load.uses)


def variance_statuses(
    load: Load,
    rulebooks: Rulebooks,
    day: date,
    in_use: Collection[Variance],
    held: Collection[str],
) -> Iterator[tuple[Variance, VarianceStatus]]:
    """The variances that may count for a load, each with its status on a day.

    `in_use` are those that excuse something then, `held` the rules that hold the load all the same.
    """
    for each in variances_of(load, rulebooks):
        yield each, _status(each, day, is_used=each in in_use, is_held=each.rule in held)


def _status(variance: Variance, day: date, *, is_used: bool, is_held: bool) -> VarianceStatus:
    if day < variance.starts:
        return VarianceStatus.NOT_BEGUN
    if not within(day, variance.starts, variance.ends):
        return VarianceStatus.EXPIRED
    if is_used:
        return VarianceStatus.IN_USE
    if variance.crews:
        return VarianceStatus.FOR_SOME_CREWS
    return VarianceStatus.NOT_ENOUGH if is_held else VarianceStatus.NOT_NEEDED
