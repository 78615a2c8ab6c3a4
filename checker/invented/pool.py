"""The load profiles of invented hauls, and the values that they state."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from checker.documents.document import value_at
from checker.documents.schema_keywords import quantity_of
from checker.invented.district import USUAL_LOADS
from checker.load.build import Profile
from checker.logs.columns import data_path, node_of
from checker.logs.model import Column, Role
from checker.units.table import FACTORS


@dataclass(frozen=True)
class Pool:
    """Load profiles by their names in the log."""

    profiles: Mapping[str, Profile]

    @property
    def names(self) -> Sequence[str]:
        """The names of the loads in the log."""
        return list(self.profiles)

    def frequencies(self) -> NDArray[np.float64]:
        """The relative frequency of each load."""
        return np.array([float(USUAL_LOADS.get(name, 1)) for name in self.profiles])

    def figures(self, column: Column) -> NDArray[np.float64]:
        """The value of each load in the column's unit; NaN if it states none or a tolerance.

        A figure with a tolerance was measured for one load, so hauls do not vary it.
        """
        return np.array([_figure(each, column) for each in self.profiles.values()])

    def says_yes(self, column: Column) -> NDArray[np.bool_]:
        """True for the loads that answer the column's question with yes."""
        return np.array([_stated(each, column) == "yes" for each in self.profiles.values()])

    def groups(self, part: str) -> NDArray[np.int64]:
        """For each load the index of its trailer or tow vehicle; equal titles have one index."""
        data = [each.merged.data for each in self.profiles.values()]
        titles = [str(value_at(each, (part, "title"))) for each in data]
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
    # Removes the rounding error of the conversion to newtons and back.
    return round(quantity.value * bottom / top, 6)


def _stated(profile: Profile, column: Column) -> Any:
    return value_at(profile.merged.data, data_path(column.field))
