"""Which missing fields would decide an undecided rule, found by filling in usual values.

A field decides a rule if some value of it does, whatever else stays missing. Where no field does so
by itself, a smallest set is found: all missing fields are filled in, then as many as possible taken
out again. A load is evaluated with a row for each filling.
"""

from collections.abc import Iterator, Mapping, Sequence, Set
from typing import Any, Final, NamedTuple, TypeAlias

import numpy as np
from msgspec import Struct

from checker.documents.problems import DataPath
from checker.evaluation.evaluator import evaluators
from checker.evaluation.rule_rows import NOT_STATED, RuleRows, expand
from checker.load.model import Load
from checker.logs.columns import data_path
from checker.rulebooks.model import Rulebooks
from checker.season.causes.usual_values import Value, usual_values
from checker.season.hauls.chunk import Chunk
from checker.season.hauls.some_rules import rulebooks_with
from checker.units.arithmetic import Number

_TRIES: Final = 6
"""Combinations of values tried with all missing fields filled in."""
_ROUNDS: Final = 3
"""Most times that fields are added which a filled-in load asks for in turn."""

Columns: TypeAlias = dict[DataPath, Number]
"""Values of fields, by path: one for every row of a load, or one for all."""
Filling: TypeAlias = Mapping[str, Value]
"""A value for each field that is filled in."""


class Decisive(Struct, frozen=True):
    """Sets of fields each of which can decide a rule: single ones, else one smallest set.

    Empty if no value that was tried decides it. `answers` has by field the only word that does: an
    answer, or the word for a figure that does not exist.
    """

    sets: tuple[tuple[str, ...], ...] = ()
    answers: Mapping[str, str] = {}


class _Try(NamedTuple):
    rule: str
    filling: Filling


