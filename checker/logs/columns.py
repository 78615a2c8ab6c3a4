"""Finds the field of a load that a column holds, from the header of the column."""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from functools import cache
from typing import Any, Final

from checker.documents.problems import (
    DataPath,
    Mark,
    Problem,
    ProblemsFoundError,
    listed,
    nearest,
    quoted,
)
from checker.documents.schemas import definition, resolved
from checker.logs.limits import MOST_COLUMNS
from checker.logs.model import (
    OF_THE_HAUL,
    Column,
    DecimalSign,
    LogMapping,
    MappingNeededError,
    Role,
)
from checker.units.kinds import KINDS
from checker.units.words import cached_by_units, fault_of_unit, find_unit

WANTED: Final = (Role.LOAD, Role.DATE)
_FIELD_WANTED: Final = (
    "load, date, crew, haul, or a field of a load such as articles.1.weight or trip.speed"
)
_WITH_UNIT: Final = re.compile(r"(?P<field>[^\[(]*?) *(?:\[(?P<square>[^\]]*)\]|\((?P<round>.*)\))")
# Fields that a haul may not state: those that no rule uses, references that are resolved before the
# values of a haul apply, and permissions, which are issued for one load profile.
_NOT_HERE: Final = {
    "kind": "a load profile is always of kind load",
    "note": "no rule uses notes; leave the column out",
    "from": "another load profile under load",
    "variances": "variances in the load profile",
    "gear": "no such column: no rule uses the gear that a crew carries",
}


class ColumnError(ValueError):
    """The header names no column of a haul log; holds the parts of a problem message."""

    def __init__(self, found: str, wanted: str, suggestion: str | None = None) -> None:
        self.found, self.wanted = found, wanted
        self.suggestion = suggestion and quoted(suggestion)
        super().__init__(Problem("", Mark(1, 1), found, wanted, self.suggestion).words)


def header_text(text: str) -> str:
    """A header on one line: sheets wrap long ones, and mapping files name them without."""
    return " ".join(text.split())


@cached_by_units(4096)
def column_of(header: str) -> Column:
    """The column of a header such as `load`, `trip.speed` or `articles.1.weight [lb]`.

    Raises ColumnError.
    """
    split = _WITH_UNIT.fullmatch(header)
    if split is None:
        return field_column(header, header, None)
    unit = split["square"] if split["square"] is not None else split["round"]
    return field_column(header, split["field"], unit.strip())


def field_column(header: str, field: str, unit: str | None) -> Column:
    """The column of a header for `field`; bare numbers are in `unit`, if given.

    Raises ColumnError.
    """
    role = _role(field)
    if unit is None:
        return Column(header, field, role)
    kind = node_of(field)["quantity"] if role is Role.QUANTITY else None
    if kind is None or not KINDS[kind].units:
        raise ColumnError(f"the unit {quoted(unit)} in {quoted(header)}", "no unit here")
    known = find_unit(unit)
    if known is None or known.kind != kind:
        wanted, guess = fault_of_unit(unit, KINDS[kind]) if known is None else (None, None)
        raise ColumnError(
            f"the unit {quoted(unit)} in {quoted(header)}",
            wanted or f"{KINDS[kind].noun}, in {listed(KINDS[kind].units)}",
            guess and f"{field} [{guess}]",
        )
    return Column(header, field, role, known.word)


def columns_of(
    file: str,
    headers: Sequence[str],
    marks: Sequence[Mark],
    mapping: LogMapping,
    *,
    with_gaps: bool = False,
) -> list[Column | None]:
    """The column of each header of a table; None for headers that the mapping file ignores.

    `with_gaps` allows columns without a header, which are None too.

    Raises ProblemsFoundError with all problems of the headers.
    """
    if len(headers) > MOST_COLUMNS:
        found, wanted = f"{len(headers):,} columns", f"at most {MOST_COLUMNS:,}"
        raise ProblemsFoundError([Problem(file, marks[MOST_COLUMNS], found, wanted)])
    problems: list[Problem] = []
    columns: list[Column | None] = []
    first: dict[str, str] = {}
    for header, mark in zip(headers, marks, strict=True):
        column = None
        if with_gaps and not header:
            columns.append(None)
            continue
        try:
            column = mapped_column(header, mapping)
        except ColumnError as error:
            problems.append(Problem(file, mark, error.found, error.wanted, error.suggestion))
        if column and column.field in first:
            found = f"{quoted(header)} for {column.field}, as {quoted(first[column.field])} is"
            problems.append(Problem(file, mark, found, "each field in one column"))
        elif column:
            first[column.field] = header
        columns.append(column)
    absent = [name for name in WANTED if name not in first]
    if absent:
        named = [header for header in headers if header]
        found = f"the columns {listed(named)}" if named else "no columns"
        problems.append(Problem(file, Mark(1, 1), found, " and ".join(absent)))
    if problems:
        raise MappingNeededError(problems)
    return columns


