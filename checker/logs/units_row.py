"""Units in a row below the headers, as in many sheets of measurements."""

from collections.abc import Sequence
from dataclasses import replace

from checker.documents.problems import Mark, Problem, ProblemsFoundError, quoted
from checker.logs.columns import ColumnError, field_column, node_of
from checker.logs.model import Column, Role


def with_units(
    file: str, columns: Sequence[Column | None], units: Sequence[str], marks: Sequence[Mark]
) -> list[Column | None]:
    """The columns, each quantity in the unit below its header; other words there say nothing.

    Raises ProblemsFoundError for an unknown unit, and for one that contradicts the header.
    """
    problems: list[Problem] = []
    found: list[Column | None] = []
    for index, column in enumerate(columns):
        unit = units[index].strip("[]() ") if index < len(units) else ""
        if not unit or column is None or column.role is not Role.QUANTITY:
            found.append(column)
            continue
        if node_of(column.field)["type"] != "string":  # a count or a bare number
            found.append(column)
            continue
        try:
            below = field_column(column.header, column.field, unit)
        except ColumnError as error:
            problems.append(Problem(file, marks[index], error.found, error.wanted))
            found.append(column)
            continue
        if column.unit not in (None, below.unit):
            wanted = f"{column.unit}, as the column {quoted(column.header)} says"
            problems.append(Problem(file, marks[index], f"the unit {quoted(unit)}", wanted))
        found.append(replace(column, unit=below.unit))
    if problems:
        raise ProblemsFoundError(problems)
    return found
