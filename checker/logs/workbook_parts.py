"""Checks the parts of a workbook before the library reads them.

A few hundred kilobytes can unpack to gigabytes, and the library makes objects of many times the
size of what it reads. So the XML is first unpacked in fragments, in constant memory, and refused
if it has more rows, cells or texts than any log, or is not plain XML.
"""

import re
import zipfile
from pathlib import Path
from typing import IO, Any, BinaryIO, Final, NoReturn

from checker.documents.problems import Mark, Problem, ProblemsFoundError, quoted
from checker.logs.limits import (
    MOST_COLUMNS,
    MOST_OTHER_BYTES,
    MOST_ROW_BYTES,
    MOST_SHEET_BYTES,
    MOST_SHEET_CELLS,
    MOST_SHEET_ROWS,
    MOST_TEXT_BYTES,
)
from checker.logs.sheet_part import SheetPart

_CHUNK: Final = MOST_ROW_BYTES // 2
_MOST_CELLS_OF_A_ROW: Final = 16_384
_MOST_BETWEEN: Final = 1 << 22
"""Most bytes between two rows or after the last, such as merged cells; held in memory."""
_MOST_SHEETS: Final = 250
_MOST_OTHER_TAGS: Final = 200_000
"""Most tags of the other parts, as the library makes an object of each."""

_TAG: Final = re.compile(rb"<(?:[^<>\s/:!?]+:)?(row|c|si|sheet)[\s/>]")
_ROW_NUMBER: Final = re.compile(
    rb"""<(?:[^<>\s/:!?]+:)?row(?=\s)[^<>]*?\sr\s*=\s*(?:"([^"]*)"|'([^']*)')"""
)
_DIGITS: Final = len(str(MOST_SHEET_ROWS))
_FAR_CELL: Final = re.compile(rb"""<(?:[^<>\s/:!?]+:)?c(?=\s)[^<>]*?\sr\s*=\s*["'][A-Za-z]{3}""")
_LETTER: Final = {b"row": b"r", b"c": b"c", b"si": b"t", b"sheet": b"h"}
_DECLARED: Final = (b"<!DOCTYPE", b"<!ENTITY")


