"""A chunk of hauls judged: what each of them comes to, and the totals over all of them."""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, NamedTuple, TypeVar

import numpy as np
from numpy.typing import NDArray

from checker.engine import Outcome
from checker.rulebooks.model import Rulebooks
from checker.rulebooks.unread import law_is_missing, unread_places
from checker.rulebooks.verdicts import Verdict
from checker.season.alike import at
from checker.season.chunk import Chunk
from checker.season.judging import IDLE, MET, NOT_MET, TOO_CLOSE, UNKNOWN, Flags, Numbers, Said
from checker.season.prepared import Prepared
from checker.season.totals import (
    MOST_CLOSE,
    MOST_REMEMBERED,
    Bars,
    Order,
    Remembered,
    RuleTally,
    Tally,
    Totals,
)
from checker.variances import Standing, granted, standing

OUTCOMES = tuple(Outcome)
_HOLD, _OPEN, _CLEAR = (
    OUTCOMES.index(outcome) for outcome in (Outcome.HOLD, Outcome.OPEN, Outcome.NO_RULE_BROKEN)
)

_NOWHERE = np.zeros(1, dtype=bool)
_Kind = TypeVar("_Kind", np.bool_, np.int8, np.float64)


class RuleSaid(NamedTuple):
    """What one rule says of each haul of a chunk, and whether a variance excuses it if not met.

    One row stands for all hauls. With `by_load` there is a row for each load of the chunk instead.
    """

    said: Said
    excused: bool
    by_load: bool
    quiet: bool

    @property
    def breaks(self) -> Flags:
        """Where it is not met and nothing excuses that."""
        return _NOWHERE if self.excused else self.said.codes == NOT_MET

    @property
    def opens(self) -> Flags:
        """Where it is undecided and nothing excuses that; what is not stated is never excused."""
        unknown: Flags = self.said.codes == UNKNOWN
        return unknown if self.excused else unknown | (self.said.codes == TOO_CLOSE)

    @property
    def freed(self) -> Flags:
        """Where a variance excuses what is not met, or may not be."""
        if not self.excused:
            return _NOWHERE
        found: Flags = (self.said.codes == NOT_MET) | (self.said.codes == TOO_CLOSE)
        return found


@dataclass(frozen=True, slots=True)
class JudgedChunk:
    """Hauls with what every rule says of them, and what each comes to."""

    chunk: Chunk
    rules: Sequence[RuleSaid]
    """In the order of the rulebooks."""
    outcomes: NDArray[np.int8]
    """Places in OUTCOMES."""
    near: Flags
    """In order, and some rule is met by little."""
    margins: Numbers
    """Of the must-rule missed by most; where none is broken, of the rule met by least; NaN none."""
    freed: Flags
    """Under a variance."""
    advised: Flags
    """Some should-rule is not met."""

    def of(self, each: RuleSaid, column: NDArray[_Kind], rows: NDArray[np.intp]) -> NDArray[_Kind]:
        """What a column of a rule says of some hauls."""
        if column.size == 1:
            return np.broadcast_to(column, rows.shape)
        return column[self.chunk.load_of[rows] if each.by_load else rows]


class _Weighed:
    """What rules together come to for each haul, or for each load."""

    def __init__(self, rules: Sequence[RuleSaid], rows: int) -> None:
        shape = (rows,)
        self.broken, self.undecided, self.met, self.near, self.freed, self.advised = (
            np.zeros(shape, dtype=bool) for _ in range(6)
        )
        self.missed, self.left = np.full(shape, np.inf), np.full(shape, np.inf)
        for each in rules:
            said = each.said
            if said.rule.level == "must":
                self.met |= said.codes == MET
            if each.quiet:
                continue
            breaks = each.breaks
            if said.rule.level == "must":
                opens = each.opens
                if opens.any():
                    self.undecided |= opens
                if breaks.any():
                    self.broken |= breaks
                    np.fmin(self.missed, np.where(breaks, said.margins, np.inf), out=self.missed)
            elif breaks.any():
                self.advised |= breaks
            if said.near.any():
                self.near |= said.near
                np.fmin(self.left, np.where(said.near, said.margins, np.inf), out=self.left)
            if each.excused:
                self.freed |= each.freed

    def add(self, other: "_Weighed", of: NDArray[np.intp]) -> None:
        """Those of other rules too, whose rows `of` stand for mine."""
        for name in ("broken", "undecided", "met", "near", "freed", "advised"):
            mine = getattr(self, name)
            mine |= getattr(other, name)[of]
        np.fmin(self.missed, other.missed[of], out=self.missed)
        np.fmin(self.left, other.left[of], out=self.left)


