"""A workbook as the bytes of its file: the same sheets give the same bytes at any time."""

import io
from datetime import datetime
from typing import Final
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

from openpyxl import Workbook
from openpyxl.packaging.core import DocumentProperties
from openpyxl.writer.excel import ExcelWriter

_WRITTEN: Final = datetime(1980, 1, 1)
"""The earliest time that a ZIP file can state: every part and property of the workbook has it."""


def workbook_bytes(book: Workbook, creator: str) -> bytes:
    """The file of a workbook, which states `creator` and no time of writing."""
    book.properties = DocumentProperties(creator=creator, created=_WRITTEN, modified=_WRITTEN)
    written, uniform = io.BytesIO(), io.BytesIO()
    # Not `book.save`, which puts the time of day into the properties.
    ExcelWriter(book, ZipFile(written, "w")).save()
    with ZipFile(written) as parts, ZipFile(uniform, "w", ZIP_DEFLATED) as file:
        for name in parts.namelist():
            entry = ZipInfo(name, _WRITTEN.timetuple()[:6])
            entry.compress_type = ZIP_DEFLATED
            # Else it states the system that wrote it.
            entry.create_system = 0
            file.writestr(entry, parts.read(name))
    return uniform.getvalue()
