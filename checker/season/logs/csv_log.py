"""Haul logs in CSV: UTF-8 with or without a mark, commas, one header line."""

import csv
from collections.abc import Iterator, Sequence
from itertools import compress
from pathlib import Path

from checker.documents.problems import Mark, Problem, ProblemsFoundError
from checker.season.logs.columns import columns_of
from checker.season.logs.model import BATCH_ROWS, Batch, Column, Log, OwnWords, Refused


def read(path: Path, own: OwnWords) -> Log:
    """The log in a CSV file; raises ProblemsFoundError where its header is not one."""
    batches = _batches(path, own)
    # Runs up to the header, so that whoever opens a log hears of it at once.
    assert next(batches) is None
    return Log(str(path), (batch for batch in batches if batch is not None))


def _batches(path: Path, own: OwnWords) -> Iterator[Batch | None]:
    """Nothing once the header is read, then the rows."""
    try:
        with path.open(encoding="utf-8-sig", newline="") as file:
            rows = _Rows(file)
            marks, headers = rows.header()
            columns = columns_of(str(path), headers, marks, own)
            yield None
            while (batch := rows.batch(columns)) is not None:
                yield batch
    except (OSError, UnicodeDecodeError, csv.Error) as error:
        found = f"a file that is no CSV text ({error})"
        raise ProblemsFoundError([Problem(str(path), Mark(1, 1), found, "UTF-8 text")]) from error


class _Rows:
    """The rows of a CSV text, each with the line it begins on."""

    def __init__(self, lines: Iterator[str]) -> None:
        self.lines = lines
        self.last = ""
        self.ended = False
        self.reader = csv.reader(self._noted(), strict=True)

    def _noted(self) -> Iterator[str]:
        for line in self.lines:
            self.last = line
            yield line
        self.ended = True

    def header(self) -> tuple[list[Mark], list[str]]:
        """The headers and where each begins; blank lines above them are passed over."""
        cells = next((row for row in self.reader if row), [])
        line = max(self.reader.line_num, 1)
        headers = [cell.strip() for cell in cells]
        return _marks(self.last, line, len(headers)), headers

    def batch(self, columns: Sequence[Column | None]) -> Batch | None:
        """The next rows; None after the last."""
        width = len(columns)
        numbers: list[int] = []
        rows: list[list[str]] = []
        refused: list[Refused] = []
        while len(rows) + len(refused) < BATCH_ROWS:
            line = self.reader.line_num + 1
            try:
                row = next(self.reader, None)
            except csv.Error as error:
                # A quote that is not closed takes in all that follows: no row to leave out.
                if self.ended or self.reader.line_num > line:
                    raise
                refused.append(Refused(line, f"found a row that is no CSV ({error})"))
                continue
            if row is None:
                break
            if len(row) == width:
                rows.append(row)
                numbers.append(line)
            elif row:
                said = "found more or fewer cells than columns"
                refused.append(Refused(line, f"{said}: {len(row)}; wanted {width}"))
        if not rows and not refused:
            return None
        used = [column for column in columns if column is not None]
        turned = list(zip(*rows, strict=True)) if rows else [()] * width
        kept = compress(turned, columns)
        cells = {column.field: cells for column, cells in zip(used, kept, strict=True)}
        return Batch(used, numbers, cells, refused)


def _marks(line: str, number: int, count: int) -> list[Mark]:
    """Where each cell of a line begins; a comma between quotes does not part cells."""
    starts, quoted = [1], False
    for place, letter in enumerate(line, start=1):
        quoted ^= letter == '"'
        if letter == "," and not quoted:
            starts.append(place + 1)
    # A header over several lines is placed by its last line, as far as that tells.
    return [Mark(number, starts[index] if index < len(starts) else 1) for index in range(count)]
