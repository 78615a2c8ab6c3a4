"""Finds the rows of a log that a person names: by number, or by the haul's own number."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import islice

from checker.documents.problems import Mark, Problem, ProblemsFoundError, nearest, one_of, quoted
from checker.logs.model import Log
from checker.season.hauls.reading import haul_names

_MOST_DIGITS = 18
_MOST_NUMBERS = 2_000
"""Most haul numbers among which a near one is looked for."""


@dataclass(frozen=True, slots=True)
class RowsFound:
    """The row of each name in the order asked for, and notes on names that could mean another."""

    rows: Sequence[int]
    notes: Sequence[str]


@dataclass(slots=True)
class _Scan:
    """What a log holds of the names asked for."""

    first: int = 0
    last: int = 0
    rows: set[int] = field(default_factory=set)
    """Those asked for by number that are there."""
    of_name: dict[str, list[int]] = field(default_factory=dict)
    """The rows of each haul number asked for."""
    known: list[str] = field(default_factory=list)
    """Some haul numbers of the log."""


def rows_named(log: Log, names: Sequence[str]) -> RowsFound:
    """The rows that are named by digits, or else by a number of the haul's own.

    Raises ProblemsFoundError with every name that means no row, or several.
    """
    found = _scan(log, names)
    rows: list[int] = []
    problems: list[Problem] = []
    notes: list[str] = []
    for name in names:
        own = found.of_name.get(name, [])
        if not _is_row(name):
            rows += own
            problems += [_no_such_haul(log, found, name, own)] if len(own) != 1 else []
        elif int(name) in found.rows:
            rows.append(int(name))
            if others := [f"'{log.file}#{row}'" for row in own if row != int(name)]:
                notes.append(
                    f"'{log.file}#{name}' is row {name}; the haul whose own number is {name} is "
                    f"{one_of(others)}"
                )
        else:
            problems.append(_no_such_row(log, found, int(name), own))
    if problems:
        raise ProblemsFoundError(problems)
    return RowsFound(rows, notes)


def _is_row(name: str) -> bool:
    """True for digits as a row is counted: `0017` can only be a number of the haul's own."""
    return len(name) < _MOST_DIGITS and name.isdecimal() and str(int(name)) == name


def _scan(log: Log, names: Sequence[str]) -> _Scan:
    wanted = set(names)
    numbers = set(map(int, filter(_is_row, wanted)))
    found = _Scan()
    for part in log.parts:
        batch = part.read()
        here = [*batch.numbers, *(each.row for each in batch.refused)]
        if not here:
            continue
        found.first = found.first or min(here)
        found.last = max(here)
        found.rows |= numbers.intersection(here)
        own = haul_names(batch)
        for row, name in own.items():
            if name in wanted:
                found.of_name.setdefault(name, []).append(row)
        found.known += islice(own.values(), _MOST_NUMBERS - len(found.known))
    return found


def _no_such_row(log: Log, found: _Scan, number: int, own: Sequence[int]) -> Problem:
    where = ""
    if found.last and number < found.first:
        where = ", which is above the first haul, as a header is"
    elif number > found.last and found.last:
        where = ", which is below the last haul"
    elif found.last:
        where = ", which has no haul"
    hint = (f"'{log.file}#{row}', whose own number is {number}" for row in own[:1])
    return Problem(*_at(log, number), f"row {number}{where}", _rows(found), next(hint, None))


def _no_such_haul(log: Log, found: _Scan, name: str, own: Sequence[int]) -> Problem:
    if own:
        wanted = one_of([f"'{log.file}#{row}'" for row in own])
        return Problem(*_at(log, own[0]), f"{quoted(name)}, the number of {len(own)} hauls", wanted)
    if not name:
        return Problem(*_at(log, found.first), f"no row after '{log.file}#'", _rows(found))
    guess = nearest(name, found.known)
    wanted = _rows(found)
    if found.known:
        wanted += ", or a haul's own number from the column haul"
    return Problem(
        *_at(log, found.first), f"no haul {quoted(name)}", wanted, guess and f"'{log.file}#{guess}'"
    )


def _at(log: Log, row: int) -> tuple[str, Mark]:
    return log.file, Mark(max(row, 1), 1)


def _rows(found: _Scan) -> str:
    return f"a row from {found.first} to {found.last}" if found.last else "a log with hauls"
