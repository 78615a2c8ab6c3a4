"""What leaves the open hauls of a chunk open: the fields they lack, else an undecided rule.

A rule that lacks a field comes before one that is too close to call: it may turn out not to be met.
"""

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from checker.evaluation.rule_rows import NOT_STATED, Flags, Indices, take
from checker.season.hauls.chunk_result import ChunkResult

MOST_FIELDS: Final = 3
"""Most missing fields that are named for a haul; all are counted."""
NOTHING: Final = -1


class OpenHauls(NamedTuple):
    """Some hauls of a chunk, one entry each."""

    rule: NDArray[np.intp]
    """Index into `ChunkResult.rules` of the first must-rule that lacks the first of the fields,
    else of the first one too close to call, else of the first one undecided; NOTHING if none is."""
    lacking: NDArray[np.intp]
    """Number of fields that undecided must-rules lack."""
    fields: NDArray[np.intp]
    """Index into `sets`."""
    sets: list[tuple[str, ...]]
    """The fields that most undecided must-rules lack, those of most rules first."""


def open_hauls(result: ChunkResult, here: Indices) -> OpenHauls:
    """What leaves these hauls open."""
    indices: dict[str, int] = {}
    marks: list[tuple[int, int, Flags]] = []
    rule, other = np.full((2, here.size), NOTHING)
    for number, each in enumerate(result.rules):
        if each.rule.level != "must" or not each.undecided.any():
            continue
        too_close = take(each.undecided & (each.verdicts != NOT_STATED), here)
        rule[too_close & (rule == NOTHING)] = number
        other[take(each.undecided, here) & (other == NOTHING)] = number
        if not (each.verdicts == NOT_STATED).any():
            continue
        for field, rows in result.missing(each).items():
            marks.append((number, indices.setdefault(field, len(indices)), take(rows, here)))
    rule = np.where(rule == NOTHING, other, rule)
    if not marks:
        none = np.zeros(here.size, dtype=np.intp)
        return OpenHauls(rule, none, none, [()])
    counts = np.zeros((len(indices), here.size), dtype=np.int32)
    for _, index, rows in marks:
        counts[index] += rows
    order = np.argsort(-counts, axis=0, kind="stable")[:MOST_FIELDS]
    order[np.take_along_axis(counts, order, axis=0) == 0] = NOTHING
    # The first rule is entered last.
    for number, index, rows in reversed(marks):
        rule[rows & (order[0] == index)] = number
    sets, of_haul = np.unique(order, axis=1, return_inverse=True)
    names = list(indices)
    return OpenHauls(
        rule,
        np.count_nonzero(counts, axis=0),
        of_haul.ravel(),
        [tuple(names[index] for index in each if index != NOTHING) for each in sets.T.tolist()],
    )
