"""Finds the parts of a table: the headers, a row of units, the hauls, and rows that are none."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Final

from checker.logs.cells import as_text
from checker.logs.columns import header_text
from checker.logs.drafting.cells import days_of, has_figures, is_empty
from checker.logs.drafting.headers import HeaderMeant, meant_by, usual_unit
from checker.logs.drafting.sample import Sample
from checker.logs.drafting.scalars import can_be_written
from checker.logs.model import Cell

_MOST_ABOVE: Final = 30
_TOTAL: Final = re.compile(
    r"(?:grand |sub-?)?(?:totals?|sum|summe|gesamt|zwischensumme|somme)\b", re.IGNORECASE
)


@dataclass(slots=True)
class Table:
    """The parts of a table. Rows are numbered as in the file."""

    sample: Sample
    header_row: int
    headers: Sequence[str]
    meant: Sequence[HeaderMeant]
    units: Sequence[str] = ()
    """The texts of the row of units; empty if there is none."""
    hauls: list[Sequence[Cell]] = field(default_factory=list)
    rows: list[int] = field(default_factory=list)
    """The row of each haul."""
    totals: dict[str, list[str]] = field(default_factory=dict)
    """By header, the cells that mark a row of totals."""
    repeated: list[int] = field(default_factory=list)
    lone: list[tuple[int, str]] = field(default_factory=list)
    """Rows with a text in one cell alone."""

    @property
    def score(self) -> int:
        """How much the headers are like those of hauls."""
        return sum(1 for each in self.meant if each.field)

    def cells(self, index: int) -> list[Cell]:
        """The cells of a column in the rows of hauls."""
        return [row[index] if index < len(row) else None for row in self.hauls]


def table_of(sample: Sample) -> Table | None:
    """The table in a sample; None if it has no row that could be headers."""
    rows = list(sample.rows)
    if not rows:
        return None
    most = 1 if sample.header_row == 0 else _MOST_ABOVE
    tables = [_headed(sample, index) for index in range(min(most, len(rows)))]
    # Of rows that are as much like headers, the one with most texts, then the first.
    best = max(tables, key=lambda each: (each.score, _texts(each)), default=None)
    if best is None or not any(best.headers):
        return None
    _sort_rows(best, rows)
    return best


def _texts(table: Table) -> int:
    """The number of headers that are texts, as data seldom are."""
    return sum(bool(header) and not header[0].isdigit() for header in table.headers)


def _headed(sample: Sample, index: int) -> Table:
    number, row = sample.rows[index]
    headers = ["" if is_empty(cell) else header_text(as_text(cell)) for cell in row]
    by_number = dict(sample.rows)
    for each in sample.merged.get(number, ()):
        if each.top < number and each.left == each.right:
            above = by_number.get(each.top, ())
            headers += [""] * (each.left - len(headers))
            if each.left <= len(above) and not is_empty(above[each.left - 1]):
                headers[each.left - 1] = header_text(as_text(above[each.left - 1]))
    while headers and not headers[-1]:
        headers.pop()
    return Table(sample, number, headers, [meant_by(header) for header in headers])


def _sort_rows(table: Table, rows: Sequence[tuple[int, Sequence[Cell]]]) -> None:
    """Divide the rows below the headers into units, hauls and others."""
    below = [(number, row) for number, row in rows if number > table.header_row]
    if table.sample.header_row == 0:  # no rows can be left out where columns have names
        table.hauls += [row for _, row in below]
        table.rows += [number for number, _ in below]
        return
    if below and below[0][0] == table.header_row + 1 and _are_units(below[0][1]):
        table.units = ["" if is_empty(cell) else as_text(cell).strip() for cell in below[0][1]]
        below = below[1:]
    for number, row in below:
        filled = [(index, cell) for index, cell in enumerate(row) if not is_empty(cell)]
        total = _total_in(filled, table.headers)
        texts = ["" if is_empty(cell) else header_text(as_text(cell)) for cell in row]
        if [text for text in texts if text] == [text for text in table.headers if text]:
            table.repeated.append(number)
        elif total:
            header, text = total
            words = table.totals.setdefault(header, [])
            if text not in words and can_be_written(text):
                words.append(text)
        elif len(filled) == 1 and _is_note(filled[0][1]):
            table.lone.append((number, str(filled[0][1])))
        else:
            table.hauls.append(row)
            table.rows.append(number)


def _total_in(filled: Sequence[tuple[int, Cell]], headers: Sequence[str]) -> tuple[str, str] | None:
    """The header and the text of the cell that marks a row of totals."""
    for index, cell in filled:
        if isinstance(cell, str) and _TOTAL.match(cell.strip()) and index < len(headers):
            return (headers[index], cell.strip()) if headers[index] else None
    return None


def _is_note(cell: Cell) -> bool:
    return isinstance(cell, str) and days_of([cell]) is None and not has_figures([cell])


def _are_units(row: Sequence[Cell]) -> bool:
    """True if a row has units, and neither figures nor days."""
    filled = [cell for cell in row if not is_empty(cell)]
    texts = [cell.strip("[]() ") for cell in filled if isinstance(cell, str)]
    if len(texts) < len(filled) or has_figures(texts) or days_of(texts):
        return False
    units = [text for text in texts if text and usual_unit(text) is not None]
    return bool(units) and len(units) * 2 >= len(texts)


def tables_of(samples: Sequence[Sample]) -> Iterator[Table]:
    """The table of each sample that has one."""
    for sample in samples:
        table = table_of(sample)
        if table is not None:
            yield table
