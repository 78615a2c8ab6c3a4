"""Working load limits of unmarked tiedown devices, as some codes print them.

The values are rule data: the tables of the rulebooks provide them for a day and a trip. The facts
only look up.
"""

from collections.abc import Mapping

import numpy as np
from msgspec import Struct, field

from checker.load.model import Tiedown
from checker.units.arithmetic import NOT_STATED, Number, both, equal


class UnmarkedRating(Struct, frozen=True):
    """One cell of a table: device, grade where it has one, sizes in metres, limit in newtons."""

    device: str
    grade: str | None
    size: float
    thickness: float | None
    working_load_limit: float


class UnmarkedRatings(Struct, frozen=True):
    """The rows of a table, which devices are read as which others, and the tables after it."""

    rows: tuple[UnmarkedRating, ...] = ()
    counts_as: Mapping[tuple[str, str | None], tuple[str, str | None]] = field(default_factory=dict)
    table: str = ""
    """The table as a report names it."""
    then: "UnmarkedRatings | None" = None
    """The table for a device that this one does not have."""
    beside: tuple["UnmarkedRatings", ...] = ()
    """Tables of the other jurisdictions of a trip: the lowest limit counts, and each must have one.
    """

    def rating(
        self, device: str | None, grade: str | None, size: Number, thickness: Number
    ) -> Number:
        """The limit in newtons; NaN where no table has such a row. Never interpolates."""
        if device is None:
            return NOT_STATED
        found = self._printed(device, grade, size, thickness)
        if self.then is not None:
            later = self.then.rating(device, grade, size, thickness)
            found = np.where(np.isnan(found), later, found)[()]
        for other in self.beside:
            found = np.minimum(found, other.rating(device, grade, size, thickness))[()]
        return found

    def _printed(self, device: str, grade: str | None, size: Number, thickness: Number) -> Number:
        device, grade = self.counts_as.get((device, grade), (device, grade))
        found: Number = NOT_STATED
        for row in self.rows:
            if row.device == device and row.grade == grade:
                same = equal(row.size, size)
                if row.thickness is not None:
                    same = both(same, equal(row.thickness, thickness))
                found = np.where(np.equal(same, 1), row.working_load_limit, found)[()]
        return found

    def of(self, tiedown: Tiedown) -> Number:
        """The printed limit of a tiedown's device."""
        return self.rating(tiedown.device, tiedown.grade, tiedown.size, tiedown.thickness)

    def tables_of(self, tiedown: Tiedown) -> list[str]:
        """The tables in which a tiedown's device was found, in any row of the load."""
        found = []
        if tiedown.device is not None:
            own = self._printed(tiedown.device, tiedown.grade, tiedown.size, tiedown.thickness)
            if np.isfinite(own).any():
                found.append(self.table)
            elif self.then is not None:
                found += self.then.tables_of(tiedown)
        return [*found, *(name for each in self.beside for name in each.tables_of(tiedown))]
