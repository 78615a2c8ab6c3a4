"""The hauls of a judged chunk that an audit remembers: the worst, and the nearest to a limit."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from typing import Any

import numpy as np
from numpy.typing import NDArray

from checker.season.judged_chunk import CLEAR, OUTCOMES, JudgedChunk, RuleSaid
from checker.season.judging import Flags
from checker.season.totals import (
    MOST_CLOSE,
    MOST_REMEMBERED,
    Bars,
    Order,
    Remembered,
)


def remembered(judged: JudgedChunk, bars: Bars) -> Iterator[Remembered]:
    """The worst of the hauls that are not in order, or near a limit, or under a variance."""
    chunk, outcomes = judged.chunk, judged.outcomes
    told = (outcomes != CLEAR) | judged.near | judged.freed | judged.advised
    rows = np.flatnonzero(told)
    if not rows.size:
        return
    keys = [key[rows] for key in _order(judged)]
    ordered = np.lexsort(keys[::-1])
    worst = _before(bars.worst, keys, ordered[:MOST_REMEMBERED])
    close = _before(bars.close, keys, ordered[judged.near[rows[ordered]]][:MOST_CLOSE])
    kept = rows[np.union1d(worst, close)]
    if not kept.size:
        return
    rules = [each for each in judged.rules if not each.quiet]
    shoulds = [each for each in rules if each.said.rule.level == "should"]
    musts = [each for each in rules if each.said.rule.level == "must"]
    listed = zip(
        _ids(judged, [(each, each.breaks) for each in musts], kept),
        _ids(judged, [(each, each.breaks) for each in shoulds], kept),
        _ids(judged, [(each, each.opens) for each in musts], kept),
        _ids(judged, [(each, each.said.near) for each in rules], kept),
        _ids(judged, [(each, each.freed) for each in rules], kept),
        strict=True,
    )
    for row, (breaking, advised, opening, near, freed) in zip(kept.tolist(), listed, strict=True):
        margin = float(judged.margins[row])
        yield Remembered(
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
        )


def _order(judged: JudgedChunk) -> list[NDArray[Any]]:
    """What `Remembered.order` would be for each haul."""
    chunk = judged.chunk
    alike, by_load, by_haul = (
        np.zeros((2, many), dtype=np.int32) for many in (1, len(chunk.loads), chunk.hauls)
    )
    for each in judged.rules:
        if each.said.rule.level == "must" and not each.quiet:
            counts = alike if each.said.codes.size == 1 else by_load if each.by_load else by_haul
            counts[0] += each.breaks
            counts[1] += each.opens
    broken, undecided = alike + by_load[:, chunk.load_of] + by_haul
    margins = np.nan_to_num(judged.margins)
    return [judged.outcomes, -broken, margins, -undecided, chunk.rows]


def _before(
    bar: Order | None, keys: Sequence[NDArray[Any]], rows: NDArray[np.intp]
) -> NDArray[np.intp]:
    """The rows whose keys come before the bar."""
    if bar is None:
        return rows
    before, level = np.zeros(len(rows), dtype=bool), np.ones(len(rows), dtype=bool)
    for key, limit in zip(keys, bar, strict=True):
        before |= level & (key[rows] < limit)
        level &= key[rows] == limit
    return rows[before]


def _ids(
    judged: JudgedChunk, marked: Iterable[tuple[RuleSaid, Flags]], rows: NDArray[np.intp]
) -> list[tuple[str, ...]]:
    """For each of some hauls the rules that are marked there, in their order."""
    found: list[list[str]] = [[] for _ in rows]
    for each, marks in marked:
        if marks.any():
            for place in np.flatnonzero(judged.of(each, marks, rows)).tolist():
                found[place].append(each.said.rule.id)
    return [tuple(rules) for rules in found]
