"""Haul logs in CSV: UTF-8 with or without a mark, commas, one header line.

A row in which every cell is blank is passed over, as an empty line is.
"""

import csv
import io
import re
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import compress
from pathlib import Path
from typing import Final, TextIO

from checker.documents.document import mark_of_end, unify_line_ends
from checker.documents.problems import Mark, Problem, ProblemsFoundError
from checker.season.logs.collecting import in_parts
from checker.season.logs.columns import columns_of
from checker.season.logs.limits import MOST_ROW_BYTES
from checker.season.logs.log_file import open_log_file
from checker.season.logs.model import BATCH_ROWS, Batch, Column, Log, OwnWords, Part, Refused
from checker.season.logs.plain_cells import plain_columns

PART_BYTES: Final = 1 << 21
"""Some ten thousand hauls."""

_MARK: Final = b"\xef\xbb\xbf"
_OTHER_SIGNS: Final = {";": "';'", "\t": "tabs"}
# Each with the comma or line end behind it.
_SOUND_CELLS: Final = re.compile(r'(?:(?:"[^"]*(?:""[^"]*)*"|[^",\n][^,\n]*|)[,\n])*')
# So much text, and the arrays over it, stay in the cache of a processor.
_SOME_BYTES: Final = 1 << 18


def read(path: Path, own: OwnWords) -> Log:
    """The log in a CSV file; raises ProblemsFoundError where its header is not one."""
    with _told(path):
        parts = _parts(path, own)
        # Runs up to the header, so that whoever opens a log hears of it at once.
        assert next(parts) is None
        size = path.stat().st_size
    return Log(str(path), (part for part in parts if part is not None), size, own)


@contextmanager
def _told(path: Path) -> Iterator[None]:
    """A file that cannot be read, or is no text, told as a problem."""
    try:
        yield
    except OSError as error:
        found = f"a file that cannot be read ({error.strerror or error})"
        raise _problem(path, Mark(1, 1), found, "CSV text") from error
    except UnicodeDecodeError as error:
        # The text was decoded in pieces that are no lines.
        with open_log_file(path, "CSV text") as lines:
            raise _no_text(path, lines, 0) from error


def _problem(file: Path | str, mark: Mark, found: str, wanted: str) -> ProblemsFoundError:
    return ProblemsFoundError([Problem(str(file), mark, found, wanted)])


def _no_text(file: Path | str, lines: Iterable[bytes], before: int) -> ProblemsFoundError:
    """What to say of lines of which some are not UTF-8; `before` lines stand above them."""
    mark, byte = Mark(1, 1), ""
    for number, line in enumerate(lines, start=before + 1):
        try:
            line.decode()
        except UnicodeDecodeError as error:
            mark = Mark(number, len(line[: error.start].decode("utf-8-sig")) + 1)
            byte = f" (the byte 0x{line[error.start]:02x} here)"
            break
    return _problem(file, mark, f"a file that is no CSV text{byte}", "UTF-8 text")


def _parts(path: Path, own: OwnWords) -> Iterator[Part | None]:
    """Nothing once the header is read, then the rows."""
    with _told(path), open_log_file(path, "CSV text") as file:
        if file.read(len(_MARK)) != _MARK:
            file.seek(0)
        begin = file.tell()
        text = io.TextIOWrapper(file, encoding="utf-8", newline="")
        header = _Rows(path, text, 0)
        marks, headers = header.header()
        columns = columns_of(str(path), headers, marks, own)
        text.detach()
        yield None
        begin += header.bytes
        line = header.reader.line_num
        while True:
            file.seek(begin)
            block = file.read(PART_BYTES)
            if not block:
                return
            block += file.readline(MOST_ROW_BYTES)
            if (above := _above_a_long_line(block)) is not None:
                raise _too_long(path, line + above + 1)
            if not _is_plain(block):
                break
            yield _Lines(str(path), columns, line, block)
            begin += len(block)
            line += block.count(b"\n")
        # Cells between quotes may hold line ends: from here on only the beginning tells the rows.
        file.seek(begin)
        rows = _Rows(path, io.TextIOWrapper(file, encoding="utf-8", newline=""), line)
        yield from in_parts(rows.batches(columns), file.tell, begin)


def _above_a_long_line(block: bytes) -> int | None:
    """How many lines stand above the first that is too long; None where none is."""
    at = 0
    while len(block) - at > MOST_ROW_BYTES:
        end = block.rfind(b"\n", at, at + MOST_ROW_BYTES + 1)
        if end < 0:
            return block.count(b"\n", 0, at)
        at = end + 1
    return None


def _too_long(file: Path | str, line: int) -> ProblemsFoundError:
    found = f"a row of more than {MOST_ROW_BYTES:,} bytes"
    return _problem(file, Mark(line, 1), found, "one haul a row")


def _is_plain(block: bytes) -> bool:
    """Whether every line of a block is a row and the last is whole: no quotes, no bare returns."""
    return (
        b'"' not in block
        and (b"\r" not in block or block.count(b"\r") == block.count(b"\r\n"))
        and (block.endswith(b"\n") or len(block) < PART_BYTES)
    )


