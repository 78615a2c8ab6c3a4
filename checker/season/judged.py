"""A chunk of hauls judged: what each of them comes to, and the totals over all of them."""

import math
from collections.abc import Iterator, Sequence
from datetime import date

import numpy as np
from numpy.typing import NDArray

from checker.evaluation.variances import Standing, granted, standing
from checker.rulebooks.model import Rulebooks
from checker.rulebooks.unread_jurisdictions import law_was_not_read, unread_jurisdictions
from checker.rulebooks.verdicts import Verdict
from checker.season.alike import at
from checker.season.chunk import Chunk
from checker.season.judged_chunk import CLEAR, HOLD, OPEN, JudgedChunk, RuleSaid
from checker.season.judging import IDLE, MET, UNKNOWN, Flags, Said
from checker.season.prepared import Prepared
from checker.season.remembering import remembered
from checker.season.totals import (
    Bars,
    RuleTally,
    Tally,
    Totals,
)


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
        self.unread = unread_jurisdictions(load.trip.places, rulebooks)
        self.law_was_not_read = law_was_not_read(self.unread, rulebooks)
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
        is_open = weighed.undecided | ~weighed.met | self.law_was_not_read
        outcomes = np.where(is_open, OPEN, CLEAR)
        outcomes[weighed.broken | self.held_by_variance] = HOLD
        margins = np.where(weighed.broken, weighed.missed, weighed.left)
        return JudgedChunk(
            chunk=chunk,
            rules=sorted([*self._alike, *apart], key=lambda each: self._place[each.said.rule.id]),
            outcomes=outcomes.astype(np.int8),
            near=weighed.near & (outcomes == CLEAR),
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
            judged.outcomes == HOLD,
            judged.outcomes == OPEN,
            judged.near,
            judged.freed,
        )
        totals.all = Tally(*(_number(each, chunk.hauls) for each in marks))
        columns = [counting.by(each, by_load=False) for each in marks]
        for kind, names in columns[0].items():
            totals.by[kind] = {
                name: Tally(*(column[kind].get(name, 0) for column in columns)) for name in names
            }
        totals.remembered = list(remembered(judged, bars))
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
