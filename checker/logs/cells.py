"""Interprets cells: words of a mapping file, days, and `1420` under `[lb]` as `1420 lb`."""

import re
from collections.abc import Mapping
from datetime import date, datetime
from typing import Any, Final

from checker.documents.problems import Mark, Problem, quoted
from checker.documents.schema_keywords import quantity_of
from checker.documents.validate import value_problems
from checker.logs.columns import node_of
from checker.logs.decimal_sign import DecimalSignError, with_point
from checker.logs.model import Cell, Column, DecimalSign, LogMapping, Role
from checker.units.parsing import UnitError, parse
from checker.units.words import cached_by_units

_BARE: Final = re.compile(r"[-+−]?[0-9.,/ ½¼¾⅛⅜⅝⅞-]*[0-9½¼¾⅛⅜⅝⅞](?:[eE][-+]?[0-9]+)?")  # noqa: RUF001
PLAIN: Final = re.compile(r"[-+]?[0-9]+(?:\.[0-9]+)?")
_TOLERANCE: Final = re.compile(r" *(?:±|\+/-) *")

NO_LOAD = "found no load; wanted the name of a load profile"

_FIRST_YEAR: Final = 1970
_LAST_YEAR: Final = 2099
"""A day outside these years is a typing error, and reports list all months up to it."""


class CellError(ValueError):
    """The cell has no valid value for its column; the message is that of a problem."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        super().__init__(problem.words)


# `typed` keeps equal keys of different types apart, such as 1 and true.
@cached_by_units(16_384, typed=True)
def stated(column: Column, cell: Cell) -> Any:
    """The profile value of a cell that is not blank.

    Raises CellError, which names the value found and the values accepted.
    """
    node = node_of(column.field)
    if column.decimal is not DecimalSign.USUAL and isinstance(cell, str):
        try:
            cell = with_point(cell, column.decimal)
        except DecimalSignError as error:
            raise CellError(Problem("", Mark(1, 1), quoted(cell), str(error))) from error
    value = _plain(column, cell)
    if column.role is Role.QUANTITY and isinstance(value, str) and _fits(value, node):
        return value
    problems = value_problems(value, node)
    if problems:
        raise CellError(problems[0])
    return value


def _fits(text: str, node: Any) -> bool:
    """True if a quantity passes the checks of the schema; faster, as a season has many figures."""
    try:
        quantity = quantity_of(text, node)
    except UnitError:
        return False
    low = quantity.value - quantity.half_width
    sign = node.get("sign")
    return node["type"] == "string" and (
        sign is None or (low > 0 if sign == "positive" else low >= 0)
    )


def _plain(column: Column, cell: Cell) -> Any:
    if isinstance(cell, bool):
        return ("yes" if cell else "no") if column.role is Role.ANSWER else cell
    if isinstance(cell, date):
        return cell.isoformat()
    match column.role:
        case Role.QUANTITY if node_of(column.field)["type"] == "string":
            return _with_unit(cell, column)
        case Role.QUANTITY:
            return _number(cell)
        case Role.WORD if isinstance(cell, int | float):
            return str(_number(cell))
        case Role.LIST if isinstance(cell, str):
            inside = cell.removeprefix("[").removesuffix("]")
            parts = inside.split(";" if ";" in inside else ",")
            return [part.strip() for part in parts if part.strip()]
    return cell


def _number(cell: Cell) -> Cell:
    """A bare number as YAML would read it; other text is unchanged, for the schema to refuse."""
    if isinstance(cell, str):
        if not PLAIN.fullmatch(cell):
            return cell
        cell = float(cell)
    return int(cell) if isinstance(cell, float) and cell.is_integer() else cell


def _with_unit(cell: Cell, column: Column) -> Cell:
    unit = column.unit
    if unit is None or cell == node_of(column.field).get("word_for_none"):
        return cell
    if not isinstance(cell, str):
        return f"{cell} {unit}"
    sign = _TOLERANCE.search(cell)
    value, half = (cell[: sign.start()], cell[sign.end() :]) if sign else (cell, None)
    if _BARE.fullmatch(value):
        if half is None:
            return f"{value} {unit}"
        return f"{value} {unit} +/- {half}{f' {unit}' if _BARE.fullmatch(half) else ''}"
    kind = node_of(column.field)["quantity"]
    try:
        same = parse(cell, kind).unit == unit
    except UnitError:
        same = False
    if not same:
        wanted = f"a bare number such as 12, in {unit} as the column says"
        raise CellError(Problem("", Mark(1, 1), quoted(cell), wanted))
    return cell


def words_for(column: Column, mapping: LogMapping) -> Mapping[str, Cell]:
    """The meanings of the mapping file's words in a column."""
    words = mapping.words.get(column.field, {})
    return {**mapping.answers, **words} if column.role is Role.ANSWER else words


def translate(cell: Cell, words: Mapping[str, Cell]) -> Cell:
    """The cell stripped, None if blank, with a word of the mapping file replaced by its meaning."""
    bare = (cell.strip() or None) if isinstance(cell, str) else cell
    # A blank is not looked up, even if a mapping has the word None.
    return bare if bare is None or not words else words.get(as_text(bare), bare)


def as_text(cell: Cell) -> str:
    """A cell as text, as in names and mapping files; a whole number is `1`, also from a sheet."""
    whole = isinstance(cell, float) and cell.is_integer()
    return str(int(cell)) if whole and isinstance(cell, float) else str(cell)


def day_of(cell: Cell, form: str | None) -> date | None:
    """The day in a cell, in the format `form`; None if it is not a day from 1970 to 2099."""
    day = _written(cell, form)
    return day if day is not None and _FIRST_YEAR <= day.year <= _LAST_YEAR else None


def _written(cell: Cell, form: str | None) -> date | None:
    """The day in a cell, of any year; None if there is none."""
    if isinstance(cell, datetime):
        return cell.date()
    if isinstance(cell, date):
        return cell
    if not isinstance(cell, str):
        return None
    try:
        if form is None:
            # Python reads 20260514 and 2026-W20-4 as well, which profiles do not.
            return date.fromisoformat(cell) if cell[4:5] == cell[7:8] == "-" else None
        return datetime.strptime(cell, form).date()
    except ValueError:
        return None


def date_fault(cell: Cell, form: str | None) -> str:
    """The fault of a date cell without a valid day."""
    found = "nothing" if cell is None else quoted(str(cell))
    wanted = f"such as {date(2026, 5, 14).strftime(form or '%Y-%m-%d')}"
    if _written(cell, form):
        wanted = f"from {_FIRST_YEAR} to {_LAST_YEAR}"
    return f"found {found} in date; wanted a day {wanted}"
