"""Reads the keys of a mapping file that say where the hauls stand in a table."""

import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final, Protocol

from checker.documents.problems import DataPath, ProblemsFoundError, listed
from checker.logs.columns import header_text
from checker.logs.layout import (
    ENCODINGS,
    FIND,
    KEYS_OF_TABLES,
    KEYS_OF_TEXTS,
    KEYS_OF_WORKBOOKS,
    SEPARATORS,
    Layout,
    LeaveOut,
)
from checker.logs.model import DecimalSign, LogMapping

_RANGE: Final = re.compile(r"([1-9][0-9]{0,6})-([1-9][0-9]{0,6})")

_FORMS_OF_KEYS: Final[Mapping[str, tuple[Sequence[str], str]]] = {
    **dict.fromkeys(KEYS_OF_TABLES, ((".csv", ".xlsx"), "a CSV or XLSX log")),
    **dict.fromkeys(KEYS_OF_TEXTS, ((".csv",), "a CSV log")),
    **dict.fromkeys(KEYS_OF_WORKBOOKS, ((".xlsx",), "an XLSX log")),
}


class AddProblem(Protocol):
    """Notes a problem at a path of the mapping file."""

    def __call__(
        self, path: DataPath, found: str, wanted: str, suggestion: str | None = None
    ) -> None:
        """What was found there, and what would be accepted."""


def read_layout(data: Mapping[str, Any], add_problem: AddProblem) -> tuple[Layout, DecimalSign]:
    """The layout in the data of a valid mapping file, and its decimal sign."""
    header_row = data.get("header_row")
    if header_row == FIND and not data.get("columns"):
        wanted = "`columns:` with the headers to look for, or the number of their row"
        add_problem(("header_row",), f"'{FIND}' without headers", wanted)
    leave_out = data.get("leave_out", {})
    separator = SEPARATORS[data.get("separator", "comma")]
    usual = DecimalSign.USUAL if separator == SEPARATORS["comma"] else DecimalSign.UNKNOWN
    layout = Layout(
        sheet=data.get("sheet"),
        header_row=header_row,
        units_row=data.get("units_row") == "yes",
        separator=separator,
        encoding=ENCODINGS[data.get("encoding", "utf-8")],
        leave_out=LeaveOut(
            rows=list(_ranges(leave_out.get("rows", []), add_problem)),
            after_row=leave_out.get("after_row"),
            words={header_text(key): each for key, each in leave_out.get("words", {}).items()},
            repeated_headers=leave_out.get("repeated_headers") == "yes",
            lone_texts=leave_out.get("lone_texts") == "yes",
        ),
    )
    return layout, DecimalSign(data.get("decimal", usual))


def _ranges(rows: Sequence[Any], add_problem: AddProblem) -> Iterator[tuple[int, int]]:
    for index, each in enumerate(rows):
        if isinstance(each, int):
            yield each, each
            continue
        found = _RANGE.fullmatch(each)
        first, last = (int(found[1]), int(found[2])) if found else (1, 0)
        if last < first:
            wanted = "the number of a row, or two such as 214-220"
            add_problem(("leave_out", "rows", index), f"'{each}'", wanted)
        yield first, last


def ensure_keys_apply(mapping: LogMapping, suffix: str) -> None:
    """Raise ProblemsFoundError for keys that say nothing about a log of this form.

    Of hauls in YAML no mapping file says anything: each names the fields itself.
    """
    if suffix in (".yaml", ".yml") and mapping.marks:
        found = "a mapping file for hauls in YAML"
        raise ProblemsFoundError([mapping.problem("kind", found, "a log with columns")])
    problems = [
        mapping.problem(key, f"`{key}:` for a log of the form '{suffix}'", f"it for {words} alone")
        for key, (forms, words) in _FORMS_OF_KEYS.items()
        if key in mapping.marks and suffix not in forms
    ]
    if problems:
        raise ProblemsFoundError(problems)


def ensure_words_have_headers(mapping: LogMapping, headers: Sequence[str]) -> None:
    """Raise ProblemsFoundError where `leave_out: words` names a header that the log lacks."""
    problems = [
        mapping.problem(
            "leave_out",
            f"'{header}' under `words:`, which is no header of the log",
            f"one of {listed(filter(None, headers))}",
        )
        for header in mapping.layout.leave_out.words
        if header not in headers
    ]
    if problems:
        raise ProblemsFoundError(problems)
