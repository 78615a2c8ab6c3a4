"""Converts a cell of a log to the value of a load profile: `1420` under `[lb]` is `1420 lb`."""

import re
from datetime import date
from typing import Any, Final

from checker.documents.problems import Mark, Problem, quoted
from checker.documents.schema_keywords import quantity_of
from checker.documents.validate import value_problems
from checker.season.logs.columns import node_of
from checker.season.logs.model import Cell, Column, Role
from checker.units.parsing import UnitError, parse
from checker.units.words import cached_by_units

_BARE: Final = re.compile(r"[-+−]?[0-9.,/ ½¼¾⅛⅜⅝⅞-]*[0-9½¼¾⅛⅜⅝⅞](?:[eE][-+]?[0-9]+)?")  # noqa: RUF001
PLAIN: Final = re.compile(r"[-+]?[0-9]+(?:\.[0-9]+)?")
_TOLERANCE: Final = re.compile(r" *(?:±|\+/-) *")


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
