"""A drawing in characters: metres become cells, each about twice as high as wide."""

from collections.abc import Sequence
from itertools import pairwise

from msgspec import Struct

Position = tuple[float, float]
"""Across the page and down it, in m."""

CELL_ASPECT = 2
"""A character cell of most fonts is about twice as high as wide."""


class Scale(Struct, frozen=True):
    """Maps a position to a cell: `step` metres a column, `CELL_ASPECT` times as many a row.

    `origin` is the position of the middle of the first column and row.
    """

    step: float
    origin: Position

    def column(self, across: float) -> int:
        """The column of a position."""
        return round((across - self.origin[0]) / self.step)

    def row(self, down: float) -> int:
        """The row of a position."""
        return round((down - self.origin[1]) / (CELL_ASPECT * self.step))


class Canvas:
    """A grid of characters, drawn over one another; what falls outside is left out."""

    def __init__(self, scale: Scale, columns: int, rows: int) -> None:
        """An empty canvas of so many columns and rows."""
        self.scale = scale
        self._cells = [[" "] * columns for _ in range(rows)]
        self._taken: set[tuple[int, int]] = set()

    def cell(self, position: Position) -> tuple[int, int]:
        """Column and row of a position."""
        across, down = position
        return self.scale.column(across), self.scale.row(down)

    def put(self, column: int, row: int, mark: str) -> None:
        """Write one character."""
        if 0 <= row < len(self._cells) and 0 <= column < len(self._cells[row]):
            self._cells[row][column] = mark

    def mark(self, position: Position, text: str) -> None:
        """Write a mark of one or more characters centred on a position."""
        for (column, row), character in zip(self._cells_of(position, text), text, strict=True):
            self.put(column, row, character)

    def is_labelled(self, position: Position, text: str) -> bool:
        """True if a mark at a position would overwrite a label."""
        return not self._taken.isdisjoint(self._cells_of(position, text))

    def _cells_of(self, position: Position, text: str) -> list[tuple[int, int]]:
        column, row = self.cell(position)
        first = column - (len(text) - 1) // 2
        return [(first + number, row) for number in range(len(text))]

    def label(self, position: Position, text: str) -> None:
        """Write a label at a position, or in the nearest free cells of its row."""
        column, row = self.cell(position)
        reach = len(self._cells[0])
        for shift in sorted(range(-reach, reach), key=lambda by: (abs(by), by)):
            start = column + shift
            cells = [(start + number, row) for number in range(len(text))]
            if start >= 0 and start + len(text) <= reach and not self._taken & set(cells):
                self._taken |= set(cells)
                for (at, _), character in zip(cells, text, strict=True):
                    self.put(at, row, character)
                return

    def line(self, path: Sequence[Position], mark: str) -> None:
        """Write a mark in every cell on a line through these positions."""
        for start, end in pairwise(path):
            (left, top), (right, bottom) = self.cell(start), self.cell(end)
            steps = max(abs(right - left), abs(bottom - top), 1)
            for number in range(steps + 1):
                share = number / steps
                self.put(
                    round(left + share * (right - left)),
                    round(top + share * (bottom - top)),
                    mark,
                )

    def frame(self, first: Position, last: Position, marks: str) -> None:
        """Write an outline between two corners.

        `marks` are its corners from the top left on, row by row, then its level and its upright
        sides: six characters.
        """
        (left, top), (right, bottom) = self.cell(first), self.cell(last)
        for column in range(left + 1, right):
            self.put(column, top, marks[4])
            self.put(column, bottom, marks[4])
        for row in range(top + 1, bottom):
            self.put(left, row, marks[5])
            self.put(right, row, marks[5])
        corners = ((left, top), (right, top), (left, bottom), (right, bottom))
        for (column, row), mark in zip(corners, marks, strict=False):
            self.put(column, row, mark)

    def lines(self) -> list[str]:
        """The drawing, without spaces at the ends of lines."""
        return ["".join(row).rstrip() for row in self._cells]
