"""Finds the row of a table that holds its headers."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from checker.documents.problems import Mark, Problem, ProblemsFoundError, listed, quoted
from checker.logs.layout import FIND
from checker.logs.left_out import ABOVE
from checker.logs.model import LeftOut, LogMapping

MOST_ABOVE: Final = 100
"""Rows in which the headers are looked for."""


@dataclass(frozen=True, slots=True)
class Header:
    """The headers of a table, the number of their row, and the rows above that have any cell."""

    row: int
    texts: Sequence[str]
    above: Sequence[LeftOut] = ()


def find_header(
    file: str, rows: Iterable[tuple[int, Sequence[str]]], mapping: LogMapping
) -> Header:
    """The headers among numbered rows of stripped texts, of which no more are read than needed.

    Raises ProblemsFoundError if the mapping file names a row without headers, or if no row has
    the headers that it names.
    """
    wanted_row = mapping.layout.header_row
    wanted_texts = set(mapping.columns)
    above: list[LeftOut] = []
    nearest_row, lacking = 0, wanted_texts
    for number, texts in rows:
        if wanted_row == FIND:
            missing = wanted_texts.difference(texts)
            if not missing:
                return Header(number, texts, above)
            if len(missing) < len(lacking):
                nearest_row, lacking = number, missing
            if number >= MOST_ABOVE:
                break
        elif isinstance(wanted_row, int) and number >= wanted_row:
            if number == wanted_row and any(texts):
                return Header(number, texts, above)
            break
        elif wanted_row is None and any(texts):
            return Header(number, texts, above)
        if any(texts):
            above.append(LeftOut(number, ABOVE))
    if wanted_row is None:
        return Header(1, ())
    if wanted_row == FIND:
        names = listed(map(quoted, sorted(wanted_texts)))
        found = f"no row with the headers {names} in the first {MOST_ABOVE} rows"
        if nearest_row:
            found += f" (row {nearest_row} lacks {listed(map(quoted, sorted(lacking)))})"
        raise _problem(file, 1, found, "all headers of `columns:` in one row")
    found = f"no cell in row {wanted_row}"
    raise _problem(file, int(wanted_row), found, "the headers, as `header_row:` says")


def _problem(file: str, row: int, found: str, wanted: str) -> ProblemsFoundError:
    return ProblemsFoundError([Problem(file, Mark(row, 1), found, wanted)])
