"""The values that the hauls of one chunk state in place of their profiles'."""

from collections.abc import Mapping, Set
from dataclasses import dataclass
from datetime import date
from typing import Any

import numpy as np

from checker.documents.problems import DataPath
from checker.logs.columns import node_of
from checker.logs.decode import Figures
from checker.logs.model import Column, Role
from checker.units.arithmetic import NONE
from checker.units.kinds import KINDS, OF_A_DAY, SECONDS_OF_A_DAY
from checker.units.table import FACTORS


@dataclass(frozen=True, slots=True)
class Stated:
    """The words and figures that some hauls state, by path in the profile."""

    words: Mapping[DataPath, Any]
    """The same for all hauls."""
    columns: Mapping[DataPath, Column]
    """The columns of the figures."""
    figures: Mapping[DataPath, Figures]
    """One row for each haul; at least one haul, or its profile, states the figure."""
    scaled: Set[DataPath]
    """The axle weights that follow the weight of their article; no haul states them itself."""
    signature: str
    """Equal for hauls that differ only in their numbers."""

    def texts(self) -> dict[DataPath, Any]:
        """Sample values: the words, and for each figure the text of the first haul that has it."""
        return self._texts(
            {path: int((~np.isnan(each.values)).argmax()) for path, each in self.figures.items()}
        )

    def texts_of(self, row: int) -> dict[DataPath, Any]:
        """The values that one haul states."""
        there = (path for path, each in self.figures.items() if not np.isnan(each.values[row]))
        return self._texts(dict.fromkeys(there, row))

    def _texts(self, rows: Mapping[DataPath, int]) -> dict[DataPath, Any]:
        """The words, and for each figure the text of the given row."""
        texts = {
            path: _text(self.columns[path], self.figures[path], row) for path, row in rows.items()
        }
        return {**self.words, **texts}


def _text(column: Column, figures: Figures, row: int) -> str | float:
    """One figure as the text of a profile, in a metric or US unit as it was stated."""
    here = figures.take(slice(row, row + 1))
    value, half, metric = (float(each[0]) for each in (here.values, here.halves, here.metric))
    if column.role is Role.ANSWER:
        return "yes" if value == 1 else "no"
    node = node_of(column.field)
    if node["type"] != "string":
        return int(value) if node["type"] == "integer" else value
    if value == NONE:
        return str(node["word_for_none"])
    kind = KINDS[node["quantity"]]
    if kind.dimension == OF_A_DAY:
        return date.fromordinal(round(value / SECONDS_OF_A_DAY)).isoformat()
    unit = kind.si if metric else kind.us
    top, bottom = FACTORS[unit] if unit else (1, 1)
    # Multiplying by `bottom` first could overflow.
    text = f"{value / (top / bottom)!r} {unit}"
    return f"{text} +/- {half / (top / bottom)!r} {unit}" if half else text
