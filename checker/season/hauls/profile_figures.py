"""The values that load profiles state for a column, used where hauls leave it blank."""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import chain
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from checker.evaluation.rule_rows import take
from checker.logs.columns import column_of, data_path, reaches
from checker.logs.decode import FigureDecoder
from checker.logs.model import Column, Role
from checker.season.hauls.same_shape import SameShape
from checker.season.hauls.table import OF_FIGURES, Table

METRIC, WITH_TOLERANCE, AS_PROFILED, SCALED = map(np.uint8, (1, 2, 4, 8))
"""The kind of a haul's figure, as flags: in metric units, with a tolerance, taken from the profile
because it cannot be in a column of numbers, scaled with the weight of the article."""

_WEIGHT: Final = re.compile(r"(articles\.[0-9]+\.)weight")
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


def fill_figures(
    table: Table, profiles: ProfileFigures, load_of: NDArray[np.intp]
) -> tuple[Table, NDArray[np.uint8]]:
    """The table with the profiles' figures in place of blanks, and the kind of each figure.

    If a haul states no axle weight of an article, those of the profile are scaled with the weight
    that it states: a machine with more fuel or mud is heavier on both axles, and its centre of
    gravity stays where it is. If a haul states one, it must agree with the weight, as in a profile.
    """
    axles = {
        column: [column_of(f"{found[1]}axles.{end}.weight") for end in ("front", "rear")]
        for column in table.heading.figures
        if (found := _WEIGHT.fullmatch(column.field))
    }
    figures = list(dict.fromkeys((*table.heading.figures, *chain.from_iterable(axles.values()))))
    filled = table.with_columns(figures)
    filled = Table(filled.heading, filled.records.copy())
    values, halves, metric = (filled.records[name] for name in OF_FIGURES)
    own = [profiles[column] for column in figures]
    apart = np.array([each.apart for each in own], dtype=bool)
    own_metric = np.array([each.metric for each in own], dtype=bool)
    own_values, own_halves = np.empty((2, *values.shape))
    for index, each in enumerate(own):
        own_values[:, index] = take(each.values, load_of)
        own_halves[:, index] = take(each.halves, load_of)
    blank = np.isnan(values)
    kinds = metric * METRIC + (halves > 0) * WITH_TOLERANCE
    kinds = np.where(blank, np.where(apart, AS_PROFILED, own_metric * METRIC), kinds)
    for column, ends in axles.items():
        weight, both = figures.index(column), list(map(figures.index, ends))
        stated = [index for index in both if not np.isnan(own[index].values).all()]
        if np.isnan(own[weight].values).all():
            continue
        follows = blank[:, both].all(axis=1, keepdims=True)
        ratio = values[:, [weight]] / own_values[:, [weight]]
        ratio = np.where(follows & ~blank[:, [weight]], ratio, 1.0)
        own_values[:, stated] *= ratio
        own_halves[:, stated] *= ratio
        like = own_metric[stated] * METRIC + (own_halves[:, stated] > 0) * WITH_TOLERANCE
        kinds[:, stated] = np.where(follows, like | SCALED, kinds[:, stated])
    values[...] = np.where(blank, own_values, values)
    halves[...] = np.where(kinds & SCALED, own_halves, halves)
    metric[...] = np.where(blank, own_metric, metric)
    return filled, kinds
