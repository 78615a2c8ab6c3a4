"""Reads mapping files, `kind: haul-log`: the headers, date format and words of a log."""

import re
from collections.abc import Iterator
from datetime import date, datetime
from pathlib import Path
from typing import Any, Final

from checker.documents.document import Document
from checker.documents.problems import DataPath, Problem, ProblemsFoundError, nearest, quoted
from checker.documents.reader import read_file
from checker.documents.validate import validate
from checker.logs.cells import CellError, stated
from checker.logs.columns import ColumnError, column_of, field_column, header_text, with_decimal
from checker.logs.layout_keys import read_layout
from checker.logs.model import OF_THE_HAUL, Cell, Column, DecimalSign, LogMapping

# Days that are read wrongly if day and month are swapped or the century is missing.
_DAYS: Final = (date(1987, 11, 23), date(2026, 5, 14))
# Some systems pad a directive with a width, such as %9999999999Y, which takes very long.
_FORM: Final = re.compile(r"(?:[^%]|%[A-Za-z%]){1,60}")


def read_mapping(file: Path) -> LogMapping:
    """The words of a mapping file; raises ProblemsFoundError with all problems of the file."""
    document = read_file(file)
    problems = document.problems + validate(document, wanted_kind="haul-log")
    if problems:
        raise ProblemsFoundError(problems)
    reading = _Reading(document)
    mapping = reading.mapping()
    if reading.problems:
        raise ProblemsFoundError(reading.problems)
    return mapping


class _Reading:
    """Converts a valid document to `LogMapping`; collects problems of unknown names."""

    def __init__(self, document: Document) -> None:
        self.document = document
        self.problems: list[Problem] = []
        data: Any = document.data
        self.data: dict[str, Any] = data

    def mapping(self) -> LogMapping:
        layout, decimal = read_layout(self.data, self._add_problem)
        columns = {header: with_decimal(column, decimal) for header, column in self._columns()}
        dates = self.data.get("dates")
        if dates is not None and not _is_complete_date_format(dates):
            wanted = "a format with year, month and day, such as %m/%d/%Y"
            self._add_problem(("dates",), quoted(dates), wanted)
        ignored = self.data.get("ignore", [])
        for index, header in enumerate(ignored):
            if header_text(header) in columns:
                found = f"{quoted(header)}, which `columns:` gives a field"
                self._add_problem(("ignore", index), found, "each header in one of the two")
        return LogMapping(
            columns=columns,
            ignored=frozenset(map(header_text, ignored)),
            dates=dates,
            words=dict(self._words(columns, decimal)),
            answers=self.data.get("answers", {}),
            decimal=decimal,
            layout=layout,
            file=self.document.file,
            marks={str(key): self.document.key_mark((key,)) for key in self.data},
        )

    def _add_problem(
        self, path: DataPath, found: str, wanted: str, suggestion: str | None = None
    ) -> None:
        self.problems.append(self.document.problem(path, found, wanted, suggestion))

    def _columns(self) -> Iterator[tuple[str, Column]]:
        first: dict[str, str] = {}
        for key, named in self.data.get("columns", {}).items():
            path: DataPath = ("columns", key)
            header = header_text(key)
            try:
                if isinstance(named, str):
                    plain = column_of(named)
                    column = Column(header, plain.field, plain.role, plain.unit)
                else:
                    path = (*path, "unit" if "unit" in named else "field")
                    column = field_column(header, named["field"], named.get("unit"))
            except ColumnError as error:
                self._add_problem(path, error.found, error.wanted, error.suggestion)
                continue
            if column.field in first:
                found = f"{column.field} for {quoted(header)} and {quoted(first[column.field])}"
                self._add_problem(path, found, "each field in one column")
            first[column.field] = header
            yield header, column

    def _words(
        self, columns: dict[str, Column], decimal: DecimalSign
    ) -> Iterator[tuple[str, dict[str, Cell]]]:
        for name, words in self.data.get("words", {}).items():
            try:
                column = columns.get(header_text(name)) or with_decimal(column_of(name), decimal)
            except ColumnError as error:
                guess = nearest(name, columns)
                mark = self.document.key_mark(("words", name))
                hint = quoted(guess) if guess else error.suggestion
                wanted = "a header under `columns:`, or a field"
                self.problems.append(Problem(self.document.file, mark, quoted(name), wanted, hint))
                continue
            for word, meaning in words.items():
                try:
                    if column.role not in OF_THE_HAUL:
                        stated(column, meaning)
                except CellError as error:
                    its = error.problem
                    self._add_problem(("words", name, word), its.found, its.wanted, its.suggestion)
            yield column.field, words


def _is_complete_date_format(form: str) -> bool:
    if not _FORM.fullmatch(form):
        return False
    try:
        return all(datetime.strptime(day.strftime(form), form).date() == day for day in _DAYS)
    except (ValueError, re.error):  # the latter: a directive that occurs twice
        return False
