"""A part of a log read: its hauls as numbers, those of each load together.

This is the first half of an audit. What it gives is small, plain and fit to be stored: one array of
records, and beside it the names that stand there as numbers.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from checker.season.alike import at, once
from checker.season.logs.decode import (
    DayDecoder,
    Faults,
    FigureDecoder,
    Figures,
    NameDecoder,
    WordDecoder,
)
from checker.season.logs.model import (
    OF_THE_HAUL,
    Batch,
    Cell,
    Column,
    OwnWords,
    Part,
    Refused,
    Role,
)
from checker.season.logs.plain_cells import PlainCells
from checker.season.logs.settling import NO_LOAD, as_text, words_for
from checker.season.table import Named, Table, as_met, joined, one_list
from checker.season.totals import MOST_TOLD
from checker.units.words import Unit, own_units


@dataclass(frozen=True, slots=True)
class Heading:
    """What the fields of the records are: `figures` and `words` in the order of their numbers."""

    figures: Sequence[Column]
    words: Sequence[tuple[Column, Sequence[Any]]]
    crews: Sequence[str]

    @property
    def columns(self) -> Sequence[Column]:
        """All of them, figures first."""
        return (*self.figures, *(column for column, _ in self.words))


Piece = tuple[NDArray[np.void], Heading]
"""Some records, and what their fields are."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """The hauls of a part, sorted by load, then as they stand.

    `records` has the fields row, day and crew, then for each column of figures value0, and half0
    and metric0 where some haul has a tolerance or a metric unit, for each column of words word0.
    Answers that are blank are -1 there.
    `loads` says where those of each load begin and end. `names` are the hauls' own, a line each in
    UTF-8, and `named` says which rows they are of: from where on how many.
    """

    records: NDArray[np.void]
    heading: Heading
    loads: Mapping[str, tuple[int, int]]
    read: int
    refused: int
    refusals: Sequence[Refused]
    """The first of them."""
    names: bytes
    named: Sequence[tuple[int, int]]


def read_part(part: Part, own: OwnWords) -> Sheet:
    """Read a part of a log; read rows are those in the records and those refused.

    Raises ProblemsFoundError where the file turns out to be unreadable.
    """
    known = _decoders(own, own_units())
    sheet = _Reading(known).sheet(part)
    if known.cells > _MOST_CELLS:
        _decoders.cache_clear()
    return sheet


def unpacked(loads: Sequence[Sequence[Piece]]) -> tuple[Table, NDArray[np.intp]]:
    """The hauls of some loads as columns, and the place of each haul's load.

    A log in many parts has its hauls in many pieces: those of the same fields are taken together.
    """
    alike: dict[Any, tuple[list[Piece], list[NDArray[np.intp]]]] = {}
    seen: dict[tuple[int, Any], Any] = {}
    for place, pieces in enumerate(loads):
        for records, heading in pieces:
            # Many pieces share few headings, and columns are slow keys.
            told = (id(heading), records.dtype)
            if told not in seen:
                seen[told] = alike.setdefault((records.dtype, heading.columns), ([], []))
            same = seen[told]
            same[0].append((records, heading))
            same[1].append(np.full(len(records), place))
    tables = [_table(pieces) for pieces, _ in alike.values()]
    load_of = [places for _, several in alike.values() for places in several]
    return joined(tables), np.concatenate(load_of)


def _table(pieces: Sequence[Piece]) -> Table:
    """Pieces with the same fields, one below the other, as columns."""
    # As bytes: numpy compares the fields of records one by one before it puts them together.
    dtype = pieces[0][0].dtype
    records = np.frombuffer(b"".join(records.tobytes() for records, _ in pieces), dtype)
    headings = [heading for _, heading in pieces]
    has = records.dtype.names or ()
    figures = {}
    for number, column in enumerate(headings[0].figures):
        values = records[f"value{number}"].astype(float)
        if column.role is Role.ANSWER:
            values[values < 0] = np.nan
        halves, metric = f"half{number}", f"metric{number}"
        figures[column] = Figures(
            values,
            once(records[halves]) if halves in has else np.zeros(1),
            once(records[metric]) if metric in has else np.zeros(1, dtype=bool),
        )

    def named(field: str, names: Iterable[Sequence[Any]]) -> Named:
        codes = (records[field] for records, _ in pieces)
        return one_list([Named(each, found) for each, found in zip(codes, names, strict=True)])

    words = {
        column: named(f"word{number}", (heading.words[number][1] for heading in headings))
        for number, (column, _) in enumerate(headings[0].words)
    }
    crews = named("crew", (heading.crews for heading in headings))
    return Table(records["row"].copy(), records["day"].copy(), crews, figures, words)


class _Decoders:
    """What the cells of each column stand for, as far as this process has met them."""

    def __init__(self, own: OwnWords) -> None:
        self.own = own
        self.names_of: dict[Role, NameDecoder] = {}
        self.days: dict[Column, DayDecoder] = {}
        self.figures: dict[Column, FigureDecoder] = {}
        self.words: dict[Column, WordDecoder] = {}

    @property
    def cells(self) -> int:
        """How many distinct cells are known."""
        all_of = (self.names_of, self.days, self.figures, self.words)
        return sum(len(each.codes) for decoders in all_of for each in decoders.values())

    def names(self, batch: Batch, column: Column) -> tuple[NDArray[np.intp], Faults]:
        """Places in the names found for the role of the column."""
        if column.role not in self.names_of:
            # Without a load a row cannot be judged; a crew need not be named.
            wanted = NO_LOAD if column.role is Role.LOAD else None
            self.names_of[column.role] = NameDecoder(words_for(column, self.own), wanted)
        return self.names_of[column.role](batch.cells[column.field])

    def days_of(self, batch: Batch, column: Column) -> tuple[NDArray[np.int64], Faults]:
        """Days since 0001-01-01."""
        if column not in self.days:
            self.days[column] = DayDecoder(words_for(column, self.own), self.own.dates)
        return self.days[column](batch.cells[column.field])

    def of_figures(self, column: Column) -> FigureDecoder:
        """What reads a column of figures or answers."""
        if column not in self.figures:
            self.figures[column] = FigureDecoder(column, words_for(column, self.own))
        return self.figures[column]

    def of_words(self, column: Column) -> WordDecoder:
        """What reads a column of words or lists."""
        if column not in self.words:
            self.words[column] = WordDecoder(column, words_for(column, self.own))
        return self.words[column]


@lru_cache(maxsize=1)
def _decoders(own: OwnWords, _units: tuple[Unit, ...]) -> _Decoders:
    """Those of this process; what cells stand for under other units is not used."""
    return _Decoders(own)


_MOST_CELLS: Final = 1 << 17
"""When so many distinct cells are known they are forgotten, or memory would grow with the log."""


class _Reading:
    """The columns of a part, read batch after batch."""

    def __init__(self, decoders: _Decoders) -> None:
        self.decoders = decoders
        self.read = 0
        self.refused = 0
        self.refusals: list[Refused] = []
        self.names: list[bytes] = []
        self.named: list[tuple[int, int]] = []

    def sheet(self, part: Part) -> Sheet:
        tables, loads = [], []
        for batch in part.batches():
            table, of_load = self._taken(batch)
            tables.append(table)
            loads.append(of_load)
        if not tables:
            empty = np.zeros(0, dtype=np.int64)
            tables, loads = [Table(empty, empty, Named(empty, [""]), {}, {})], [empty]
        names_of = self.decoders.names_of
        names = names_of[Role.LOAD].found if names_of else [""]
        return self._packed(joined(tables), as_met(Named(np.concatenate(loads), names)))

    def _taken(self, batch: Batch) -> tuple[Table, NDArray[np.intp]]:
        """The hauls of a batch with their cells as numbers; what cannot be read is refused."""
        self.read += len(batch.numbers) + len(batch.refused)
        self._refuse(batch.refused)
        by_role = {column.role: column for column in batch.columns if column.role in OF_THE_HAUL}
        loads, without = self.decoders.names(batch, by_role[Role.LOAD])
        days, undated = self.decoders.days_of(batch, by_role[Role.DATE])
        lacking = {**dict(undated), **dict(without)}
        said = dict(lacking)
        figures: dict[Column, Figures] = {}
        words: dict[Column, Named] = {}
        for column in batch.columns:
            if column.role in OF_THE_HAUL:
                continue
            cells = batch.cells[column.field]
            faults: Faults
            # Once its cells are read, how a log writes a column is of no matter: in one log, rows
            # may have a field in two units.
            read = Column(column.field, column.field, column.role)
            if column.role in (Role.QUANTITY, Role.ANSWER):
                figures[read] = self.decoders.of_figures(column)(cells)
                faults = figures[read].faults
            else:
                decoder = self.decoders.of_words(column)
                codes, faults = decoder(cells)
                words[read] = Named(codes, decoder.found)
            for place, fault in faults:
                if place not in lacking:
                    said[place] = f"{said[place]}; {fault}" if place in said else fault
        rows = batch.numbers
        # Numpy asks a range for its numbers one by one.
        all_of = isinstance(rows, range)
        numbers = np.arange(rows[0], rows[-1] + 1) if all_of and rows else np.array(rows, dtype=int)
        self._refuse([Refused(int(numbers[place]), said[place]) for place in sorted(said)])
        crews = Named(np.zeros(len(numbers), dtype=np.int64), [""])
        if Role.CREW in by_role:
            codes, _ = self.decoders.names(batch, by_role[Role.CREW])
            crews = Named(codes, self.decoders.names_of[Role.CREW].found)
        table = Table(numbers, days, crews, figures, words)
        if Role.HAUL in by_role:
            self.names.append(_lines(batch.cells[Role.HAUL]))
            self.named += _runs(numbers)
        if not said:
            return table, loads
        kept = np.ones(len(numbers), dtype=bool)
        kept[list(said)] = False
        return table.of(kept), loads[kept]

    def _refuse(self, refused: Sequence[Refused]) -> None:
        self.refused += len(refused)
        self.refusals += refused[: MOST_TOLD - len(self.refusals)]

    def _packed(self, table: Table, loads: Named) -> Sheet:
        # Which names stand here must not rest on what this process has read before.
        words = {column: as_met(each) for column, each in table.words.items()}
        table = replace(table, crews=as_met(table.crews), words=words)
        columns = dict(_columns(table))
        dtype = [(name, column.dtype.str) for name, column in columns.items()]
        records = np.empty(len(table.rows), dtype=dtype)
        order = np.argsort(loads.codes, kind="stable")
        for name, column in columns.items():
            records[name] = at(column, order)
        starts = np.searchsorted(loads.codes[order], np.arange(len(loads.names) + 1)).tolist()
        return Sheet(
            records=records,
            heading=Heading(
                figures=list(table.figures),
                words=[(column, each.names) for column, each in words.items()],
                crews=table.crews.names,
            ),
            loads={
                name: (starts[code], starts[code + 1])
                for code, name in enumerate(loads.names)
                if starts[code + 1] > starts[code]
            },
            read=self.read,
            refused=self.refused,
            refusals=self.refusals,
            names=b"".join(self.names),
            named=self.named,
        )


def _lines(cells: Sequence[Cell]) -> bytes:
    """Cells as texts, each on a line of its own."""
    if isinstance(cells, PlainCells):
        return cells.lines()
    texts = ("" if cell is None else as_text(cell).replace("\n", " ") for cell in cells)
    return "".join(f"{text}\n" for text in texts).encode(errors="surrogatepass")


def _runs(numbers: NDArray[np.int64]) -> Iterator[tuple[int, int]]:
    """Ascending numbers as stretches without a gap: where each begins, and how long it is."""
    starts = np.flatnonzero(np.diff(numbers, prepend=-1) != 1)
    for start, stop in pairwise([*starts.tolist(), len(numbers)]):
        yield int(numbers[start]), stop - start


def _columns(table: Table) -> Iterator[tuple[str, NDArray[Any]]]:
    """The fields of the records, as small as they may be."""
    yield "row", table.rows
    yield "day", table.days.astype(np.int32)
    yield "crew", table.crews.codes.astype(np.int32)
    for number, (column, each) in enumerate(table.figures.items()):
        values: NDArray[Any] = each.values
        if column.role is Role.ANSWER:
            values = np.where(np.isnan(values), -1, values).astype(np.int8)
        yield f"value{number}", values
        if each.halves.any():
            yield f"half{number}", each.halves
        if each.metric.any():
            yield f"metric{number}", each.metric
    for number, named in enumerate(table.words.values()):
        yield f"word{number}", named.codes.astype(np.int32)