class Group:
    """Load profiles that are kin made ready for the hauls of a chunk."""

    def __init__(self, chunk: Chunk, rulebooks: Rulebooks, near: float) -> None:
        """Judge what is alike for all hauls of a load."""
        self.prepared = Prepared(chunk, rulebooks, near)
        load = self.prepared.facts.load
        # Like `check`: a variance that is out of date holds the load until somebody looks at it.
        late = (Standing.EXPIRED, Standing.NOT_BEGUN)
        self.held_by_variance = any(
            standing(each, chunk.on, in_use=False) in late for each in load.variances
        )
        self._load, self._on = load, chunk.on
        self.unread = unread_places(load.trip.places, rulebooks)
        self.law_is_missing = law_is_missing(self.unread, rulebooks)
        self._excused: dict[str, bool] = {}
        ids = [rule.id for book in rulebooks.books for rule in book.rules]
        self._place = {rule: number for number, rule in enumerate(ids)}
        self._alike = [self._with_variance(said, by_load=True) for said in self.prepared.alike]
        self._weighed = _Weighed(self._alike, len(chunk.loads))

    def _with_variance(self, said: Said, *, by_load: bool) -> RuleSaid:
        rule = said.rule
        if rule.id not in self._excused:
            self._excused[rule.id] = granted(self._load, rule, self._on) is not None
        return RuleSaid(said, self._excused[rule.id], by_load, said.quiet)

    def judged(self, chunk: Chunk, *, measured: bool = True) -> JudgedChunk:
        """Every rule over every haul of a chunk.

        Without `measured` the margins of rules that are met and nowhere near are left out: of all
        that is kept of a haul until its chunk is counted they are the most.
        """
        apart: list[RuleSaid] = []
        for said in self.prepared.said(chunk) if chunk.columns else ():
            each = self._with_variance(said, by_load=False)
            quietly = each.quiet and not measured
            apart.append(each._replace(said=said.unmeasured()) if quietly else each)
        weighed = _Weighed(apart, chunk.hauls)
        weighed.add(self._weighed, chunk.load_of)
        is_open = weighed.undecided | ~weighed.met | self.law_is_missing
        outcomes = np.where(is_open, _OPEN, _CLEAR)
        outcomes[weighed.broken | self.held_by_variance] = _HOLD
        margins = np.where(weighed.broken, weighed.missed, weighed.left)
        return JudgedChunk(
            chunk=chunk,
            rules=sorted([*self._alike, *apart], key=lambda each: self._place[each.said.rule.id]),
            outcomes=outcomes.astype(np.int8),
            near=weighed.near & (outcomes == _CLEAR),
            margins=np.where(np.isfinite(margins), margins, np.nan),
            freed=weighed.freed,
            advised=weighed.advised,
        )

    def totals(self, judged: JudgedChunk, bars: Bars) -> Totals:
        """Everything counted over the hauls of a chunk; remembered are those before the bars."""
        chunk = judged.chunk
        counting = _Counting(chunk)
        totals = Totals()
        wanting: dict[str, Flags] = {}
        for each in judged.rules:
            tally = totals.rules.setdefault(each.said.rule.id, RuleTally())
            tally.verdicts = counting.verdicts(each)
            if each.quiet:
                continue
            tally.near = counting.number(each, each.said.near)
            if each.excused:
                tally.excused = tally.of(Verdict.NOT_MET)
            if tally.broken:
                tally.broken_by = counting.by(each.breaks, by_load=each.by_load)
            if tally.verdicts[UNKNOWN]:
                for field, rows in self._wanting(each, chunk):
                    if rows.any():
                        tally.gap[field] = _number(rows, chunk.hauls)
                        wanting[field] = wanting[field] | rows if field in wanting else rows
        totals.wanting = {field: _number(rows, chunk.hauls) for field, rows in wanting.items()}
        counted = {name: _number(rows, chunk.hauls) for name, rows in chunk.doubtful.items()}
        totals.doubtful = {name: number for name, number in counted.items() if number}
        totals.unread = dict.fromkeys(self.unread, chunk.hauls)
        marks = (
            np.ones(chunk.hauls, dtype=bool),
            judged.outcomes == _HOLD,
            judged.outcomes == _OPEN,
            judged.near,
            judged.freed,
        )
        totals.all = Tally(*(_number(each, chunk.hauls) for each in marks))
        columns = [counting.by(each, by_load=False) for each in marks]
        for kind, names in columns[0].items():
            totals.by[kind] = {
                name: Tally(*(column[kind].get(name, 0) for column in columns)) for name in names
            }
        totals.remembered = list(_remembered(judged, bars))
        return totals

    def _wanting(self, each: RuleSaid, chunk: Chunk) -> Iterator[tuple[str, Flags]]:
        """Fields for want of which a rule is undecided, and in which hauls."""
        unknown = each.said.codes == UNKNOWN
        if each.by_load:
            for field, loads in self.prepared.gaps(each.said).items():
                found = unknown & loads
                yield field, at(found, chunk.load_of)
            return
        for field, blank in self.prepared.wanting(each.said, chunk):
            yield field, unknown & blank


