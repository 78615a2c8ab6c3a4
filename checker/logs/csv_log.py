"""Reads haul logs in CSV: UTF-8 with or without a byte order mark, commas, one header line.

A mapping file may name another encoding, separator and line. None of them is guessed: what looks
right may be wrong. A row in which every cell is blank is skipped, as an empty line is.
"""

import csv
import io
import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from typing import TextIO

from checker.documents.document import mark_of_end, unify_line_ends
from checker.documents.problems import Mark, Problem
from checker.logs.columns import columns_of, header_text
from checker.logs.header import Header, find_header
from checker.logs.layout import ENCODINGS, SEPARATORS, Layout
from checker.logs.limits import MOST_ROW_BYTES
from checker.logs.model import (
    PART_BYTES,
    PART_ROWS,
    LeftOut,
    Log,
    LogMapping,
    MappingNeededError,
    ReadRows,
    batch_of_rows,
)
from checker.logs.opening import open_log_file
from checker.logs.table_rows import TableRows, TakenRow
from checker.logs.units_row import with_units


def read(path: Path, mapping: LogMapping) -> Log:
    """The log in a CSV file; raises ProblemsFoundError if its header is not valid."""
    parts = _parts(path, mapping)
    # Runs up to the header, so that a wrong header is reported when the log is opened.
    assert next(parts) is None
    return Log(str(path), (part for part in parts if part), path.stat().st_size, mapping)


def _parts(path: Path, mapping: LogMapping) -> Iterator[ReadRows | None]:
    """Yields None after the header, then the parts."""
    codec = mapping.layout.encoding
    with _read_errors_as_problems(path, codec), open_log_file(path, "CSV text") as file:
        rows = CsvRows(path, io.TextIOWrapper(file, encoding=codec, newline=""), mapping.layout)
        header = rows.header(mapping)
        marks = rows.marks(len(header.texts))
        columns = columns_of(str(path), header.texts, marks, mapping, with_gaps=True)
        if mapping.layout.units_row:
            units = [cell.strip() for cell in rows.next() or ()]
            columns = with_units(str(path), columns, units, rows.marks(len(units)))
        table = TableRows(header.texts, columns, mapping)
        yield None
        above = header.above
        while not rows.ended or above:
            yield rows.part(table, above)
            above = ()


@contextmanager
def _read_errors_as_problems(path: Path, codec: str) -> Iterator[None]:
    """Raises ProblemsFoundError for a file that cannot be read, or is in another encoding."""
    try:
        yield
    except OSError as error:
        found = f"a file that cannot be read ({error.strerror or error})"
        raise _problem(path, Mark(1, 1), found, "CSV text") from error
    except UnicodeError as error:
        # The text was decoded in blocks, so the error does not know the line.
        mark, byte = _first_wrong_byte(path, codec)
        name = next(name for name, each in ENCODINGS.items() if each == codec)
        wanted = f"{name.upper()} text" if codec.startswith("utf") else f"text in {name}"
        others = [f"`encoding: {each}`" for each in ENCODINGS if each != name]
        found = f"a file that is no CSV text{byte}"
        wanted += f", or {' or '.join(others)} in a mapping file"
        raise _problem(path, mark, found, wanted) from error


def _problem(file: Path | str, mark: Mark, found: str, wanted: str) -> MappingNeededError:
    return MappingNeededError([Problem(str(file), mark, found, wanted)])


def _first_wrong_byte(path: Path, codec: str) -> tuple[Mark, str]:
    if codec == ENCODINGS["utf-16"]:  # its line ends are no single bytes
        return Mark(1, 1), ""
    with open_log_file(path, "CSV text") as lines:
        for number, line in enumerate(lines, start=1):
            try:
                # The codec that drops a byte order mark would count from behind it.
                line.decode(codec.removesuffix("-sig"))
            except UnicodeDecodeError as error:
                mark = Mark(number, len(line[: error.start].decode(codec)) + 1)
                return mark, f" (the byte 0x{line[error.start]:02x} here)"
    return Mark(1, 1), ""


