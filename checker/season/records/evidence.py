"""The evidence for each haul on hold or open: the rule that decides, what was found and wanted.

Each task stores it as arrays, some 80 bytes a haul, beside the counts of a checkpoint.
"""

from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any, Final, NamedTuple, TypeAlias

import msgspec
import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from checker.evaluation.compared import compared, is_metric
from checker.evaluation.outcome import NO_RULE_BROKEN, OPEN
from checker.evaluation.rule_rows import TOO_CLOSE, Indices, RuleRows, expand
from checker.season.hauls.chunk_result import ChunkResult
from checker.season.records.open_hauls import NOTHING, open_hauls

_TYPES: Final = np.dtype(
    [
        ("row", "<i8"),
        ("open", "?"),
        ("day", "<i4"),
        ("load", "<i4"),
        ("crew", "<i4"),
        ("name", "<i4"),
        ("broken", "<i4"),
        ("undecided", "<i4"),
        ("rule", "<i4"),
        ("fields", "<i4"),
        ("lacking", "<i4"),
        ("leaf", "<i4"),
        ("metric", "?"),
        ("found", "<f8"),
        ("wanted", "<f8"),
        ("margin", "<f8"),
    ]
)
"""`load`, `crew`, `name`, `rule` and `fields` are indices; `broken` and `undecided` count
must-rules, `lacking` the fields that the undecided ones lack."""
_INDICES: Final = ("load", "crew", "name", "rule", "fields")

Words: TypeAlias = Sequence[Any]


class RigOfLoad(NamedTuple):
    """A load profile as the log names it, and what it is hauled with."""

    load: str
    trailer: str
    machines: tuple[str, ...]
    tow_vehicle: str


class ListedHauls(Struct, frozen=True):
    """Hauls on hold or open: one record each, and what its indices stand for.

    Of a haul on hold, the rule that decides is, of the must-rules that are not met, the one missed
    by the largest share of its limit; where none has such a share, the first in the order of the
    rulebooks. `leaf` is the index of the deciding comparison in what that rule requires, `found`
    and `wanted` its two sides in N, m, s and rad. `metric` is true where most of its figures are
    stated in metric units.

    Of an open haul, the rule is the one of `OpenHauls`, empty where there is none. It has no sides
    and `leaf` is -1 where it is not too close to call; `margin` is then as in `WorstHaul`, by which
    it is sorted.
    """

    records: NDArray[np.void]
    load: Sequence[RigOfLoad]
    crew: Sequence[str]
    name: Sequence[str]
    """The names of hauls in the log; empty for hauls without."""
    rule: Sequence[str]
    fields: Sequence[str]
    """Missing fields of open hauls, as in `OpenHauls.sets`, with commas between."""

    def __len__(self) -> int:
        return len(self.records)

    def worst_first(self) -> "ListedHauls":
        """The same hauls, first those that break most rules, then the farthest from a limit."""
        records = self.records
        margins = np.nan_to_num(records["margin"])
        # As in `WorstHaul.order`; the last key is the first to sort by.
        counts = -records["undecided"], margins, -records["broken"]
        keys = (records["row"], *counts, records["open"])
        order = np.lexsort(keys)
        return replace(self, records=records[order])


class _Stored(Struct):
    """The form of a file."""

    records: bytes
    load: list[RigOfLoad]
    crew: list[str]
    name: list[str]
    rule: list[str]
    fields: list[str]


NO_HAUL: Final = ListedHauls(np.zeros(0, _TYPES), (), (), (), (), ())


def listed_hauls(result: ChunkResult, names: Mapping[int, str]) -> ListedHauls:
    """The hauls of a chunk that are on hold or open, with the names that the log states."""
    chunk = result.chunk
    here = np.flatnonzero(result.outcomes != NO_RULE_BROKEN)
    if not here.size:
        return NO_HAUL
    records = np.zeros(here.size, _TYPES)
    records["row"], records["day"] = chunk.rows[here], chunk.days[here]
    records["load"], records["crew"] = chunk.load_of[here], chunk.crew_of[here]
    records["name"] = np.arange(here.size)
    records["open"] = result.outcomes[here] == OPEN
    for index, each in enumerate(result.rules):
        if each.rule.level != "must":
            continue
        records["undecided"] += expand(each.undecided, chunk.hauls)[here]
        if each.broken.any():
            records["broken"] += expand(each.broken, chunk.hauls)[here]
            _decide(records, index, each, here, chunk.hauls)
    return ListedHauls(
        records,
        [
            RigOfLoad(each.load, each.trailer, each.machines, each.tow_vehicle)
            for each in chunk.loads
        ],
        chunk.crews,
        [names.get(row, "") for row in records["row"].tolist()],
        [*(each.rule.id for each in result.rules), ""],
        _open(records, result, here),
    )