class _Counting:
    """Counts the hauls of a chunk by what was hauled with what, by whom and when."""

    def __init__(self, chunk: Chunk) -> None:
        self.chunk = chunk
        self.loads = len(chunk.loads)
        self.of_load = np.bincount(chunk.load_of, minlength=self.loads)
        """How many hauls each load has."""
        self.labels: dict[str, list[tuple[str, ...]]] = {
            "load": [(each.load,) for each in chunk.loads],
            "trailer": [(each.trailer,) for each in chunk.loads],
            "machine": [each.machines for each in chunk.loads],
            "tow vehicle": [(each.tow_vehicle,) for each in chunk.loads],
        }
        self.told_apart: dict[str, tuple[Sequence[str], NDArray[np.intp]]] = {
            "crew": (chunk.crews, chunk.crew_of),
            "month": _months(chunk.days),
        }
        self.crossed: dict[str, NDArray[np.intp]] = {}

    def verdicts(self, each: RuleSaid) -> list[int]:
        """How many hauls came to each verdict."""
        codes = each.said.codes
        if codes.size == 1:
            alone = [0] * (IDLE + 1)
            alone[codes[0]] = self.chunk.hauls
            return alone
        counts = np.bincount(codes, self.of_load if each.by_load else None, minlength=IDLE + 1)
        return [int(count) for count in counts]

    def number(self, each: RuleSaid, rows: Flags) -> int:
        """How many hauls are marked by a rule."""
        if each.by_load and rows.size > 1:
            return int(self.of_load[rows].sum())
        return _number(rows, self.chunk.hauls)

    def by(self, rows: Flags, *, by_load: bool) -> dict[str, dict[str, int]]:
        """How many of the marked hauls, or of the hauls of marked loads, each name has.

        Names of none are left out.
        """
        by_load = by_load or rows.size == 1
        rows = np.broadcast_to(rows, (self.loads if by_load else self.chunk.hauls,))
        if by_load:
            of_load = np.where(rows, self.of_load, 0)
        else:
            of_load = np.bincount(self.chunk.load_of[rows], minlength=self.loads)
        found: dict[str, dict[str, int]] = {}
        for kind, labels in self.labels.items():
            counts = found.setdefault(kind, {})
            for names, number in zip(labels, of_load.tolist(), strict=True):
                for name in names if number else ():
                    counts[name] = counts.get(name, 0) + number
        for kind, (words, codes) in self.told_apart.items():
            if by_load:
                numbers = rows @ self._cross(kind)
            else:
                numbers = np.bincount(codes[rows], minlength=len(words))
            told = zip(words, numbers.tolist(), strict=True)
            found[kind] = {word: number for word, number in told if number}
        return found

    def _cross(self, kind: str) -> NDArray[np.intp]:
        """How many hauls of each load each name has."""
        if kind not in self.crossed:
            names, codes = self.told_apart[kind]
            shape = (self.loads, len(names))
            counts = np.bincount(
                self.chunk.load_of * len(names) + codes, minlength=math.prod(shape)
            )
            self.crossed[kind] = counts.reshape(shape)
        return self.crossed[kind]


def _months(days: NDArray[np.int64]) -> tuple[Sequence[str], NDArray[np.intp]]:
    """The months, such as 2026-05, and for each day the place of its own among them."""
    some, codes = np.unique(days, return_inverse=True)
    months = [date.fromordinal(int(day)).isoformat()[:7] for day in some]
    names, of_day = np.unique(np.array(months), return_inverse=True)
    return names.tolist(), of_day[codes]


def _number(rows: Flags, hauls: int) -> int:
    """How many hauls are marked; one mark stands for all of them."""
    if rows.size == 1:
        return hauls if rows[0] else 0
    return int(np.count_nonzero(rows))


def _remembered(judged: JudgedChunk, bars: Bars) -> Iterator[Remembered]:
    """The worst of the hauls that are not in order, or near a limit, or under a variance."""
    chunk, outcomes = judged.chunk, judged.outcomes
    told = (outcomes != _CLEAR) | judged.near | judged.freed | judged.advised
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
