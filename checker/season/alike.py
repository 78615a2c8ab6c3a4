"""Columns of which one row stands for all: most of them say the same of every haul."""

from typing import Any, TypeVar, cast

import numpy as np
from numpy.typing import NDArray

Column = TypeVar("Column", bound=NDArray[Any])


def once(column: Column) -> Column:
    """The column, or its first row where all its rows are alike."""
    if column.size <= 1 or not (column == column[0]).all():
        return column
    return cast("Column", column[:1])


def at(column: Column, rows: Any) -> Column:
    """Some rows of a column; where one stands for all, that one."""
    return column if column.size == 1 else cast("Column", column[rows])


def in_full(column: Column, rows: int) -> Column:
    """A column with so many rows, to be read only."""
    return cast("Column", np.broadcast_to(column, (rows,)))