class FilledHaul:
    """A haul with values filled in for what it leaves out."""

    def __init__(self, haul: Chunk, rulebooks: Rulebooks) -> None:
        """Fill in a chunk of one haul."""
        self._haul, self._rulebooks = haul, rulebooks
        self._own: Columns = {
            path: float(column.values[0]) for path, column in haul.columns.items()
        }

    def decisive(
        self, missing: Mapping[str, Sequence[str]], several: Set[str]
    ) -> dict[str, Decisive]:
        """By rule what would decide it; `missing` has its missing fields.

        Sets of several fields are looked for only for the rules in `several`.
        """
        found = self._by_one_field(missing)
        left = {
            rule: fields
            for rule, fields in missing.items()
            if rule not in found and rule in several
        }
        sets = self._by_several(left)
        return found | {
            rule: Decisive((tuple(sets[rule]),)) if rule in sets else Decisive() for rule in left
        }

    def _by_one_field(self, missing: Mapping[str, Sequence[str]]) -> dict[str, Decisive]:
        tries = [
            _Try(rule, {field: value})
            for rule, fields in missing.items()
            for field in fields
            for value in usual_values(field)
        ]
        deciding: dict[str, dict[str, list[Value]]] = {}
        for each, decided, _ in self._evaluated(tries):
            if decided:
                ((field, value),) = each.filling.items()
                deciding.setdefault(each.rule, {}).setdefault(field, []).append(value)
        return {
            rule: Decisive(
                tuple((field,) for field in fields),
                {
                    field: str(values[0].text)
                    for field, values in fields.items()
                    if len(values) == 1 and values[0].is_word
                },
            )
            for rule, fields in deciding.items()
        }

    def _by_several(self, missing: Mapping[str, Sequence[str]]) -> dict[str, list[str]]:
        """By rule a smallest set of fields that decides it together, where one was found."""
        filled = self._filled(missing)
        order = {rule: list(each) for rule, each in filled.items()}
        for at in range(max(map(len, order.values()), default=0)):
            tries = [
                _Try(rule, {name: filled[rule][name] for name in filled[rule] if name != each[at]})
                for rule, each in order.items()
                if at < len(each)
            ]
            for each, decided, _ in self._evaluated(tries):
                if decided:
                    filled[each.rule] = each.filling
        return {rule: list(each) for rule, each in filled.items()}

    def _filled(self, missing: Mapping[str, Sequence[str]]) -> dict[str, Filling]:
        """By rule a filling of all its missing fields that decides it, where one was found."""
        fields = {rule: dict.fromkeys(each) for rule, each in missing.items()}
        found: dict[str, Filling] = {}
        for _ in range(_ROUNDS):
            tries = [
                _Try(rule, _combination(list(each), number))
                for rule, each in fields.items()
                if rule not in found
                for number in range(_TRIES)
            ]
            for one, decided, wanting in self._evaluated(tries, wanting=True):
                if decided:
                    found.setdefault(one.rule, one.filling)
                fields[one.rule].update(dict.fromkeys(wanting))
        return found

    def _evaluated(
        self, tries: Sequence[_Try], *, wanting: bool = False
    ) -> Iterator[tuple[_Try, bool, Sequence[str]]]:
        """Each try, whether it decides its rule, and with `wanting` what is missing then."""
        together: dict[str, list[_Try]] = {}
        for each in tries:
            words = [(name, value.text) for name, value in each.filling.items() if value.si is None]
            # A section that the profile lacks would be there in every row of the load.
            sections = {path[:-1] for path in map(data_path, each.filling) if self._lacks(path)}
            key = repr((sorted(words, key=str), sorted(sections, key=str)))
            together.setdefault(key, []).append(each)
        for some in together.values():
            yield from self._evaluated_at_once(some, wanting=wanting)

    def _lacks(self, path: DataPath) -> bool:
        """True if the profile has not even the section of a field."""
        inside: Any = self._haul.profile.merged.data
        for part in path[:-1]:
            if part not in (inside if isinstance(inside, Mapping) else range(len(inside))):
                return True
            inside = inside[part]
        return False

    def _evaluated_at_once(
        self, tries: Sequence[_Try], *, wanting: bool
    ) -> Iterator[tuple[_Try, bool, Sequence[str]]]:
        """The same for tries that fill in the same words and sections."""
        fillings = {repr(each.filling): each.filling for each in tries}
        row_of = {name: row for row, name in enumerate(fillings)}
        load = self._load(list(fillings.values()))
        rules = self._rows({each.rule for each in tries}, load)
        undecided = {
            rule: expand(each.verdicts == NOT_STATED, load.rows) for rule, each in rules.items()
        }
        lacking = {rule: each.missing() if wanting else {} for rule, each in rules.items()}
        for each in tries:
            if each.rule in rules:
                row = row_of[repr(each.filling)]
                missing = lacking[each.rule].items()
                yield (
                    each,
                    not undecided[each.rule][row],
                    [field for field, rows in missing if expand(rows, load.rows)[row]],
                )

    def _load(self, fillings: Sequence[Filling]) -> Load:
        """The load of the haul with a row for each filling."""
        texts: dict[DataPath, Any] = {}
        values = dict(self._own)
        for row, filling in enumerate(fillings):
            for field, value in filling.items():
                path = data_path(field)
                texts[path] = value.text
                if value.si is not None:
                    column = values.get(path, np.nan)
                    if not isinstance(column, np.ndarray):
                        column = values[path] = np.full(len(fillings), column)
                    column[row] = value.si
        if len(fillings) == 1:
            values = {path: float(np.atleast_1d(value)[0]) for path, value in values.items()}
        return self._haul.profile.replaced(texts).load(values)

    def _rows(self, wanted: Set[str], load: Load) -> dict[str, RuleRows]:
        """The rows of the wanted rules."""
        books = rulebooks_with(self._rulebooks, wanted)
        evaluated = evaluators(load, books, self._haul.on)
        rows = evaluated.rule_rows(lambda rule: rule.id in wanted)
        return {each.rule.id: each for each in rows}


def _combination(fields: Sequence[str], number: int) -> Filling:
    """A value for each field that has one; another combination for each number."""
    found = {}
    for index, field in enumerate(fields):
        if values := usual_values(field):
            found[field] = values[(number + (number * index) // 2) % len(values)]
    return found
