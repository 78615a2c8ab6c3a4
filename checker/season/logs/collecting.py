"""Rows that each name their own columns put together as batches, and batches as parts."""

from collections.abc import Callable, Iterable, Iterator, Mapping

from checker.documents.problems import quoted
from checker.season.logs.columns import WANTED, column_of
from checker.season.logs.limits import MOST_FIELDS
from checker.season.logs.model import BATCH_ROWS, Batch, Cell, Column, Held, Refused

Row = Mapping[Column, Cell]


def in_parts(batches: Iterator[Batch], at: Callable[[], int], begin: int) -> Iterator[Held]:
    """Batches that only reading from the beginning finds; `at` says how far it has come."""
    for batch in batches:
        end = at()
        yield Held(end - begin, [batch])
        begin = end


def collected(rows: Iterable[tuple[int, Row | str]]) -> Iterator[Batch]:
    """Batches of rows, each with its number; a text in place of a row says why it is refused."""
    fields = {role.value for role in WANTED}
    open_batch = _Collecting(fields)
    for number, row in rows:
        open_batch.take(number, row)
        if open_batch.rows == BATCH_ROWS:
            yield open_batch.batch()
            open_batch = _Collecting(fields)
    if open_batch.rows:
        yield open_batch.batch()


class _Collecting:
    """One batch while it grows; a column that a row lacks is blank there."""

    def __init__(self, fields: set[str]) -> None:
        """Add to the `fields` of all batches that are held together."""
        self.fields = fields
        self.rows = 0
        self.columns = {role.value: column_of(role.value) for role in WANTED}
        self.cells: dict[str, list[Cell]] = {field: [] for field in self.columns}
        self.numbers: list[int] = []
        self.refused: list[Refused] = []

    def take(self, number: int, row: Row | str) -> None:
        """One more row."""
        self.rows += 1
        said = row if isinstance(row, str) else self._other_unit(row) or self._too_many(row)
        if said is not None or isinstance(row, str):
            self.refused.append(Refused(number, said or ""))
            return
        self.numbers.append(number)
        for column, cell in row.items():
            if column.field not in self.cells:
                self.fields.add(column.field)
                self.columns[column.field] = column
                self.cells[column.field] = [None] * (len(self.numbers) - 1)
            self.cells[column.field].append(cell)
        for cells in self.cells.values():
            if len(cells) < len(self.numbers):
                cells.append(None)

    def _other_unit(self, row: Row) -> str | None:
        """What to say of a row that has a field in another unit than the rows before it."""
        for column in row:
            before = self.columns.get(column.field, column)
            if before.unit != column.unit:
                return (
                    f"found {quoted(column.header)}; wanted {quoted(before.header)}, "
                    "as in the rows before it"
                )
        return None

    def _too_many(self, row: Row) -> str | None:
        """What to say of a row with which there would be more fields than memory is meant for.

        Each is a column of all the rows, however few of them state it.
        """
        new = [column.field for column in row if column.field not in self.fields]
        if not new or len(self.fields) + len(new) <= MOST_FIELDS:
            return None
        wanted = f"at most {MOST_FIELDS} fields in the rows that stand together"
        return f"found one field more, {quoted(new[-1])}; wanted {wanted}"

    def batch(self) -> Batch:
        """The rows so far."""
        return Batch(list(self.columns.values()), self.numbers, self.cells, self.refused)
