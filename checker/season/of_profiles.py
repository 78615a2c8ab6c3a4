"""What the profiles of loads state of the field of a column, where hauls leave it blank."""

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

METRIC, LOOSE, AS_PROFILED, SCALED = map(np.uint8, (1, 2, 4, 8))
"""What a figure of one haul is like: in metric units, with a tolerance, left to the profile because
it cannot stand among the numbers, worked out from the weight of the article."""

_BLANK: Final = np.full(1, np.nan)
_NONE: Final = np.zeros(1)


@dataclass(frozen=True, slots=True)
class ProfileFigure:
    """What the profiles say of a field; one number where they say the same, NaN not stated.

    `apart`: it must not be put among the numbers of hauls, because of its tolerance or because the
    field would not exist without the haul.
    """

    values: NDArray[np.float64] = field(default_factory=lambda: _BLANK)
    halves: NDArray[np.float64] = field(default_factory=lambda: _NONE)
    metric: bool = False
    apart: bool = False
    leads: bool = True
    """Whether the field can be stated in these loads at all."""

    def like(self, figures: Figures) -> NDArray[np.uint8]:
        """What the figures of a column are like in each haul, blanks as the profile has them."""
        blank = np.isnan(figures.values)
        like = figures.metric * METRIC + (figures.halves > 0) * LOOSE
        instead = AS_PROFILED if self.apart else METRIC if self.metric else np.uint8(0)
        return np.where(blank, instead, like)

    def fill(self, figures: Figures, load_of: NDArray[np.intp]) -> Figures:
        """The figures with those of the profiles where a haul leaves them blank."""
        blank = np.isnan(figures.values)
        if not blank.any():
            return figures
        values = np.where(blank, take(self.values, load_of), figures.values)
        return Figures(
            values, figures.halves, collapse(np.where(blank, self.metric, figures.metric))
        )


class OfProfiles:
    """The fields of loads of the same shape, looked up when they are asked for."""

    def __init__(self, loads: SameShape) -> None:
        self.loads = loads
        self._known: dict[str, ProfileFigure] = {}

    def __getitem__(self, column: Column) -> ProfileFigure:
        """What the profiles themselves say of the field of a column."""
        if column.field not in self._known:
            self._known[column.field] = self._looked_up(column)
        return self._known[column.field]

    def _looked_up(self, column: Column) -> ProfileFigure:
        path = data_path(column.field)
        inside: Any = self.loads.profile.merged.data
        if not reaches(column.field, inside):
            return ProfileFigure(apart=True, leads=False)
        for depth, part in enumerate(path):
            if isinstance(inside, Mapping) and part not in inside:
                return ProfileFigure(apart=depth < len(path) - 1)
            inside = inside[part]
        if column.role not in (Role.QUANTITY, Role.ANSWER):
            return ProfileFigure()
        figure = FigureDecoder(column, {})([inside])
        values, halves = figure.values, figure.halves
        if own := self.loads.own.get(path):
            values = own.values
            halves = halves if own.halves is None else own.halves
        return ProfileFigure(values, halves, bool(figure.metric[0]), apart=bool(figure.halves[0]))