def mapped_column(header: str, mapping: LogMapping) -> Column | None:
    """The column of a header, by the mapping file or by its field; None if the mapping ignores it.

    Raises ColumnError.
    """
    if header in mapping.columns:
        return mapping.columns[header]
    if header in mapping.ignored:
        return None
    try:
        return with_decimal(column_of(header), mapping.decimal)
    except ColumnError as error:
        guess = nearest(header, mapping.columns)
        if guess is None:
            raise
        raise ColumnError(error.found, error.wanted, guess) from error


def with_decimal(column: Column, sign: DecimalSign) -> Column:
    """The column, with this decimal sign if it holds figures."""
    return replace(column, decimal=sign) if column.role is Role.QUANTITY else column


def _role(field: str) -> Role:
    if field in OF_THE_HAUL:
        return Role(field)
    if not field:
        raise ColumnError("a column without a name", _FIELD_WANTED)
    node = node_of(field)
    if "quantity" in node:
        return Role.QUANTITY
    if node.get("enum") == ["yes", "no"]:
        return Role.ANSWER
    return Role.LIST if node.get("type") == "array" else Role.WORD


def node_of(field: str) -> Mapping[str, Any]:
    """The schema of a field that a log may have a column for.

    Raises ColumnError if there is no such field.
    """
    return _walked(field)[0]


def data_path(field: str) -> DataPath:
    """The path of a field in the data of a profile, where list entries count from 0."""
    return _walked(field)[1]


def reaches(field: str, data: Any) -> bool:
    """True if a load has the list entry or named section that contains a field.

    The load need not state the field itself, as a haul may state it.
    """
    _, path, chosen = _walked(field)
    for depth, part in enumerate(path):
        if depth in chosen:
            has = part < len(data) if isinstance(part, int) else part in data
            if not has:
                return False
            data = data[part]
        else:
            data = data.get(part, {})
    return True


@cache
def _walked(field: str) -> tuple[Mapping[str, Any], DataPath, frozenset[int]]:
    """Schema and path of a field, and the depths in the path of list indices and chosen names."""
    if field == "trip.date":
        raise ColumnError(quoted(field), "the day in the column date", "date")
    node = _inside(definition("load"))
    path: list[str | int] = []
    chosen: set[int] = set()
    for part in field.split("."):
        if part in _NOT_HERE and part in node.get("properties", {}):
            raise ColumnError(quoted(field), _NOT_HERE[part])
        below = node.get("properties", {}).get(part)
        if below is None and "items" in node and re.fullmatch("[1-9][0-9]{0,2}", part):
            below = node["items"]
            chosen.add(len(path))
            path.append(int(part) - 1)
        elif below is None and _may_be_called(node, part):
            below = node["additionalProperties"]
            chosen.add(len(path))
            path.append(part)
        elif below is not None:
            path.append(part)
        else:
            raise _no_field(field, field.split(".")[: len(path)], node.get("properties", ()))
        node = _inside(below)
    if "properties" in node or "$ref" in node or _of_mappings(node):
        guess = next((leaf for leaf in all_fields() if leaf.startswith(f"{field}.")), None)
        raise ColumnError(f"{quoted(field)}, which has fields of its own", "one of those", guess)
    return node, tuple(path), frozenset(chosen)


def _inside(node: Mapping[str, Any]) -> Mapping[str, Any]:
    node = resolved(node)
    return resolved(node["else"]) if "else" in node else node


def _of_mappings(node: Mapping[str, Any]) -> bool:
    return "additionalProperties" in node or (
        node.get("type") == "array" and "properties" in _inside(node["items"])
    )


def _may_be_called(node: Mapping[str, Any], name: str) -> bool:
    pattern = node.get("propertyNames", {}).get("pattern")
    return pattern is not None and re.fullmatch(pattern.replace("$", ""), name) is not None


def _no_field(field: str, led: Sequence[str], siblings: Iterable[str]) -> ColumnError:
    """The error for an unknown field: its first parts `led` are known, next come `siblings`."""
    near = nearest(field.split(".")[len(led)], siblings)
    names = [*OF_THE_HAUL, *all_fields()]
    guess = ".".join((*led, near, *field.split(".")[len(led) + 1 :])) if near else None
    if guess is None or not led:
        guess = nearest(field, names) or guess
    if guess is None:
        last = field.rsplit(".", 1)[-1].strip().casefold().replace(" ", "_")
        guess = next((leaf for leaf in names if leaf.rsplit(".", 1)[-1] == last), None)
    return ColumnError(f"the column {quoted(field)}", _FIELD_WANTED, guess)


@cache
def all_fields() -> tuple[str, ...]:
    """Every field a column may hold, with 1 for list indices; none below chosen names."""
    return tuple(field for field in _below(definition("load"), "") if field != "trip.date")


def _below(node: Mapping[str, Any], at: str) -> Iterator[str]:
    node = _inside(node)
    if not ("properties" in node or _of_mappings(node)):
        yield at
        return
    if "items" in node:
        yield from _below(node["items"], f"{at}.1")
    for key, below in node.get("properties", {}).items():
        if key not in _NOT_HERE:
            yield from _below(below, f"{at}.{key}" if at else key)
