"""Tests one load, or many hauls, for the entries of the lists in this package."""

from collections.abc import Iterable, Iterator, Sequence
from functools import cache
from typing import Any

import numpy as np
from msgspec import Struct

from checker.documents.document import value_at
from checker.documents.problems import DataPath, Problem, shorten
from checker.load.convert import field_path
from checker.load.plausible.contradictions import CONTRADICTIONS
from checker.load.plausible.doubts import DOUBTS
from checker.load.plausible.entry import Entry, Grade
from checker.load.plausible.impossible import IMPOSSIBLE
from checker.load.plausible.statement import (
    ANSWER,
    ANSWERS,
    COUNT,
    Bound,
    Clause,
    Compared,
    Holds,
    Interval,
    Pattern,
    Stated,
    bindings,
    clause,
    is_stated,
    kind_of,
    path_of,
    pattern_of,
)
from checker.load.references import Locations, location_of
from checker.units.formatting import OF_TWO_SYSTEMS, SI, US, show
from checker.units.parsing import parse

ENTRIES: Sequence[Entry] = (*CONTRADICTIONS, *IMPOSSIBLE, *DOUBTS)
"""Every entry, by name."""


class Parsed(Struct, frozen=True):
    """An entry with its statements parsed, and the fields they name in order, each once."""

    entry: Entry
    clauses: tuple[Clause, ...]
    fields: tuple[str, ...]
    needs: frozenset[Pattern] = frozenset()
    """The fields that a load must state for the entry to be asked of it."""


class Case(Struct, frozen=True):
    """An entry applied to particular entries of the lists in a load."""

    parsed: Parsed
    bound: Bound

    @property
    def entry(self) -> Entry:
        """The entry that is applied."""
        return self.parsed.entry

    @property
    def paths(self) -> list[DataPath]:
        """The fields that the entry names, in order."""
        return [path_of(field.lstrip("#"), self.bound) for field in self.parsed.fields]

    @property
    def paths_of_hauls(self) -> list[DataPath]:
        """The fields of which a haul must state one for the case to be asked of it."""
        fields = self.entry.of_hauls
        if isinstance(fields, bool):
            return self.paths if fields else []
        return [path_of(field, self.bound) for field in fields]

    @property
    def at(self) -> DataPath:
        """The path at which the problem is reported."""
        return path_of(self.entry.at or self.parsed.fields[0], self.bound)

    def holds(self, stated: Stated) -> Holds:
        """True where all statements of the entry hold: one answer, or one for each haul."""
        held: Holds = True
        for each in self.parsed.clauses:
            found = each.holds(stated, self.bound)
            held = held & found
            if not (held if isinstance(held, bool) else held.any()):
                return False
        return held

    def words(self, stated: Stated, row: int = 0) -> tuple[str, str]:
        """What was found and what is wanted, for one haul if there are many."""
        names = {**self.figures(stated, row), "bound": self._bounds(stated, row)}
        return self.entry.found.format_map(names), self.entry.wanted.format_map(names)

    def figures(self, stated: Stated, row: int) -> dict[str, str]:
        """The values that the words of the entry may name."""
        names = {}
        for number, field in enumerate(self.parsed.fields):
            path, kind = path_of(field.lstrip("#"), self.bound), kind_of(field)
            text = stated.shown(path, kind, row)
            names[_ORDINALS[number]] = text
            if number < len("ab"):
                names["ab"[number]] = f"`{field_path(path)}: {text}`"
        last = self.parsed.clauses[-1] if self.parsed.clauses else None
        if isinstance(last, Compared) and (sums := last.sums(stated, self.bound)):
            first = last.fields[0]
            kind = kind_of(first) or "number"
            metric = stated.is_metric(path_of(first, self.bound), kind, row)
            for name, side in zip(("less", "more"), sums, strict=True):
                names[name] = show(middle(side, row), kind, SI if metric else US)
        return names

    def _bounds(self, stated: Stated, row: int) -> "_Bounds":
        kind = kind_of(self.entry.at or self.parsed.fields[0])
        is_quantity = kind in OF_TWO_SYSTEMS and bool(self.entry.at)
        metric = is_quantity and stated.is_metric(self.at, kind or "", row)
        return _Bounds(kind if metric else None)


class _Bounds:
    """Looks up a constant of a statement as people write it: in metric units, of a kind of them."""

    def __init__(self, metric_kind: str | None) -> None:
        self._kind = metric_kind

    def __getitem__(self, key: str | int) -> str:
        constant = str(key)  # `format` makes a number of digits alone
        if self._kind is not None and parse(constant, self._kind).metric is False:
            return show(parse(constant, self._kind).value, self._kind, SI, digits=2)
        number = constant.rstrip("abcdefghijklmnopqrstuvwxyz%")
        unit = constant[len(number) :]
        if number.isdigit():
            number = f"{int(number):,}"
        return f"{number} {unit}" if unit else number


