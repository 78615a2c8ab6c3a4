"""The hauls of a log in a file, part by part, so that memory use does not grow with the log."""

from array import array
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from os import SEEK_END
from pathlib import Path
from tempfile import TemporaryFile, gettempdir
from typing import NamedTuple

import msgspec
import numpy as np

from checker.documents.files import write_error
from checker.documents.problems import Mark, Problem, ProblemsFoundError
from checker.logs.limits import MOST_COLUMNS
from checker.logs.model import Refused
from checker.logs.remarks import Remarks
from checker.season.hauls.reading import ParsedPart
from checker.season.hauls.table import Heading, Table
from checker.season.slips.haul_numbers import HaulNumbers, RepeatedNumbers
from checker.season.totals import Totals


class _Stored(NamedTuple):
    """Where a part is in the file: first its haul names and refused rows, then its records."""

    begin: int
    records_begin: int
    heading: Heading
    rows: range
    """From its first row to its last."""


class _RowsOfPart(msgspec.Struct):
    """What is known of the rows of a part beside the records of its hauls."""

    names: Mapping[int, str]
    refused: Sequence[Refused]


class PartStore:
    """Where the hauls of each load are in the parts of some logs; a context manager."""

    def __init__(self, folder: Path | None = None) -> None:
        """Store the hauls in a folder, else in that of temporary files.

        Raises NotWrittenError, here and in `put`.
        """
        self.read = 0
        """Number of rows in all parts."""
        self.refused = Totals()
        """The refused rows of all parts, and nothing else."""
        self.remarks = Remarks()
        self._folder = folder
        with self._written():
            self._file = TemporaryFile(dir=folder)  # noqa: SIM115 - closed at exit
        self._parts: list[_Stored] = []
        self._headings: dict[bytes, Heading] = {}
        # Three numbers for each part that has hauls of a load: index of the part, start, stop. An
        # array, because objects for hundreds of parts and loads would take the most memory of all.
        self.ranges: dict[str, array[int]] = {}
        """By load, in the order in which the logs first name them."""
        self._fields: dict[str, set[str]] = {}
        self._numbers = HaulNumbers()

    def __enter__(self) -> "PartStore":
        return self

    def __exit__(self, *_: object) -> None:
        # After a full disk, closing tries to write once more.
        with suppress(OSError):
            self._file.close()

    def put(self, log: str, part: ParsedPart) -> None:
        """Add the next part of a log.

        Raises ProblemsFoundError if all parts together state too many fields.
        """
        heading = part.hauls.heading
        fields = self._fields.setdefault(log, set())
        fields.update(column.field for column in heading.columns)
        if len(fields) > MOST_COLUMNS:
            found, wanted = f"{len(fields):,} fields in all rows", f"at most {MOST_COLUMNS:,}"
            raise ProblemsFoundError([Problem(log, Mark(1, 1), found, wanted)])
        for load, (start, stop) in part.loads.items():
            self.ranges.setdefault(load, array("q")).extend((len(self._parts), start, stop))
        # Most parts of a log have the same heading.
        heading = self._headings.setdefault(msgspec.msgpack.encode(heading), heading)
        rows = [*part.hauls.rows.tolist(), *(each.row for each in part.refused)]
        first, last = (min(rows), max(rows)) if rows else (0, -1)
        with self._written():
            begin = self._file.seek(0, SEEK_END)
            names = self._file.write(msgspec.msgpack.encode(_RowsOfPart(part.names, part.refused)))
            self._file.write(part.hauls.records.tobytes())
            self._file.flush()
        self._parts.append(_Stored(begin, begin + names, heading, range(first, last + 1)))
        self._numbers.add(part.names.values())
        self.read += part.read
        self.refused.refuse(part.refused)
        self.remarks.merge(part.remarks)

    @property
    def number(self) -> int:
        """Number of parts so far."""
        return len(self._parts)

    def drop_from(self, first: int) -> None:
        """Leave out the hauls of the parts from this one on, as those of a log that is refused."""
        for load in [*self.ranges]:
            ranges = zip(*[iter(self.ranges[load])] * 3, strict=True)
            kept = [number for each in ranges if each[0] < first for number in each]
            if kept:
                self.ranges[load] = array("q", kept)
            else:
                del self.ranges[load]

    @contextmanager
    def _written(self) -> Iterator[None]:
        try:
            yield
        except OSError as error:
            raise write_error(self._folder or Path(gettempdir()), error) from error

    def names(self, rows: Collection[int]) -> dict[int, str]:
        """The haul names that the logs state for some rows."""
        found: dict[int, str] = {}
        first, last = (min(rows), max(rows)) if rows else (0, -1)
        for part in self._parts:
            if part.rows.start <= last and first < part.rows.stop:
                names = self._rows_of(part).names
                found |= {row: name for row, name in names.items() if row in rows}
        return found

    def refused_rows(self) -> Iterator[tuple[Sequence[Refused], Mapping[int, str]]]:
        """The refused rows of each part that has some, with the names that the log states there."""
        for part in self._parts:
            rows = self._rows_of(part)
            if rows.refused:
                yield rows.refused, rows.names

    def _rows_of(self, part: _Stored) -> "_RowsOfPart":
        self._file.seek(part.begin)
        return msgspec.msgpack.decode(
            self._file.read(part.records_begin - part.begin), type=_RowsOfPart
        )

    def repeated_numbers(self) -> RepeatedNumbers:
        """The haul names that the logs state more than once."""
        return self._numbers.repeated(lambda part: self._rows_of(self._parts[part]).names)

    def slices(self, loads: Iterable[str]) -> Iterator[tuple[str, Table]]:
        """The hauls of some loads, part by part, so that hauls of all loads come early."""
        of_part: dict[int, list[tuple[str, int, int]]] = {}
        for load in loads:
            numbers = iter(self.ranges[load])
            for index, start, stop in zip(numbers, numbers, numbers, strict=True):
                of_part.setdefault(index, []).append((load, start, stop))
        for index, ranges in sorted(of_part.items()):
            for load, start, stop in ranges:
                yield load, self._table(index, start, stop)

    def hauls(self, rows: Collection[int]) -> dict[int, tuple[str, Table]]:
        """The load of some rows, and each haul as a table of its own; refused rows are left out."""
        wanted = np.array(sorted(rows), dtype=np.int64)
        found: dict[int, tuple[str, Table]] = {}
        for load, ranges in self.ranges.items():
            numbers = iter(ranges)
            for index, start, stop in zip(numbers, numbers, numbers, strict=True):
                part = self._parts[index]
                if ((wanted >= part.rows.start) & (wanted < part.rows.stop)).any():
                    table = self._table(index, start, stop)
                    for at in np.flatnonzero(np.isin(table.rows, wanted)).tolist():
                        found[int(table.rows[at])] = load, table.take([at])
        return found

    def _table(self, index: int, start: int, stop: int) -> Table:
        """Some records of a part."""
        part = self._parts[index]
        dtype = part.heading.dtype
        self._file.seek(part.records_begin + start * dtype.itemsize)
        written = self._file.read((stop - start) * dtype.itemsize)
        return Table(part.heading, np.frombuffer(written, dtype))
