"""The rows of the findings of an audit, as columns of arrays: those of hauls, then of their rules.

A column is one value for each row; where it has words, the values are indices into them.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any, Final, NamedTuple, TypeAlias

import numpy as np
from numpy.typing import NDArray

from checker.evaluation.compared import compared, kind_of_leaf
from checker.evaluation.evaluator import LISTS
from checker.evaluation.outcome import OUTCOMES
from checker.evaluation.rule_rows import (
    DOES_NOT_APPLY,
    NOT_MET,
    NOT_STATED,
    Flags,
    Indices,
    RuleRows,
    expand,
    take,
)
from checker.evaluation.variances import Permit
from checker.facts.catalogue import ANSWER
from checker.logs.model import Refused
from checker.rulebooks.formula_arithmetic import wanted_operator
from checker.rulebooks.rule_text import BROKEN_ON
from checker.rulebooks.verdicts import WORST_FIRST
from checker.season.hauls.chunk import Labels
from checker.season.hauls.chunk_result import ChunkResult
from checker.units.formatting import FORCE
from checker.units.kinds import BASE_UNITS, SECONDS_OF_A_DAY

EPOCH: Final = 719_163
"""1970-01-01 as days since 0001-01-01, as `date.toordinal` counts."""
_UNITS: Final = {
    **BASE_UNITS,
    FORCE: BASE_UNITS["load"],
    "gravities": "g",
    "day": "day",
    ANSWER: "yes/no",
}
_PLAIN_NUMBER: Final = "1"
ROWS_AT_ONCE: Final = 1 << 16
"""Rows that are made at once, and those of a row group of Parquet: enough to compress well."""

Words: TypeAlias = Sequence[str | None] | Sequence[Sequence[str]]


class Column(NamedTuple):
    """One value for each row; indices into `words` where there are some."""

    values: NDArray[Any]
    words: Words | None = None

    def take(self, rows: Indices) -> "Column":
        """The column with the given rows."""
        return Column(self.values[rows], self.words)


Columns: TypeAlias = Mapping[str, Column]
"""By the name of the column; those left out are null in all rows."""


def columns_of_refused(refused: Sequence[Refused], names: Mapping[int, str]) -> Columns:
    """The rows of the log that were not checked, with their names in the log."""
    rows = np.array([each.row for each in refused], dtype=np.int64)
    return {
        "kind": _same("refused", len(rows)),
        "row": Column(rows),
        "haul": _names(rows, names),
        "reason": Column(np.arange(len(rows)), [each.reason for each in refused]),
    }


def columns_of_hauls(result: ChunkResult, names: Mapping[int, str]) -> Columns:
    """The hauls of a chunk, with the names that the log states."""
    chunk = result.chunk
    idle = {each.rule.id: each.verdicts == DOES_NOT_APPLY for each in result.rules}
    unread = {
        f"{place}: {subject}": rows
        for place, subjects in result.unread_subjects.items()
        for subject, rows in subjects.items()
    }
    return {
        "kind": _same("haul", chunk.hauls),
        **_of_haul(result, names),
        "near": Column(expand(result.near, chunk.hauls)),
        "excused": Column(expand(result.excused, chunk.hauls)),
        "margin": Column(result.margins),
        "does_not_apply": _listed(idle, chunk.hauls),
        "doubtful": _listed(chunk.doubtful, chunk.hauls),
        "unread_places": Column(np.zeros(chunk.hauls, dtype=np.intp), [tuple(result.unread)]),
        "unread_subjects": _listed(unread, chunk.hauls),
    }


def columns_of_findings(result: ChunkResult, names: Mapping[int, str]) -> Iterator[Columns]:
    """The rules that apply to the hauls of a chunk, rule by rule, some rules at a time."""
    of_haul = _of_haul(result, names)
    some: list[_Applying] = []
    rows = 0
    for each in result.rules:
        hauls = np.flatnonzero(expand(each.verdicts, result.chunk.hauls) != DOES_NOT_APPLY)
        if hauls.size:
            some.append(_Applying(each, hauls))
            rows += hauls.size
        if rows >= ROWS_AT_ONCE:
            yield _of_rules(some, result, of_haul)
            some, rows = [], 0
    if some:
        yield _of_rules(some, result, of_haul)


class _Applying(NamedTuple):
    """A rule, and the indices of the hauls that it applies to."""

    rows: RuleRows
    hauls: Indices


def _of_rules(some: Sequence[_Applying], result: ChunkResult, of_haul: Columns) -> Columns:
    """The findings of some rules, as columns of all of them."""
    rules = [each.rows for each in some]
    rule = np.repeat(np.arange(len(some)), [each.hauls.size for each in some])
    hauls = np.concatenate([each.hauls for each in some])

    def joined(columns: Iterable[NDArray[Any]]) -> NDArray[Any]:
        """The columns of the rules, each for the hauls that its rule applies to."""
        pairs = zip(some, columns, strict=True)
        return np.concatenate(
            [expand(take(each, one.hauls), one.hauls.size) for one, each in pairs]
        )

    def with_words(values: NDArray[Any], words_of_rules: Iterable[Words]) -> Column:
        """Indices into the words of the rule of each row, -1 for the last; each word once."""
        words: dict[Any, int] = {}
        places = [_places(each, words) for each in words_of_rules]
        lengths = np.array([len(each) for each in places])
        first = np.cumsum(lengths) - lengths
        codes = np.array([place for each in places for place in each])
        return Column(codes[first[rule] + values % lengths[rule]], list(words))

    def with_own_words(columns: Sequence[Column]) -> Column:
        words = [each.words for each in columns if each.words is not None]
        return with_words(joined(each.values for each in columns), words)

    verdicts, subject, leaf = (
        joined(getattr(each, name) for each in rules) for name in ("verdicts", "subject", "leaf")
    )
    sides, kinds = [compared(each) for each in rules], [_kinds(each, result) for each in rules]
    operators = [[wanted_operator(leaf) for leaf in each.rule.requires.leaves] for each in rules]
    broken_on = [[BROKEN_ON.get(operator or "") for operator in each] for each in operators]
    # A rule without a subject, as its list is not stated, compares nothing.
    compares = np.where(subject >= 0, leaf, -1)
    kind = with_words(leaf, kinds)
    is_day = np.array([each == "day" for each in kind.words or ()])[kind.values]
    return {
        "kind": _same("finding", len(hauls)),
        **{name: each.take(hauls) for name, each in of_haul.items()},
        "rulebook": Column(rule, [each.book.id for each in rules]),
        "rule": Column(rule, [each.rule.id for each in rules]),
        "level": Column(rule, [each.rule.level for each in rules]),
        "verdict": Column(verdicts, [verdict.value for verdict in WORST_FIRST]),
        "near": Column(joined(each.near(result.near_share) for each in rules)),
        "excused": Column(joined(each.excused for each in rules)),
        "margin": Column(joined(each.margins for each in rules)),
        "subject": with_words(subject, map(_subjects, rules)),
        "found": Column(_in_unit(joined(each.found for each in sides), is_day)),
        "operator": with_words(
            compares, [[*(each or "==" for each in several), None] for several in operators]
        ),
        "wanted": Column(_in_unit(joined(each.wanted for each in sides), is_day)),
        "unit": with_words(
            compares,
            [[*(_UNITS.get(each, _PLAIN_NUMBER) for each in several), None] for several in kinds],
        ),
        "side": with_words(
            np.where(verdicts == NOT_MET, leaf, -1),
            [[*(each and each.value for each in several), None] for several in broken_on],
        ),
        "variance": with_own_words([_variances(each, result.chunk.hauls) for each in rules]),
        "missing": with_own_words([_missing(each, result) for each in rules]),
    }


def _places(words: Words, known: dict[Any, int]) -> list[int]:
    """The place of each word among those known, in which the others are entered."""
    keys = (word if word is None or isinstance(word, str) else (*word,) for word in words)
    return [known.setdefault(key, len(known)) for key in keys]


def _of_haul(result: ChunkResult, names: Mapping[int, str]) -> Columns:
    """The columns that hauls and their findings have in common."""
    chunk, load = result.chunk, result.chunk.load_of
    return {
        "row": Column(chunk.rows),
        "haul": _names(chunk.rows, names),
        "date": Column(chunk.days - EPOCH),
        "crew": Column(chunk.crew_of, chunk.crews),
        "load": Column(load, [each.load for each in chunk.loads]),
        "trailer": Column(load, [each.trailer for each in chunk.loads]),
        "trailer_title": Column(
            load, [_title(each, "trailer", each.trailer) for each in chunk.loads]
        ),
        "machine": Column(load, [each.machines for each in chunk.loads]),
        "machine_title": Column(
            load, [[_title(each, "machine", key) for key in each.machines] for each in chunk.loads]
        ),
        "tow_vehicle": Column(load, [each.tow_vehicle for each in chunk.loads]),
        "tow_vehicle_title": Column(
            load, [_title(each, "tow vehicle", each.tow_vehicle) for each in chunk.loads]
        ),
        "outcome": Column(result.outcomes, [outcome.value for outcome in OUTCOMES]),
    }


def _title(labels: Labels, kind: str, key: str) -> str:
    return labels.titles[kind].get(key, "")


def _kinds(rows: RuleRows, result: ChunkResult) -> list[str]:
    """The kind of quantity that each comparison of a rule compares."""
    dated = {name: each.on(result.chunk.on) for name, each in rows.rule.thresholds.items()}
    thresholds = {name: value for name, value in dated.items() if value is not None}
    return [kind_of_leaf(rows.rule, leaf, thresholds) for leaf in rows.rule.requires.leaves]


def _in_unit(values: NDArray[np.float64], is_day: Flags) -> NDArray[np.float64]:
    """The values in the units of the file, NaN where infinite; days since 1970, not seconds."""
    shown = np.where(is_day, values / SECONDS_OF_A_DAY - EPOCH, values)
    return np.where(np.isfinite(shown), shown, np.nan)


def _subjects(rows: RuleRows) -> Sequence[str | None]:
    """The paths of the entries that a rule may be about, then None for the index -1."""
    if not rows.rule.for_each:
        return [None, None]
    entries = LISTS[rows.rule.for_each]
    number = int(rows.subject.max()) + 1
    return [*(f"{entries}.{index}" for index in range(1, number + 1)), None]


def _variances(rows: RuleRows, number: int) -> Column:
    """The first variance that counts in each row in which one excuses the rule."""
    used = np.zeros(number if rows.permits else 1, dtype=np.intp)
    for index, permit in reversed([*enumerate(rows.permits, 1)]):
        used[expand(permit.rows & rows.excused, number)] = index
    return Column(used, [None, *map(_variance, rows.permits)])


def _variance(permit: Permit) -> str:
    each = permit.variance
    return f"{each.by}, from {each.starts} until {each.ends}"


def _missing(rows: RuleRows, result: ChunkResult) -> Column:
    is_wanting = (rows.verdicts == NOT_STATED).any()
    return _listed(result.missing(rows) if is_wanting else {}, result.chunk.hauls)


def _listed(marks: Mapping[str, Flags], rows: int) -> Column:
    """The names that are marked in each row, as a list."""
    names = list(marks)
    if all(each.size == 1 for each in marks.values()):
        shown = [name for name in names if marks[name][0]]
        return Column(np.zeros(rows, dtype=np.intp), [shown])
    table = np.array([expand(each, rows) for each in marks.values()])
    # Few combinations are distinct, so a list is made for each of them.
    _, first, codes = np.unique(
        np.packbits(table, axis=0), axis=1, return_index=True, return_inverse=True
    )
    lists = [[names[index] for index in np.flatnonzero(table[:, row])] for row in first]
    return Column(codes.reshape(-1), lists)


def _names(rows: NDArray[np.int64], names: Mapping[int, str]) -> Column:
    stated = [names.get(row) for row in rows.tolist()] if names else [None]
    return Column(np.arange(len(rows)) if names else np.zeros(len(rows), dtype=np.intp), stated)


def _same(word: str, rows: int) -> Column:
    return Column(np.zeros(rows, dtype=np.intp), [word])
