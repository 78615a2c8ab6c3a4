"""The values that load profiles state for a column, used where hauls leave it blank."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from checker.evaluation.rule_rows import collapse, take
from checker.season.logs.columns import data_path, reaches
from checker.season.logs.decode import FigureDecoder, Figures
from checker.season.logs.model import Column, Role
from checker.season.same_shape import SameShape

METRIC, WITH_TOLERANCE, AS_PROFILED, SCALED = map(np.uint8, (1, 2, 4, 8))
"""The kind of a haul's figure, as flags: in metric units, with a tolerance, taken from the profile
because it cannot be in a column of numbers, scaled with the weight of the article."""

_BLANK: Final = np.full(1, np.nan)
_NONE: Final = np.zeros(1)


@dataclass(frozen=True, slots=True)
class ProfileFigure:
    """The values of the profiles for one field; one number if all are equal, NaN if not stated.

    `apart` is True if the values cannot be in one column with those of hauls, because they have a
    tolerance or because the profile has no such section.
    """

    values: NDArray[np.float64] = field(default_factory=lambda: _BLANK)
    halves: NDArray[np.float64] = field(default_factory=lambda: _NONE)
    metric: bool = False
    apart: bool = False
    exists: bool = True
    """True if these loads can have the field."""

    def kinds(self, figures: Figures) -> NDArray[np.uint8]:
        """The kind flags of each haul's figure; a blank has the kind of the profile's figure."""
        blank = np.isnan(figures.values)
        kinds = figures.metric * METRIC + (figures.halves > 0) * WITH_TOLERANCE
        instead = AS_PROFILED if self.apart else METRIC if self.metric else np.uint8(0)
        return np.where(blank, instead, kinds)

    def fill(self, figures: Figures, load_of: NDArray[np.intp]) -> Figures:
        """The figures, with the profiles' values in place of blanks."""
        blank = np.isnan(figures.values)
        if not blank.any():
            return figures
        values = np.where(blank, take(self.values, load_of), figures.values)
        return Figures(
            values, figures.halves, collapse(np.where(blank, self.metric, figures.metric))
        )


class ProfileFigures:
    """The profile figures of loads of the same shape, by column; read when first used."""

    def __init__(self, loads: SameShape) -> None:
        self.loads = loads
        self._known: dict[str, ProfileFigure] = {}

    def __getitem__(self, column: Column) -> ProfileFigure:
        """The values that the profiles state for a column."""
        if column.field not in self._known:
            self._known[column.field] = self._read(column)
        return self._known[column.field]

    def _read(self, column: Column) -> ProfileFigure:
        path = data_path(column.field)
        inside: Any = self.loads.profile.merged.data
        if not reaches(column.field, inside):
            return ProfileFigure(apart=True, exists=False)
        for depth, part in enumerate(path):
            if isinstance(inside, Mapping) and part not in inside:
                return ProfileFigure(apart=depth < len(path) - 1)
            inside = inside[part]
        if column.role not in (Role.QUANTITY, Role.ANSWER):
            return ProfileFigure()
        own = self.loads.own.get(path) or FigureDecoder(column, {})([inside])
        apart = bool(own.halves.any())
        return ProfileFigure(own.values, own.halves, bool(own.metric[0]), apart=apart)
