"""Working load limits of unmarked tiedown devices, as some codes print them.

The values are rule data: a rulebook's table provides them for a date. The facts only look up.
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
    """The rows in force, and which devices are read as which others."""

    rows: tuple[UnmarkedRating, ...] = ()
    counts_as: Mapping[tuple[str, str | None], tuple[str, str | None]] = field(default_factory=dict)

    def rating(
        self, device: str | None, grade: str | None, size: Number, thickness: Number
    ) -> Number:
        """The printed limit in newtons; NaN where the table has no such row. Never interpolates."""
        if device is None:
            return NOT_STATED
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
