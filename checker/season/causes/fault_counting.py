"""Counts the hauls of a chunk by what is wrong with them: all rules that a haul breaks, together.

Hauls that have the same faults are counted as one, so that a report can say which faults come
together, and how many hauls are off hold when some of them are put right.
"""

from collections.abc import Callable, Iterator

import numpy as np

from checker.evaluation.rule_rows import Flags, expand
from checker.season.hauls.chunk_result import ChunkResult
from checker.season.hauls.faults import Fault, FaultTally, by_side


def count_faults(
    result: ChunkResult, by: Callable[[Flags], dict[str, dict[str, int]]]
) -> dict[str, FaultTally]:
    """The hauls of a chunk that break any rule, by the keys of all their faults.

    `by` counts marked hauls by kind and name.
    """
    hauls = result.chunk.hauls
    columns = dict(_columns(result))
    if not columns:
        return {}
    marks = np.array([expand(rows, hauls) for rows in columns.values()])
    together, of_haul = np.unique(np.packbits(marks, axis=0), axis=1, return_inverse=True)
    of_haul = of_haul.ravel()
    found: dict[str, FaultTally] = {}
    for index in range(together.shape[1]):
        rows = of_haul == index
        first = int(rows.argmax())
        keys = [fault.key for fault, has in zip(columns, marks[:, first], strict=True) if has]
        if keys:
            found[" ".join(sorted(keys))] = FaultTally(
                int(np.count_nonzero(rows)),
                by(rows),
                {
                    name: number
                    for name, departs in result.chunk.departs.items()
                    if (number := int(np.count_nonzero(departs & rows)))
                },
            )
    return found


def _columns(result: ChunkResult) -> Iterator[tuple[Fault, Flags]]:
    """Every fault of the chunk with the hauls that have it."""
    chunk = result.chunk
    saved_of = chunk.saved_of[chunk.load_of] if chunk.saved else None
    profiles = chunk.saved.hauls if chunk.saved else 0
    for each in result.rules:
        for side, rows in by_side(each).items():
            saved = result.as_saved.get(Fault(each.rule.id, side))
            if saved is None:
                yield Fault(each.rule.id, side), rows
                continue
            there = expand(saved, profiles)[saved_of]
            for as_saved, here in ((True, rows & there), (False, rows & ~there)):
                if here.any():
                    yield Fault(each.rule.id, side, as_saved), here
