"""One file of `kind: haul` as a row of a log."""

from datetime import date
from typing import Any, Final

from checker.documents.document import Document
from checker.documents.problems import Problem
from checker.season.logs.cells import CellError, stated
from checker.season.logs.collecting import Row
from checker.season.logs.columns import ColumnError, column_of
from checker.season.logs.json_lines import as_list
from checker.season.logs.model import OF_THE_HAUL, Cell, Column

LOAD: Final = column_of("load")
DATE: Final = column_of("date")
CREW: Final = column_of("crew")


def haul_row(document: Document) -> tuple[Row, list[Problem]]:
    """The row of a document that fits the schema of a haul, and what is wrong with it still."""
    data: Any = document.data
    row: dict[Column, Cell] = {
        LOAD: data["load"],
        DATE: date.fromisoformat(data["date"]),
        CREW: data.get("crew"),
    }
    problems = []
    for field, value in data.get("differs", {}).items():
        path = ("differs", field)
        try:
            column = column_of(field)
        except ColumnError as error:
            mark = document.key_mark(path)
            problem = Problem(document.file, mark, error.found, error.wanted, error.suggestion)
            problems.append(problem)
            continue
        if column.role in OF_THE_HAUL:
            mark = document.key_mark(path)
            wanted = f"`{field}:` above, not under `differs:`"
            problems.append(Problem(document.file, mark, f"'{field}' here", wanted))
            continue
        cell = as_list(value) if isinstance(value, list) else value
        try:
            stated(column, cell)
        except CellError as error:
            its = error.problem
            problems.append(document.problem(path, its.found, its.wanted, its.suggestion))
        row[column] = cell
    return row, problems