class WorkbookParts(zipfile.ZipFile):
    """The archive of a workbook, from which the library opens and reads parts by name.

    Raises ProblemsFoundError for a part that is too large or not plain XML.
    """

    def __init__(self, file: BinaryIO, path: Path) -> None:
        """Use an open file; `path` is shown in problems."""
        super().__init__(file)
        self._path = path
        self.found: dict[str, SheetPart] = {}
        """The formulas and merged ranges of each opened part, by its name."""
        self._other_bytes = self._other_tags = 0

    def open(self, name: Any, mode: Any = "r", pwd: Any = None, **more: Any) -> IO[bytes]:
        """Check a part, then open it as the base class does."""
        part = self.getinfo(name) if isinstance(name, str) else name
        if part.filename not in self.found:
            self.found[part.filename] = SheetPart()
            if part.file_size > MOST_SHEET_BYTES:
                self._refuse(part.filename, f"{MOST_SHEET_BYTES:,} bytes unpacked")
            with super().open(part) as xml:
                self._check_content(part.filename, xml)
        return super().open(name, mode, pwd, **more)

    def read(self, name: Any, pwd: Any = None) -> bytes:
        """Read a whole part, as the library does with all parts except sheets and texts."""
        self._other_bytes += self.getinfo(name).file_size
        if self._other_bytes > MOST_OTHER_BYTES:
            self._refuse(str(name), f"{MOST_OTHER_BYTES:,} bytes beside sheets and texts")
        read = super().read(name, pwd)
        self._other_tags += read.count(b"<")
        if self._other_tags > _MOST_OTHER_TAGS:
            self._refuse(str(name), f"{_MOST_OTHER_TAGS:,} tags beside sheets and texts")
        return read

    def _check_content(self, name: str, xml: IO[bytes]) -> None:
        """Raise ProblemsFoundError for a part with too much content; add the rest to `found`."""
        counted = dict.fromkeys(_LETTER.values(), 0)
        size = cells_of_row = between = row = 0
        rest = b""
        while chunk := xml.read(_CHUNK):
            if not size and not chunk.removeprefix(b"\xef\xbb\xbf").lstrip().startswith(b"<"):
                self._refuse_text(name)
            size += len(chunk)
            if b"<" not in chunk and len(chunk) == _CHUNK:
                self._refuse(name, f"{MOST_ROW_BYTES:,} letters in a cell")
            text = rest + chunk
            # Only whole tags are scanned: the text from the last `<` on waits for the next chunk.
            end = text.rfind(b"<")
            fragment, rest = text[:end], text[end:]
            if b"\0" in chunk or any(word in text for word in _DECLARED):
                self._refuse_text(name)
            tags = b"".join(map(_LETTER.__getitem__, _TAG.findall(fragment)))
            for letter in counted:
                counted[letter] += tags.count(letter)
            first, *runs = tags.split(b"r")
            lengths = [cells_of_row + first.count(b"c"), *(run.count(b"c") for run in runs)]
            cells_of_row = lengths[-1]
            # The library frees rows and texts one by one, but holds everything between them.
            between = 0 if b"r" in tags or b"t" in tags else between + len(fragment)
            if counted[b"r"] > MOST_SHEET_ROWS or counted[b"t"] > MOST_SHEET_ROWS:
                self._refuse(name, f"{MOST_SHEET_ROWS:,} rows or texts")
            if counted[b"c"] > MOST_SHEET_CELLS or max(lengths) > _MOST_CELLS_OF_A_ROW:
                most = f"{MOST_SHEET_CELLS:,} cells, {_MOST_CELLS_OF_A_ROW:,} in a row"
                self._refuse(name, most)
            if _FAR_CELL.search(fragment):
                self._refuse(name, f"{MOST_COLUMNS} columns, up to ZZ")
            if counted[b"h"] > _MOST_SHEETS:
                self._refuse(name, f"{_MOST_SHEETS} sheets")
            if counted[b"t"] and size > MOST_TEXT_BYTES:
                self._refuse(name, f"{MOST_TEXT_BYTES:,} bytes of texts")
            if between > _MOST_BETWEEN:
                self._refuse(name, f"{_MOST_BETWEEN:,} bytes that are no rows")
            row = self._row_after(name, row, fragment)
            self.found[name].add(fragment)

    def _row_after(self, name: str, row: int, fragment: bytes) -> int:
        """The last row number of a fragment; raises ProblemsFoundError for rows out of order.

        The library would skip those.
        """
        for quoted_twice, quoted_once in _ROW_NUMBER.findall(fragment):
            number = (quoted_twice or quoted_once).lstrip(b"0")
            # The library creates a blank row for each number that is skipped.
            if not number.isdigit() or len(number) > _DIGITS or int(number) > MOST_SHEET_ROWS:
                shown = number[: 2 * _DIGITS].decode("utf-8", "replace")
                found = f"a row numbered {quoted(shown)} in the part {quoted(name)}"
                self._problem(found, f"rows from 1 to {MOST_SHEET_ROWS:,}")
            before, row = row, int(number)
            if row <= before:
                found = f"row {row} behind row {before} in the part {quoted(name)}"
                self._problem(found, "each row once, in their order")
        return row

    def _refuse(self, name: str, most: str) -> NoReturn:
        self._problem(f"the part {quoted(name)}, which is very large", f"at most {most}")

    def _refuse_text(self, name: str) -> NoReturn:
        self._problem(f"the part {quoted(name)}, which is no plain XML in UTF-8", "plain XML")

    def _problem(self, found: str, wanted: str) -> NoReturn:
        raise ProblemsFoundError([Problem(str(self._path), Mark(1, 1), found, wanted)])