_ORDINALS = ("first", "second", "third", *(f"field{number}" for number in range(4, 20)))


class Doubt(Struct, frozen=True):
    """A figure of a load that is possible and far outside the usual."""

    name: str
    at: Problem
    """Its location, what was found, and what is usual."""
    because: str
    source: str


@cache
def _parsed(grade: Grade) -> tuple[Parsed, ...]:
    """The entries of one grade, parsed on the first call."""
    found = []
    for entry in ENTRIES:
        if entry.grade is grade:
            clauses = tuple(map(clause, entry.where))
            fields = dict.fromkeys(field for each in clauses for field in each.fields)
            needs = frozenset(pattern_of(field) for each in clauses for field in each.needs)
            found.append(Parsed(entry, clauses, tuple(fields), needs))
    return tuple(found)


@cache
def _needs(grade: Grade) -> frozenset[Pattern]:
    """The fields that any entry of a grade needs."""
    return frozenset[Pattern]().union(*(each.needs for each in _parsed(grade)))


def cases(grade: Grade, data: Any) -> Iterator[Case]:
    """Every entry of a grade for every combination of entries of a load's lists.

    Those that need a field that the load does not state are left out: they hold nowhere.
    """
    stated = {pattern for pattern in _needs(grade) if is_stated(pattern, data)}
    for parsed in _parsed(grade):
        if parsed.needs <= stated:
            for bound in bindings(parsed.fields, data):
                yield Case(parsed, bound)


class OfProfile:
    """The statements of one profile, references followed."""

    def __init__(self, data: Any) -> None:
        self.data = data
        self._known: dict[DataPath, Interval | None] = {}

    def word(self, path: DataPath) -> Any:
        """The text, list or mapping at a path; None where there is none."""
        return value_at(self.data, path)

    def interval(self, path: DataPath, kind: str) -> Interval | None:
        """The least and greatest value of a figure; None where none of the kind is stated."""
        if path not in self._known:
            self._known[path] = _read(self.word(path), kind)
        return self._known[path]

    def shown(self, path: DataPath, kind: str | None, row: int) -> str:  # noqa: ARG002 - one load
        """The stated value, as written."""
        found = self.word(path)
        if kind == COUNT and isinstance(found, list | dict):
            return str(len(found))
        if isinstance(found, list):
            return f"[{', '.join(map(str, found))}]"
        return "not stated" if found is None else shorten(str(found))

    def is_metric(self, path: DataPath, kind: str, row: int) -> bool:  # noqa: ARG002 - one load
        """True if the figure is stated in a metric unit."""
        found = self.word(path)
        return isinstance(found, str) and kind != ANSWER and bool(parse(found, kind).metric)


def _read(text: Any, kind: str) -> Interval | None:
    if kind == ANSWER:
        number = ANSWERS.get(text) if isinstance(text, str) else None
        return None if number is None else (number, number)
    if isinstance(text, bool) or not isinstance(text, str | int | float):
        return None
    try:
        quantity = parse(str(text), kind)
    except ValueError:  # the schema reports it, such as a bare number where a unit is wanted
        return None
    return quantity.value - quantity.half_width, quantity.value + quantity.half_width


def middle(side: Interval, row: int) -> float:
    """A figure as stated, without its tolerance; of one row if there are many."""
    low, high = (float(np.atleast_1d(end)[row if np.size(end) > 1 else 0]) for end in side)
    return (low + high) / 2


def refusals(data: Any, locations: Locations) -> list[Problem]:
    """A problem for everything in a load that cannot be true; not all of its data need be valid."""
    stated = OfProfile(data)
    return [
        problem_of(case, stated, locations)
        for case in cases(Grade.REFUSED, data)
        if case.holds(stated)
    ]


def doubts(
    data: Any, locations: Locations, found: Iterable[Case] | None = None
) -> tuple[Doubt, ...]:
    """Everything in a load that is far outside the usual, each location once."""
    stated = OfProfile(data)
    return tuple(
        dict.fromkeys(
            Doubt(
                name=case.entry.name,
                at=problem_of(case, stated, locations),
                because=case.entry.because,
                source=case.entry.source,
            )
            for case in (cases(Grade.DOUBTFUL, data) if found is None else found)
            if case.holds(stated)
        )
    )


def problem_of(case: Case, stated: Stated, locations: Locations) -> Problem:
    """The problem of a case at its location, with the locations of the figures behind it."""
    found, wanted = case.words(stated)
    file, mark = location_of(case.at, locations)
    lines = [locations[path] for path in case.paths if path in locations]
    beside = dict.fromkeys(f"{other}:{at.line}" for other, at in lines)
    beside.pop(f"{file}:{mark.line}", None)
    if beside:
        found += f" ({', '.join(beside)})"
    return Problem(file, mark, found, wanted)