@dataclass(frozen=True, slots=True)
class _Lines:
    """Whole lines without quotes; `before` is how many lines stand above them."""

    file: str
    columns: Sequence[Column | None]
    before: int
    text: bytes

    @property
    def size(self) -> int:
        return len(self.text)

    def batches(self) -> Iterator[Batch]:
        text = self.text.replace(b"\r\n", b"\n") if b"\r" in self.text else self.text
        before, begin = self.before, 0
        while begin < len(text):
            end = text.find(b"\n", begin + _SOME_BYTES) + 1 or len(text)
            yield from self._of(text[begin:end], before)
            before += text.count(b"\n", begin, end)
            begin = end

    def _of(self, text: bytes, before: int) -> Iterator[Batch]:
        try:
            readable = text.decode()
        except UnicodeDecodeError as error:
            raise _no_text(self.file, io.BytesIO(text), before) from error
        cells = plain_columns(text, len(self.columns))
        if cells is None:
            rows = _Rows(self.file, io.StringIO(readable, newline=""), before)
            yield from rows.batches(self.columns)
            return
        lines = range(before + 1, before + len(cells[0]) + 1)
        yield _of_columns(self.columns, lines, cells, [])


class _Rows:
    """The rows of a CSV text, each with the line it begins on; `before` lines stand above it."""

    def __init__(self, file: Path | str, text: TextIO, before: int) -> None:
        self.file = file
        self.text = text
        self.before = before
        self.row: list[str] = []
        """The lines of the row read last."""
        self.begin = 1
        """The line on which it begins, of those of this text."""
        self.bytes = 0
        self.ended = False
        self.reader = csv.reader(self._noted(), strict=True)

    def _noted(self) -> Iterator[str]:
        before = 0
        while line := self.text.readline(MOST_ROW_BYTES + 1):
            if not self.row:
                before = self.bytes
            self.row.append(line)
            self.bytes += len(line.encode())
            if self.bytes - before > MOST_ROW_BYTES:
                raise _too_long(self.file, self.before + self.begin)
            yield line
        self.ended = True

    def _next(self) -> list[str] | None:
        """The next row, None after the last; raises csv.Error for one that can be left out."""
        self.row.clear()
        line = self.begin = self.reader.line_num + 1
        try:
            return next(self.reader, None)
        except csv.Error as error:
            # A quote that is not closed takes in all that follows: no row to leave out.
            if not self.ended and self.reader.line_num == line:
                raise
            text = unify_line_ends("".join(self.row))
            sound = _SOUND_CELLS.match(text)
            assert sound is not None  # as it matches no cells, too
            below, column = mark_of_end(sound[0])
            mark = Mark(self.before + line + below - 1, column)
            wanted = "another at the end of its cell"
            raise _problem(self.file, mark, "a quote that is not closed", wanted) from error

    def header(self) -> tuple[list[Mark], list[str]]:
        """The headers and where each begins; blank rows above them are passed over."""
        cells: list[str] | None = []
        wrong: csv.Error | None = None
        try:
            while cells is not None and _is_blank(cells):
                cells = self._next()
        except csv.Error as error:
            wrong = error
        line, text = max(self.reader.line_num, 1), "".join(self.row[-1:])
        parted = next((name for sign, name in _OTHER_SIGNS.items() if sign in text), None)
        if parted is not None and "," not in text:
            raise _problem(self.file, Mark(line, 1), f"columns parted by {parted}", "commas")
        if wrong is not None:
            found = f"a header that is no CSV ({wrong})"
            raise _problem(self.file, Mark(line, 1), found, "names parted by commas")
        headers = [cell.strip() for cell in cells or ()]
        return _marks(text, line, len(headers)), headers

    def batches(self, columns: Sequence[Column | None]) -> Iterator[Batch]:
        """All rows."""
        while (batch := self._batch(columns)) is not None:
            yield batch

    def _batch(self, columns: Sequence[Column | None]) -> Batch | None:
        """The next rows; None after the last."""
        numbers: list[int] = []
        rows: list[list[str]] = []
        refused: list[Refused] = []
        while len(rows) + len(refused) < BATCH_ROWS:
            line = self.reader.line_num + 1
            try:
                row = self._next()
            except csv.Error as error:
                said = f"found a row that is no CSV ({error})"
                refused.append(Refused(self.before + line, said))
                continue
            if row is None:
                break
            if not _is_blank(row):
                rows.append(row)
                numbers.append(self.before + line)
        if not rows and not refused:
            return None
        return _batch(columns, numbers, rows, refused)


def _is_blank(row: Sequence[str]) -> bool:
    """Whether no cell says anything, as below the last row that a spreadsheet program saw."""
    return not any(map(str.strip, row))


def _batch(
    columns: Sequence[Column | None],
    numbers: Sequence[int],
    rows: list[list[str]],
    refused: list[Refused],
) -> Batch:
    """Rows as columns; those of another width are refused."""
    width = len(columns)
    if any(len(row) != width for row in rows):
        said = "found more or fewer cells than columns"
        astray = [
            Refused(number, f"{said}: {len(row)}; wanted {width}")
            for number, row in zip(numbers, rows, strict=True)
            if len(row) != width
        ]
        refused = sorted([*refused, *astray], key=lambda each: each.row)
        fitting = [len(row) == width for row in rows]
        numbers, rows = list(compress(numbers, fitting)), list(compress(rows, fitting))
    turned = list(zip(*rows, strict=True)) if rows else [()] * width
    return _of_columns(columns, numbers, turned, refused)


def _of_columns(
    columns: Sequence[Column | None],
    numbers: Sequence[int],
    turned: Sequence[Sequence[str]],
    refused: Sequence[Refused],
) -> Batch:
    """The columns that count."""
    used = [column for column in columns if column is not None]
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
