"""What hauls that are alike state over the profiles of their loads."""

from collections.abc import Mapping, Set
from dataclasses import dataclass
from typing import Any, cast

import numpy as np

from checker.documents.problems import DataPath
from checker.season.logs.columns import node_of
from checker.season.logs.decode import Figures
from checker.season.logs.model import Column, Role
from checker.units.arithmetic import NONE
from checker.units.kinds import KINDS
from checker.units.table import FACTORS


@dataclass(frozen=True, slots=True)
class Stated:
    """The words and figures of some hauls, by where they stand in a profile."""

    words: Mapping[DataPath, Any]
    """The same in all of them."""
    columns: Mapping[DataPath, Column]
    """The columns of the figures."""
    figures: Mapping[DataPath, Figures]
    """One row a haul; each is stated in one of them at least, by itself or by its profile."""
    loose: Set[DataPath]
    """The figures with a tolerance."""
    scaled: Set[DataPath]
    """The axle weights that follow the weight of their article; no haul states them itself."""
    alike: str
    """The same for hauls that differ in nothing but their numbers."""

    def texts(self) -> dict[DataPath, Any]:
        """What one of them might state: of each figure the first there is."""
        return self._texts(
            {path: int((~np.isnan(each.values)).argmax()) for path, each in self.figures.items()}
        )

    def texts_of(self, row: int) -> dict[DataPath, Any]:
        """What one of them states."""
        there = (path for path, each in self.figures.items() if not np.isnan(each.values[row]))
        return self._texts(dict.fromkeys(there, row))

    def _texts(self, rows: Mapping[DataPath, int]) -> dict[DataPath, Any]:
        """The words, and of each figure the text of one row."""
        texts = {
            path: _text(self.columns[path], self.figures[path], row) for path, row in rows.items()
        }
        return {**self.words, **texts}


def _text(column: Column, figures: Figures, row: int) -> str | float:
    """One number as a profile might state it; its unit tells whether it is metric."""
    here = figures.of(slice(row, row + 1))
    value, half, metric = (float(each[0]) for each in (here.values, here.halves, here.metric))
    if figures.texts is not None:
        return cast("str | float", figures.texts[row])
    if column.role is Role.ANSWER:
        return "yes" if value == 1 else "no"
    node = node_of(column.field)
    if node["type"] != "string":
        return int(value) if node["type"] == "integer" else value
    if value == NONE:
        return str(node["word_for_none"])
    kind = KINDS[node["quantity"]]
    unit = kind.si if metric else kind.us
    top, bottom = FACTORS[unit] if unit else (1, 1)
    # Not times the bottom first: that may be more than the largest number there is.
    text = f"{value / (top / bottom)!r} {unit}"
    return f"{text} +/- {half / (top / bottom)!r} {unit}" if half else text
