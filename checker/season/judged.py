"""A chunk of hauls judged: what each of them comes to, and the totals over all of them."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from checker.engine import Outcome
from checker.rulebooks.model import Rulebooks
from checker.rulebooks.verdicts import Verdict
from checker.season.chunk import Chunk
from checker.season.judging import IDLE, MET, NOT_MET, TOO_CLOSE, UNKNOWN, Flags, Numbers, Said
from checker.season.prepared import Prepared
from checker.season.totals import MOST_CLOSE, MOST_REMEMBERED, Remembered, RuleTally, Tally, Totals
from checker.variances import Standing, granted, standing

OUTCOMES = tuple(Outcome)
_HOLD, _OPEN, _CLEAR = (
    OUTCOMES.index(outcome) for outcome in (Outcome.HOLD, Outcome.OPEN, Outcome.NO_RULE_BROKEN)
)

_NOWHERE, _EVERYWHERE = np.zeros(1, dtype=bool), np.ones(1, dtype=bool)


class RuleSaid(NamedTuple):
    """What one rule says of each haul of a chunk, and whether a variance excuses it if not met.

    One row stands for all hauls.
    """

    said: Said
    excused: bool

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
    """Hauls with what every rule says of them, and what each comes to.

    `alike` are the rules that say the same of all hauls, `apart` the others.
    """

    chunk: Chunk
    alike: "_Alike"
    apart: Sequence[RuleSaid]
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

    @property
    def rules(self) -> list[RuleSaid]:
        """All rules in the order of the rulebooks, whichever of them are alike in this chunk."""
        place = self.alike.place
        return sorted([*self.alike.rules, *self.apart], key=lambda each: place[each.said.rule.id])


class _Weighed:
    """What rules together come to for each haul."""

    def __init__(self, rules: Sequence[RuleSaid], hauls: int) -> None:
        shape = (hauls,)
        self.broken, self.undecided, self.met, self.near, self.freed, self.advised = (
            np.zeros(shape, dtype=bool) for _ in range(6)
        )
        self.missed, self.left = np.full(shape, np.inf), np.full(shape, np.inf)
        for each in rules:
            said, breaks = each.said, each.breaks
            if said.rule.level == "must":
                opens = each.opens
                if opens.any():
                    self.undecided |= opens
                self.met |= said.codes == MET
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

    def add(self, other: "_Weighed") -> None:
        """Those of other rules too."""
        for name in ("broken", "undecided", "met", "near", "freed", "advised"):
            mine = getattr(self, name)
            mine |= getattr(other, name)
        np.fmin(self.missed, other.missed, out=self.missed)
        np.fmin(self.left, other.left, out=self.left)


class _Alike:
    """Rules that say the same of all hauls, counted once for all."""

    def __init__(
        self, rules: Sequence[RuleSaid], prepared: Prepared, place: Mapping[str, int]
    ) -> None:
        self.rules, self.place = rules, place
        self.weighed = _Weighed(rules, 1)
        self.gaps = {
            each.said.rule.id: [field for field, _ in prepared.wanting(each.said, {})]
            for each in rules
            if each.said.codes[0] == UNKNOWN
        }


class Group:
    """A load profile made ready for the hauls of a chunk."""

    def __init__(self, chunk: Chunk, rulebooks: Rulebooks, near: float) -> None:
        """Judge what is alike for all of them."""
        self.prepared = Prepared(chunk.profile, rulebooks, chunk.on, tuple(chunk.columns), near)
        load = self.prepared.facts.load
        self.labels = {
            "trailer": (load.trailer.title,),
            "machine": tuple(dict.fromkeys(article.title for article in load.articles)),
            "tow vehicle": (load.tow_vehicle.title,),
        }
        # Like `check`: a variance that is out of date holds the load until somebody looks at it.
        late = (Standing.EXPIRED, Standing.NOT_BEGUN)
        self.held_by_variance = any(
            standing(each, chunk.on, in_use=False) in late for each in load.variances
        )
        self._load, self._on = load, chunk.on
        ids = [rule.id for book in rulebooks.books for rule in book.rules]
        place = {rule: number for number, rule in enumerate(ids)}
        self._alike = _Alike(self._with_variances(self.prepared.alike), self.prepared, place)

    def _with_variances(self, said: Sequence[Said]) -> list[RuleSaid]:
        return [
            RuleSaid(each, granted(self._load, each.rule, self._on) is not None) for each in said
        ]

    def judged(self, chunk: Chunk) -> JudgedChunk:
        """Every rule over every haul of a chunk."""
        apart: list[RuleSaid] = []
        if chunk.columns:
            apart = self._with_variances(self.prepared.said(chunk.columns, chunk.hauls))
        weighed = _Weighed(apart, chunk.hauls)
        weighed.add(self._alike.weighed)
        outcomes = np.where(weighed.undecided | ~weighed.met, _OPEN, _CLEAR)
        outcomes[weighed.broken | self.held_by_variance] = _HOLD
        margins = np.where(weighed.broken, weighed.missed, weighed.left)
        return JudgedChunk(
            chunk=chunk,
            alike=self._alike,
            apart=apart,
            outcomes=outcomes.astype(np.int8),
            near=weighed.near & (outcomes == _CLEAR),
            margins=np.where(np.isfinite(margins), margins, np.nan),
            freed=weighed.freed,
            advised=weighed.advised,
        )

    def totals(self, judged: JudgedChunk) -> Totals:
        """Everything counted over the hauls of a chunk."""
        chunk = judged.chunk
        splits = {
            "load": _Split((chunk.load,), None),
            **{kind: _Split(names, None) for kind, names in self.labels.items()},
            "crew": _Split(chunk.crews, chunk.crew_of),
            "month": _by_month(chunk.days),
        }
        totals = Totals()
        everywhere = np.ones(chunk.hauls, dtype=bool)
        wanting: dict[str, Flags] = {}
        for each in judged.rules:
            tally = totals.rules.setdefault(each.said.rule.id, RuleTally())
            tally.verdicts = _counted(each.said.codes, chunk.hauls)
            tally.near = _number(each.said.near, chunk.hauls)
            if each.excused:
                tally.excused = tally.of(Verdict.NOT_MET)
            if tally.broken:
                breaks = np.broadcast_to(each.breaks, everywhere.shape)
                tally.broken_by = {kind: split.counts(breaks) for kind, split in splits.items()}
            if tally.verdicts[UNKNOWN]:
                for field, rows in self._wanting(each, chunk):
                    if rows.any():
                        tally.gap[field] = _number(rows, chunk.hauls)
                        wanting[field] = wanting[field] | rows if field in wanting else rows
        totals.wanting = {field: _number(rows, chunk.hauls) for field, rows in wanting.items()}
        marks = (
            everywhere,
            judged.outcomes == _HOLD,
            judged.outcomes == _OPEN,
            judged.near,
            judged.freed,
        )
        totals.all = Tally(*(_number(each, chunk.hauls) for each in marks))
        for kind, split in splits.items():
            columns = [split.counts(each) for each in marks]
            totals.by[kind] = {
                name: Tally(*(column.get(name, 0) for column in columns)) for name in columns[0]
            }
        totals.remembered = list(_remembered(judged))
        return totals

    def _wanting(self, each: RuleSaid, chunk: Chunk) -> Iterator[tuple[str, Flags]]:
        """Fields for want of which a rule is undecided, and in which hauls."""
        gaps = self._alike.gaps.get(each.said.rule.id)
        if gaps is not None:
            yield from ((field, _EVERYWHERE) for field in gaps)
            return
        unknown = each.said.codes == UNKNOWN
        for field, blank in self.prepared.wanting(each.said, chunk.columns):
            yield field, unknown & blank


class _Split(NamedTuple):
    """Hauls told apart by a name; without `codes` every haul has all the names."""

    names: Sequence[str]
    codes: NDArray[np.intp] | None

    def counts(self, rows: Flags) -> dict[str, int]:
        """How many of the marked hauls have each name; names of none are left out."""
        if self.codes is None:
            marked = int(np.count_nonzero(rows))
            return dict.fromkeys(self.names, marked) if marked else {}
        found = np.bincount(self.codes[rows], minlength=len(self.names)).tolist()
        return {str(name): number for name, number in zip(self.names, found, strict=True) if number}


def _by_month(days: NDArray[np.int64]) -> _Split:
    """Hauls told apart by month, such as 2026-05."""
    some, codes = np.unique(days, return_inverse=True)
    months = [date.fromordinal(int(day)).isoformat()[:7] for day in some]
    names, of_day = np.unique(np.array(months), return_inverse=True)
    return _Split(names.tolist(), of_day[codes])


def _counted(codes: NDArray[np.int8], hauls: int) -> list[int]:
    """How many hauls came to each verdict; one code stands for all of them."""
    if codes.size == 1:
        return [hauls if code == codes[0] else 0 for code in range(IDLE + 1)]
    numbers: list[int] = np.bincount(codes, minlength=IDLE + 1).tolist()
    return numbers


def _number(rows: Flags, hauls: int) -> int:
    """How many hauls are marked; one mark stands for all of them."""
    if rows.size == 1:
        return hauls if rows[0] else 0
    return int(np.count_nonzero(rows))


def _remembered(judged: JudgedChunk) -> Iterator[Remembered]:
    """The worst of the hauls that are not in order, or near a limit, or under a variance."""
    chunk, outcomes = judged.chunk, judged.outcomes
    told = (outcomes != _CLEAR) | judged.near | judged.freed | judged.advised
    rows = np.flatnonzero(told)
    if not rows.size:
        return
    musts = [each for each in judged.apart if each.said.rule.level == "must"]
    # Rules that are alike for all hauls do not tell them apart.
    broken, undecided = (np.zeros(chunk.hauls, dtype=np.int32) for _ in range(2))
    for each in musts:
        if each.said.codes.size > 1:
            broken += each.breaks
            undecided += each.opens
    keys = (chunk.rows, -undecided, np.nan_to_num(judged.margins), -broken, outcomes)
    ordered = rows[np.lexsort([key[rows] for key in keys])]
    worst, others = ordered[:MOST_REMEMBERED], ordered[MOST_REMEMBERED:]
    worst = np.concatenate([worst, others[judged.near[others]][:MOST_CLOSE]])
    rules = judged.rules
    shoulds = [each for each in rules if each.said.rule.level == "should"]
    musts = [each for each in rules if each.said.rule.level == "must"]
    listed = zip(
        _ids(musts, [each.breaks for each in musts], worst),
        _ids(shoulds, [each.breaks for each in shoulds], worst),
        _ids(musts, [each.opens for each in musts], worst),
        _ids(rules, [each.said.near for each in rules], worst),
        _ids(rules, [each.freed for each in rules], worst),
        strict=True,
    )
    for row, (breaking, advised, opening, near, freed) in zip(worst.tolist(), listed, strict=True):
        margin = float(judged.margins[row])
        yield Remembered(
            row=int(chunk.rows[row]),
            load=chunk.load,
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


def _ids(
    rules: Sequence[RuleSaid], marks: Sequence[Flags], rows: NDArray[np.intp]
) -> list[tuple[str, ...]]:
    """For each of some hauls the rules that are marked there, in their order."""
    marked = [(each.said.rule.id, mark) for each, mark in zip(rules, marks, strict=True)]
    marked = [(rule, mark) for rule, mark in marked if mark.any()]
    found: list[list[str]] = [[] for _ in rows]
    for rule, mark in marked:
        for place in np.flatnonzero(mark[rows]).tolist() if mark.size > 1 else range(len(rows)):
            found[place].append(rule)
    return [tuple(rules) for rules in found]
