"""Rows that each name their own columns put together as a batch."""

from collections.abc import Iterable, Mapping

from checker.documents.problems import quoted
from checker.season.logs.columns import WANTED, column_of
from checker.season.logs.limits import MOST_FIELDS
from checker.season.logs.model import Batch, Cell, Column, Refused

Row = Mapping[Column, Cell]


def collected(rows: Iterable[tuple[int, Row | str]]) -> Batch:
    """The batch of rows, each with its number; a text instead of a row is why it is refused.

    A column that a row lacks is blank there.
    """
    columns: dict[str, Column] = {role.value: column_of(role.value) for role in WANTED}
    numbers: list[int] = []
    taken: list[Mapping[str, Cell]] = []
    refused: list[Refused] = []
    for number, row in rows:
        fault = row if isinstance(row, str) else _other_unit(row, columns) or _many(row, columns)
        if fault or isinstance(row, str):
            refused.append(Refused(number, fault or ""))
            continue
        numbers.append(number)
        taken.append({column.field: cell for column, cell in row.items()})
        for column in row:
            columns.setdefault(column.field, column)
    cells = {field: [row.get(field) for row in taken] for field in columns}
    return Batch(list(columns.values()), numbers, cells, refused)


def _other_unit(row: Row, columns: Mapping[str, Column]) -> str | None:
    """What is wrong with a row that has a field in another unit than the rows before it."""
    for column in row:
        before = columns.get(column.field, column)
        if before.unit != column.unit:
            wanted = f"{quoted(before.header)}, as in the rows before it"
            return f"found {quoted(column.header)}; wanted {wanted}"
    return None


def _many(row: Row, columns: Mapping[str, Column]) -> str | None:
    """What is wrong with a row with which there would be more fields than memory is meant for.

    Each is a column of all the rows, however few of them state it.
    """
    new = [column.field for column in row if column.field not in columns]
    if not new or len(columns) + len(new) <= MOST_FIELDS:
        return None
    wanted = f"at most {MOST_FIELDS} fields in the rows that stand together"
    return f"found one field more, {quoted(new[-1])}; wanted {wanted}"
