"""Selects the hauls of a chunk for the list: the worst, open ones, and the nearest to a limit."""

from collections.abc import Iterable, Iterator
from datetime import date
from typing import Any

import numpy as np
from numpy.typing import NDArray

from checker.evaluation.outcome import NO_RULE_BROKEN, OPEN, OUTCOMES
from checker.evaluation.rule_rows import Flags, Indices, RuleRows, expand
from checker.season.hauls.chunk_result import ChunkResult
from checker.season.records.open_hauls import open_hauls
from checker.season.totals import MOST_CLOSE, MOST_OPEN, MOST_REMEMBERED, WorstHaul


def worst_hauls(result: ChunkResult) -> Iterator[WorstHaul]:
    """The worst hauls that have a broken, undecided, near or excused rule."""
    chunk, outcomes = result.chunk, result.outcomes
    marked = (outcomes != NO_RULE_BROKEN) | result.near | result.excused | result.should_broken
    rows = np.flatnonzero(marked)
    if not rows.size:
        return
    ordered = rows[np.lexsort([key[rows] for key in reversed(_order(result))])]
    close = ordered[result.near[ordered]][:MOST_CLOSE]
    opened = ordered[outcomes[ordered] == OPEN][:MOST_OPEN]
    selected = np.unique(np.concatenate([ordered[:MOST_REMEMBERED], opened, close]))
    shoulds = [each for each in result.rules if each.rule.level == "should"]
    musts = [each for each in result.rules if each.rule.level == "must"]
    listed = zip(
        _ids(result, [(each, each.broken) for each in musts], selected),
        _ids(result, [(each, each.broken) for each in shoulds], selected),
        _ids(result, [(each, each.undecided) for each in musts], selected),
        _ids(result, [(each, each.near(result.near_share)) for each in result.rules], selected),
        _ids(result, [(each, each.excused) for each in result.rules], selected),
        strict=True,
    )
    lacking = _lacking(result, selected)
    for row, (breaking, advised, opening, near, freed) in zip(
        selected.tolist(), listed, strict=True
    ):
        margin = float(result.margins[row])
        yield WorstHaul(
            row=int(chunk.rows[row]),
            load=chunk.loads[chunk.load_of[row]].load,
            day=date.fromordinal(int(chunk.days[row])).isoformat(),
            crew=chunk.crews[chunk.crew_of[row]],
            outcome=OUTCOMES[outcomes[row]].value,
            margin=None if np.isnan(margin) else margin,
            broken=breaking,
            should_broken=advised,
            undecided=opening,
            near=near,
            excused=freed,
            missing=lacking.get(row, ()),
        )


def _lacking(result: ChunkResult, rows: Indices) -> dict[int, tuple[str, ...]]:
    """The missing fields of the open ones of some hauls."""
    opened = rows[result.outcomes[rows] == OPEN]
    if not opened.size:
        return {}
    found = open_hauls(result, opened)
    sets = (found.sets[index] for index in found.fields.tolist())
    return dict(zip(opened.tolist(), sets, strict=True))


def _order(result: ChunkResult) -> list[NDArray[Any]]:
    """The parts of `WorstHaul.order`, as one array each."""
    chunk = result.chunk
    broken, undecided = np.zeros((2, chunk.hauls), dtype=np.int32)
    for each in result.rules:
        if each.rule.level == "must":
            broken += each.broken
            undecided += each.undecided
    margins = np.nan_to_num(result.margins)
    return [result.outcomes, -broken, margins, -undecided, chunk.rows]


def _ids(
    result: ChunkResult, marked: Iterable[tuple[RuleRows, Flags]], rows: NDArray[np.intp]
) -> list[tuple[str, ...]]:
    """For each haul, the ids of the rules that are marked in it, in the order of the rules."""
    found: list[list[str]] = [[] for _ in rows]
    for each, marks in marked:
        if marks.any():
            for index in np.flatnonzero(expand(marks, result.chunk.hauls)[rows]).tolist():
                found[index].append(each.rule.id)
    return [tuple(rules) for rules in found]
