"""Workbooks: the package taken apart, blown up, or filled with cells of every kind."""

import io
import re
import zipfile
from collections.abc import Callable
from datetime import date, datetime, time, timedelta
from random import Random

import openpyxl
from openpyxl.utils.exceptions import IllegalCharacterError

from tests.fuzz.inputs import Effect, Input, content, pick_file
from tests.fuzz.project import packed, saved
from tests.fuzz.values import DAYS, QUANTITIES, TEXTS

_SHEET = "xl/worksheets/sheet1.xml"


def _repacked(raw: bytes, change: Callable[[dict[str, bytes]], None]) -> bytes | None:
    """The package with other parts; None where it is none any more."""
    try:
        with zipfile.ZipFile(io.BytesIO(raw)) as package:
            parts = {name: package.read(name) for name in package.namelist()}
    except Exception:  # spoilt by an earlier mutation, in whatever way
        return None
    change(parts)
    return packed(parts)


def _change(random: Random, given: Input, change: Callable[[dict[str, bytes]], None]) -> str | None:
    name = pick_file(random, given, ".xlsx")
    if name is None or (changed := _repacked(content(given, name), change)) is None:
        return None
    given.tree.entries[name] = changed
    return name


def part(random: Random, given: Input) -> Effect | None:
    """A part of the package is missing, empty, cut or no XML."""

    def change(parts: dict[str, bytes]) -> None:
        name = random.choice(list(parts))
        raw = parts.pop(name)
        contents = [b"", b"<", b"<a/>", b"\xff\xfe", raw[: len(raw) // 2]]
        if random.random() < 0.8:
            parts[name] = random.choice(contents)

    return Effect.CHANGES if _change(random, given, change) else None


def sheet_text(random: Random, given: Input) -> Effect | None:
    """The XML of the sheet says something else of its size, places, types and shared texts."""
    ways = [
        (rb'ref="[A-Z0-9:]+"', b'ref="A1:XFD1048576"'),
        (rb'<row r="2"', b'<row r="1048576"'),
        (rb'<row r="2"', b'<row r="99999999999999999999"'),
        (rb'<row r="2"', b'<row r="-1"'),
        (rb'<row r="2"', b'<row r="x"'),
        (rb'<c r="A2"', b'<c r="XFD2"'),
        (rb'<c r="A2"', b'<c r="ZZZZZZ2"'),
        (rb'<c r="A2"', b'<c r="22"'),
        (rb'<c r="A2"', b"<c"),
        (rb't="s"', b't="b"'),
        (rb't="s"', b't="e"'),
        (rb't="s"', b't="d"'),
        (rb't="s"', b't="zz"'),
        (rb't="n"', b't="s"'),
        (rb"<v>\d+</v>", b"<v>999999</v>"),
        (rb"<v>\d+</v>", b"<v>-1</v>"),
        (rb"<v>\d+</v>", b"<v>1e999</v>"),
        (rb"<v>\d+</v>", b"<v>NaN</v>"),
        (rb"<v>\d+</v>", b"<v>" + b"9" * 5_000 + b"</v>"),
        (rb"<v>\d+</v>", b"<v></v>"),
        (rb"<v>\d+</v>", b"<f>1+1</f><v>2</v>"),
        (rb"<v>\d+</v>", b"<is><t>inline</t></is>"),
        (rb"<sheetData>", b"<sheetData><row/><row><c/></row>"),
        (rb"<worksheet", b'<!DOCTYPE x [<!ENTITY a "aaaaaaaa">]><worksheet'),
    ]

    def change(parts: dict[str, bytes]) -> None:
        old, new = random.choice(ways)
        parts[_SHEET] = re.sub(old, new, parts.get(_SHEET, b""), count=random.choice([1, 99]))

    return Effect.CHANGES if _change(random, given, change) else None


def bomb(random: Random, given: Input) -> Effect | None:
    """Small on disk and large when unpacked; or names that lead out of the package."""
    size = random.choice([1_000_000, 60_000_000])
    name = random.choice([_SHEET, "xl/sharedStrings.xml", "xl/styles.xml", "../../out", "xl/x.bin"])
    cells = b'<c r="A9" t="inlineStr"><is><t>x</t></is></c>'

    def change(parts: dict[str, bytes]) -> None:
        filler = random.choice([b" ", b"<row/>", b"<row>" + cells + b"</row>", b"<!-- -->"])
        old = parts.get(name, b"<a><sheetData></sheetData></a>")
        filled = filler * (size // len(filler))
        parts[name] = old.replace(b"</sheetData>", filled + b"</sheetData>")
        if name == "xl/sharedStrings.xml":
            parts[name] = old.replace(b"</sst>", b"<si><t>" + b"x" * size + b"</t></si></sst>")

    return Effect.CHANGES if _change(random, given, change) else None


def cells(random: Random, given: Input) -> Effect | None:
    """Cells of every kind that a sheet can hold, several sheets, merged and hidden ones."""
    name = pick_file(random, given, ".xlsx")
    if name is None:
        return None
    try:
        book = openpyxl.load_workbook(io.BytesIO(content(given, name)))
        sheet = book.worksheets[0]
    except Exception:  # spoilt by an earlier mutation, in whatever way
        return None
    kinds = [date(2026, 7, 2), datetime(1900, 1, 1), time(6, 30), timedelta(days=-3), True, 1e300]
    kinds += [-5, 0, 60, "#REF!", "=1/0", "=A1", 2958466]
    for _ in range(random.choice([1, 2, 6])):
        value = random.choice([random.choice(kinds), random.choice([*TEXTS, *QUANTITIES, *DAYS])])
        row, column = random.randint(1, 6), random.randint(1, 8)
        try:
            sheet.cell(row, column).value = value
        except (IllegalCharacterError, ValueError):
            continue
        if random.random() < 0.3:
            formats = ["0 %", "yyyy", "[h]:mm", "General", '"x"', "@", "0.00E+00", "[Red]0"]
            sheet.cell(row, column).number_format = random.choice(formats)
    if random.random() < 0.1:
        book.create_sheet("second", random.choice([0, 1])).append(["load", "date"])
    if random.random() < 0.1:
        sheet.merge_cells("A2:B3")
    given.tree.entries[name] = saved(book)
    return Effect.CHANGES


MUTATORS = [part, sheet_text, sheet_text, bomb, cells]
