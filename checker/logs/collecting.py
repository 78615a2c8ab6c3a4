"""Joins rows that each name their own columns into a batch."""

from collections.abc import Iterable, Mapping

from checker.documents.problems import quoted
from checker.logs.columns import WANTED, column_of
from checker.logs.limits import MOST_FIELDS
from checker.logs.model import Batch, Cell, Column, Refused

Row = Mapping[Column, Cell]


def to_batch(rows: Iterable[tuple[int, Row | str]]) -> Batch:
    """The batch of numbered rows; a text in place of a row is the reason why it is refused.

    A column that a row lacks is blank there.
    """
    columns: dict[str, Column] = {role.value: column_of(role.value) for role in WANTED}
    numbers: list[int] = []
    taken: list[Mapping[str, Cell]] = []
    refused: list[Refused] = []
    fitting: list[Column] = []
    for number, row in rows:
        if isinstance(row, str):
            refused.append(Refused(number, row))
            continue
        # Most rows have the columns of the row before, which fit.
        if (named := list(row)) != fitting:
            if fault := _other_unit(row, columns) or _too_many_fields(row, columns):
                refused.append(Refused(number, fault))
                continue
            fitting = named
            for column in named:
                columns.setdefault(column.field, column)
        numbers.append(number)
        taken.append({column.field: cell for column, cell in row.items()})
    cells = {field: [row.get(field) for row in taken] for field in columns}
    return Batch(list(columns.values()), numbers, cells, refused)


def _other_unit(row: Row, columns: Mapping[str, Column]) -> str | None:
    """The problem of a row that states a field in another unit than earlier rows; else None."""
    for column in row:
        before = columns.get(column.field, column)
        if before.unit != column.unit:
            wanted = f"{quoted(before.header)}, as in the rows before it"
            return f"found {quoted(column.header)}; wanted {wanted}"
    return None


def _too_many_fields(row: Row, columns: Mapping[str, Column]) -> str | None:
    """The problem of a row that adds too many fields to a batch; else None.

    Each field takes memory in all rows, however few of them state it.
    """
    new = [column.field for column in row if column.field not in columns]
    if not new or len(columns) + len(new) <= MOST_FIELDS:
        return None
    wanted = f"at most {MOST_FIELDS} fields in the rows of one part"
    return f"found one field more, {quoted(new[-1])}; wanted {wanted}"