def _open(records: NDArray[np.void], result: ChunkResult, here: Indices) -> Sequence[str]:
    """Enter what leaves the open hauls open; returns the words that `fields` refers to."""
    opened = np.flatnonzero(records["open"])
    if not opened.size:
        return [""]
    found = open_hauls(result, here[opened])
    records["fields"][opened], records["lacking"][opened] = found.fields, found.lacking
    # The last entry stands for no rule.
    records["rule"][opened] = np.where(found.rule == NOTHING, len(result.rules), found.rule)
    for name, value in (("leaf", -1), ("found", np.nan), ("wanted", np.nan)):
        records[name][opened] = value
    records["margin"][opened] = result.margins[here[opened]]
    is_close = (found.rule != NOTHING) & (found.lacking == 0)
    for index in np.unique(found.rule[is_close]).tolist():
        rows, hauls = result.rules[index], result.chunk.hauls
        close = expand(rows.verdicts == TOO_CLOSE, hauls)[here[opened]]
        decided = opened[is_close & (found.rule == index) & close]
        _enter(records, decided, rows, here[decided], hauls)
    # Fields of hauls on hold stay unnamed, whatever set comes first.
    records["fields"][~records["open"]] = len(found.sets)
    return [*(", ".join(each) for each in found.sets), ""]


def _decide(
    records: NDArray[np.void], index: int, rows: RuleRows, held: Indices, hauls: int
) -> None:
    """Enter a rule into the records of the hauls that it decides, as far as is known by now."""
    margins = expand(rows.margins, hauls)[held]
    first = records["broken"] == 1
    # A share is below 0 or 0; comparing with NaN, as of a yes or no, is always false.
    known = np.where(np.isnan(records["margin"]), 1.0, records["margin"])
    decides = expand(rows.broken, hauls)[held] & (first | (margins < known))
    if not decides.any():
        return
    _enter(records, np.flatnonzero(decides), rows, held[decides], hauls)
    records["margin"][decides] = margins[decides]
    records["rule"][decides] = index


def _enter(
    records: NDArray[np.void], at: Indices, rows: RuleRows, here: Indices, hauls: int
) -> None:
    """Enter the comparison of a rule into these records, which are of the hauls `here`."""
    sides = compared(rows)
    for name, column in (
        ("leaf", rows.leaf),
        ("found", sides.found),
        ("wanted", sides.wanted),
        ("metric", is_metric(rows)),
    ):
        records[name][at] = expand(column, hauls)[here]


def encode(hauls: Iterable[ListedHauls]) -> bytes:
    """The hauls as the content of a file."""
    whole = _joined(list(hauls))
    return msgspec.msgpack.encode(
        _Stored(
            whole.records.tobytes(),
            list(whole.load),
            list(whole.crew),
            list(whole.name),
            list(whole.rule),
            list(whole.fields),
        )
    )


def read_evidence(files: Iterable[Path]) -> ListedHauls:
    """The hauls of all files."""
    return _joined([_decoded(file.read_bytes()) for file in files])


def _decoded(content: bytes) -> ListedHauls:
    stored = msgspec.msgpack.decode(content, type=_Stored)
    records = np.frombuffer(stored.records, _TYPES)
    return ListedHauls(records, stored.load, stored.crew, stored.name, stored.rule, stored.fields)


def _joined(parts: Sequence[ListedHauls]) -> ListedHauls:
    """All hauls in order, with each word once."""
    parts = [each for each in parts if len(each)]
    if not parts:
        return NO_HAUL
    records = np.concatenate([each.records for each in parts])
    words: dict[str, list[Any]] = {}
    for name in _INDICES:
        known: dict[Any, int] = {}
        codes = []
        for each in parts:
            indices = [known.setdefault(word, len(known)) for word in getattr(each, name)]
            codes.append(np.array(indices)[each.records[name]])
        records[name] = np.concatenate(codes)
        words[name] = list(known)
    return ListedHauls(records, **words)
