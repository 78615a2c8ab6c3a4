"""The load profiles that a season is made over, and what each of them states."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from checker.documents.schema_keywords import quantity_of
from checker.load.build import Profile
from checker.load.plausible.reading import OfProfile
from checker.season.invented.district import USUAL_LOADS
from checker.season.logs.columns import data_path, node_of
from checker.season.logs.model import Column, Role
from checker.units.table import FACTORS


@dataclass(frozen=True)
class Pool:
    """Load profiles by the name that a log gives them."""

    profiles: Mapping[str, Profile]

    @property
    def names(self) -> Sequence[str]:
        """What a log calls them."""
        return list(self.profiles)

    def often(self) -> NDArray[np.float64]:
        """How often each is hauled, beside the others."""
        return np.array([float(USUAL_LOADS.get(name, 1)) for name in self.profiles])

    def figures(self, column: Column) -> NDArray[np.float64]:
        """What each states in the column's unit; NaN where it states nothing, or a tolerance.

        Who knows how far off a figure may be has it from one scale, on one day: it is left alone.
        """
        return np.array([_figure(each, column) for each in self.profiles.values()])

    def says_yes(self, column: Column) -> NDArray[np.bool_]:
        """Which of them answer a question with yes."""
        return np.array([_stated(each, column) == "yes" for each in self.profiles.values()])

    def groups(self, part: str) -> NDArray[np.int64]:
        """A number for each, the same for those whose trailer or tow vehicle has one title."""
        data = [each.merged.data for each in self.profiles.values()]
        titles = [str(OfProfile(each).word((part, "title"))) for each in data]
        known = list(dict.fromkeys(titles))
        return np.array([known.index(title) for title in titles])


def _figure(profile: Profile, column: Column) -> float:
    stated = _stated(profile, column)
    if stated is None:
        return np.nan
    assert column.role is Role.QUANTITY
    quantity = quantity_of(str(stated), node_of(column.field))
    if quantity.half_width or np.isinf(quantity.value):
        return np.nan
    top, bottom = FACTORS[column.unit] if column.unit else (1, 1)
    # The digits that were written, without the last bit of going to newtons and back.
    return round(quantity.value * bottom / top, 6)


def _stated(profile: Profile, column: Column) -> Any:
    return OfProfile(profile.merged.data).word(data_path(column.field))
