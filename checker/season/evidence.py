"""The evidence for each haul on hold: the rule that decides, what was found and what was wanted.

Each task stores it as arrays, some 70 bytes a haul, beside the counts of a checkpoint.
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
from checker.evaluation.outcome import HOLD
from checker.evaluation.rule_rows import Indices, RuleRows, expand
from checker.season.chunk_result import ChunkResult

_TYPES: Final = np.dtype(
    [
        ("row", "<i8"),
        ("day", "<i4"),
        ("load", "<i4"),
        ("crew", "<i4"),
        ("name", "<i4"),
        ("broken", "<i4"),
        ("undecided", "<i4"),
        ("rule", "<i4"),
        ("leaf", "<i4"),
        ("metric", "?"),
        ("found", "<f8"),
        ("wanted", "<f8"),
        ("margin", "<f8"),
    ]
)
"""`load`, `crew`, `name` and `rule` are indices; `broken` and `undecided` count must-rules."""
_INDICES: Final = ("load", "crew", "name", "rule")

Words: TypeAlias = Sequence[Any]


class RigOfLoad(NamedTuple):
    """A load profile as the log names it, and what it is hauled with."""

    load: str
    trailer: str
    machines: tuple[str, ...]
    tow_vehicle: str


class HeldHauls(Struct, frozen=True):
    """Hauls on hold: one record each, and what its indices stand for.

    The rule that decides is, of the must-rules that are not met, the one missed by the largest
    share of its limit; where none has such a share, the first in the order of the rulebooks. `leaf`
    is the index of the deciding comparison in what that rule requires, `found` and `wanted` its two
    sides in N, m, s and rad. `metric` is true where most of its figures are stated in metric units.
    """

    records: NDArray[np.void]
    load: Sequence[RigOfLoad]
    crew: Sequence[str]
    name: Sequence[str]
    """The names of hauls in the log; empty for hauls without."""
    rule: Sequence[str]

    def __len__(self) -> int:
        return len(self.records)

    def worst_first(self) -> "HeldHauls":
        """The same hauls, first those that break most rules, then the farthest from a limit."""
        records = self.records
        margins = np.nan_to_num(records["margin"])
        # As in `WorstHaul.order`; the last key is the first to sort by.
        keys = (records["row"], -records["undecided"], margins, -records["broken"])
        order = np.lexsort(keys)
        return replace(self, records=records[order])


class _Stored(Struct):
    """The form of a file."""

    records: bytes
    load: list[RigOfLoad]
    crew: list[str]
    name: list[str]
    rule: list[str]


NO_HAUL: Final = HeldHauls(np.zeros(0, _TYPES), (), (), (), ())


def held_hauls(result: ChunkResult, names: Mapping[int, str]) -> HeldHauls:
    """The hauls of a chunk that are on hold, with the names that the log states."""
    chunk = result.chunk
    held = np.flatnonzero(result.outcomes == HOLD)
    if not held.size:
        return NO_HAUL
    records = np.zeros(held.size, _TYPES)
    records["row"], records["day"] = chunk.rows[held], chunk.days[held]
    records["load"], records["crew"] = chunk.load_of[held], chunk.crew_of[held]
    records["name"] = np.arange(held.size)
    musts = [each for each in result.rules if each.rule.level == "must"]
    for each in musts:
        records["undecided"] += expand(each.undecided, chunk.hauls)[held]
    rules = [each for each in musts if each.broken.any()]
    for index, each in enumerate(rules):
        records["broken"] += expand(each.broken, chunk.hauls)[held]
        _decide(records, index, each, held, chunk.hauls)
    return HeldHauls(
        records,
        [
            RigOfLoad(each.load, each.trailer, each.machines, each.tow_vehicle)
            for each in chunk.loads
        ],
        chunk.crews,
        [names.get(row, "") for row in records["row"].tolist()],
        [each.rule.id for each in rules],
    )


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
    sides = compared(rows)
    here = held[decides]
    for name, column in (
        ("leaf", rows.leaf),
        ("found", sides.found),
        ("wanted", sides.wanted),
        ("margin", rows.margins),
        ("metric", is_metric(rows)),
    ):
        records[name][decides] = expand(column, hauls)[here]
    records["rule"][decides] = index


def encode(hauls: Iterable[HeldHauls]) -> bytes:
    """The hauls as the content of a file."""
    whole = _joined(list(hauls))
    return msgspec.msgpack.encode(
        _Stored(
            whole.records.tobytes(),
            list(whole.load),
            list(whole.crew),
            list(whole.name),
            list(whole.rule),
        )
    )


def read_evidence(files: Iterable[Path]) -> HeldHauls:
    """The hauls of all files."""
    return _joined([_decoded(file.read_bytes()) for file in files])


def _decoded(content: bytes) -> HeldHauls:
    stored = msgspec.msgpack.decode(content, type=_Stored)
    records = np.frombuffer(stored.records, _TYPES)
    return HeldHauls(records, stored.load, stored.crew, stored.name, stored.rule)


def _joined(parts: Sequence[HeldHauls]) -> HeldHauls:
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
    return HeldHauls(records, **words)