class CsvRows:
    """The rows of a CSV text, one by one."""

    def __init__(self, file: Path | str, text: TextIO, layout: Layout) -> None:
        self.file = file
        self.text = text
        self.separator = layout.separator
        self.row: list[str] = []
        """The lines of the row read last."""
        self.ended = False
        self.bytes_read = 0
        self.reader = csv.reader(self._lines(), strict=True, delimiter=self.separator)

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
            sound = _sound_cells(self.separator).match(text)
            assert sound is not None  # as it matches no cells, too
            below, column = mark_of_end(sound[0])
            wanted = "another at the end of its cell"
            mark = Mark(line + below - 1, column)
            raise _problem(self.file, mark, "a quote that is not closed", wanted) from error

    def part(self, table: TableRows, above: Sequence[LeftOut]) -> ReadRows:
        """The next rows, as many as a part has; `above` are rows left out before them."""
        begins = self.bytes_read
        batch = batch_of_rows(table.columns, self._next_rows(table), above)
        return ReadRows(batch, self.bytes_read - begins)

    def _next_rows(self, table: TableRows) -> Iterator[tuple[int, TakenRow]]:
        """The rows of the next part by line."""
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
            yield line, _taken(line, row, table)
            if self.bytes_read - begins >= PART_BYTES:
                return

    def header(self, mapping: LogMapping) -> Header:
        """The headers and the rows above them; raises ProblemsFoundError."""
        try:
            header = find_header(str(self.file), self._texts(), mapping)
            if len(header.texts) == 1:
                self._refuse_other_separator(header.row)
            return header
        except csv.Error as error:
            self._refuse_other_separator(max(self.lines_read, 1))
            found = f"a header that is no CSV ({error})"
            mark = Mark(max(self.lines_read, 1), 1)
            wanted = f"names parted by {_words_for(self.separator)}"
            raise _problem(self.file, mark, found, wanted) from error

    def _texts(self) -> Iterator[tuple[int, list[str]]]:
        """The next rows by line, each cell as a header."""
        while True:
            line = self.lines_read + 1
            row = self.next()
            if row is None:
                return
            yield line, list(map(header_text, row))

    def _refuse_other_separator(self, line: int) -> None:
        """Raise ProblemsFoundError if the last line seems to have another separator."""
        text = "".join(self.row[-1:])
        for word, sign in SEPARATORS.items():
            if sign in text and self.separator not in text and sign != self.separator:
                found = f"columns parted by {_words_for(sign)}"
                wanted = f"{_words_for(self.separator)}, or `separator: {word}` in a mapping file"
                raise _problem(self.file, Mark(line, 1), found, wanted)

    def marks(self, count: int) -> list[Mark]:
        """The location of each cell of the last row; a quoted separator parts nothing."""
        line, starts, quoted = "".join(self.row[-1:]), [1], False
        for column, letter in enumerate(line, start=1):
            quoted ^= letter == '"'
            if letter == self.separator and not quoted:
                starts.append(column + 1)
        # Of a header over several lines only the last line is known here.
        number = max(self.lines_read, 1)
        return [Mark(number, starts[index] if index < len(starts) else 1) for index in range(count)]


def _taken(line: int, row: Sequence[str], table: TableRows) -> TakenRow:
    """What becomes of a row."""
    if not any(map(str.strip, row)):  # as spreadsheet programs may write below the last row
        return ()
    left_out = table.left_out(line, row)
    if left_out:
        return left_out
    width = len(table.columns)
    if len(row) != width:
        return f"found more or fewer cells than columns: {len(row)}; wanted {width}"
    return table.fault(row) or row


def _words_for(separator: str) -> str:
    """The separators in words: `commas`, `';'`, `tabs`."""
    return {",": "commas", "\t": "tabs"}.get(separator, f"'{separator}'")


@cache
def _sound_cells(separator: str) -> re.Pattern[str]:
    """Matches cells without a fault, each with the separator or line end behind it."""
    sign = re.escape(separator)
    return re.compile(rf'(?:(?:"[^"]*(?:""[^"]*)*"|[^"{sign}\n][^{sign}\n]*|)[{sign}\n])*')
