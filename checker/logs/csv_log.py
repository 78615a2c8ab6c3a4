"""Reads haul logs in CSV: UTF-8 with or without a byte order mark, commas, one header line.

A row in which every cell is blank is skipped, as an empty line is.
"""

import csv
import io
import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Final, TextIO

from checker.documents.document import mark_of_end, unify_line_ends
from checker.documents.problems import Mark, Problem, ProblemsFoundError
from checker.logs.columns import columns_of
from checker.logs.limits import MOST_ROW_BYTES
from checker.logs.model import (
    PART_BYTES,
    PART_ROWS,
    Column,
    Log,
    LogMapping,
    ReadRows,
    batch_of_rows,
)
from checker.logs.opening import open_log_file

_OTHER_SIGNS: Final = {";": "';'", "\t": "tabs"}
# Each with the comma or line end behind it.
_SOUND_CELLS: Final = re.compile(r'(?:(?:"[^"]*(?:""[^"]*)*"|[^",\n][^,\n]*|)[,\n])*')


def read(path: Path, mapping: LogMapping) -> Log:
    """The log in a CSV file; raises ProblemsFoundError if its header is not valid."""
    parts = _parts(path, mapping)
    # Runs up to the header, so that a wrong header is reported when the log is opened.
    assert next(parts) is None
    return Log(str(path), (part for part in parts if part), path.stat().st_size, mapping)


def _parts(path: Path, mapping: LogMapping) -> Iterator[ReadRows | None]:
    """Yields None after the header, then the parts."""
    with _read_errors_as_problems(path), open_log_file(path, "CSV text") as file:
        rows = _Rows(path, io.TextIOWrapper(file, encoding="utf-8-sig", newline=""))
        marks, headers = rows.header()
        columns = columns_of(str(path), headers, marks, mapping)
        yield None
        while not rows.ended:
            yield rows.part(columns)


@contextmanager
def _read_errors_as_problems(path: Path) -> Iterator[None]:
    """Raises ProblemsFoundError for a file that cannot be read, or is not UTF-8."""
    try:
        yield
    except OSError as error:
        found = f"a file that cannot be read ({error.strerror or error})"
        raise _problem(path, Mark(1, 1), found, "CSV text") from error
    except UnicodeDecodeError as error:
        # The text was decoded in blocks, so the error does not know the line.
        mark, byte = _first_wrong_byte(path)
        found = f"a file that is no CSV text{byte}"
        raise _problem(path, mark, found, "UTF-8 text") from error


def _problem(file: Path | str, mark: Mark, found: str, wanted: str) -> ProblemsFoundError:
    return ProblemsFoundError([Problem(str(file), mark, found, wanted)])


def _first_wrong_byte(path: Path) -> tuple[Mark, str]:
    with open_log_file(path, "CSV text") as lines:
        for number, line in enumerate(lines, start=1):
            try:
                line.decode()
            except UnicodeDecodeError as error:
                mark = Mark(number, len(line[: error.start].decode("utf-8-sig")) + 1)
                return mark, f" (the byte 0x{line[error.start]:02x} here)"
    return Mark(1, 1), ""


class _Rows:
    """The rows of a CSV text, one by one."""

    def __init__(self, file: Path | str, text: TextIO) -> None:
        self.file = file
        self.text = text
        self.row: list[str] = []
        """The lines of the row read last."""
        self.ended = False
        self.bytes_read = 0
        self.reader = csv.reader(self._lines(), strict=True)

    @property
    def lines_read(self) -> int:
        """Number of lines read so far."""
        return self.reader.line_num

    def _lines(self) -> Iterator[str]:
        size = 0
        while line := self.text.readline(MOST_ROW_BYTES + 1):
            bytes_of_line = len(line.encode())
            self.bytes_read += bytes_of_line
            size = bytes_of_line + (size if self.row else 0)
            self.row.append(line)
            if size > MOST_ROW_BYTES:
                begins = Mark(self.lines_read - len(self.row) + 2, 1)
                found = f"a row of more than {MOST_ROW_BYTES:,} bytes"
                raise _problem(self.file, begins, found, "one haul a row")
            yield line
        self.ended = True

    def next(self) -> list[str] | None:
        """The next row, None after the last; raises csv.Error if only this row is not valid."""
        self.row.clear()
        line = self.lines_read + 1
        try:
            return next(self.reader, None)
        except csv.Error as error:
            # An unclosed quote contains the rest of the file, so it is not the fault of one row.
            if not self.ended and self.lines_read == line:
                raise
            text = unify_line_ends("".join(self.row))
            sound = _SOUND_CELLS.match(text)
            assert sound is not None  # as it matches no cells, too
            below, column = mark_of_end(sound[0])
            wanted = "another at the end of its cell"
            mark = Mark(line + below - 1, column)
            raise _problem(self.file, mark, "a quote that is not closed", wanted) from error

    def part(self, columns: Sequence[Column | None]) -> ReadRows:
        """The next rows, as many as a part has."""
        begins = self.bytes_read
        batch = batch_of_rows(columns, self._next_rows(len(columns)))
        return ReadRows(batch, self.bytes_read - begins)

    def _next_rows(self, width: int) -> Iterator[tuple[int, Sequence[str] | str]]:
        """The rows of the next part by line; no cells for a blank one, else why one is refused."""
        begins = self.bytes_read
        for _ in range(PART_ROWS):
            line = self.lines_read + 1
            try:
                row = self.next()
            except csv.Error as error:
                yield line, f"found a row that is no CSV ({error})"
                continue
            if row is None:
                return
            if _is_blank(row):
                yield line, ()
            elif len(row) == width:
                yield line, row
            else:
                found = f"found more or fewer cells than columns: {len(row)}"
                yield line, f"{found}; wanted {width}"
            if self.bytes_read - begins >= PART_BYTES:
                return

    def header(self) -> tuple[list[Mark], list[str]]:
        """The location of each header, and the headers; skips blank rows above them."""
        cells: list[str] | None = []
        wrong: csv.Error | None = None
        try:
            while cells is not None and _is_blank(cells):
                cells = self.next()
        except csv.Error as error:
            wrong = error
        line, text = max(self.lines_read, 1), "".join(self.row[-1:])
        parted = next((name for sign, name in _OTHER_SIGNS.items() if sign in text), None)
        if parted is not None and "," not in text:
            raise _problem(self.file, Mark(line, 1), f"columns parted by {parted}", "commas")
        if wrong is not None:
            found = f"a header that is no CSV ({wrong})"
            raise _problem(self.file, Mark(line, 1), found, "names parted by commas")
        headers = [cell.strip() for cell in cells or ()]
        return _marks(text, line, len(headers)), headers


def _is_blank(row: Sequence[str]) -> bool:
    """True if all cells are blank, as spreadsheet programs may write below the last row."""
    return not any(map(str.strip, row))


def _marks(line: str, number: int, count: int) -> list[Mark]:
    """The location of each cell of a line; a comma between quotes does not separate cells."""
    starts, quoted = [1], False
    for column, letter in enumerate(line, start=1):
        quoted ^= letter == '"'
        if letter == "," and not quoted:
            starts.append(column + 1)
    # Of a header over several lines only the last line is known here.
    return [Mark(number, starts[index] if index < len(starts) else 1) for index in range(count)]
