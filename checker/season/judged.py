"""A chunk of hauls judged: what each of them comes to, and the totals over all of them."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from checker.engine import Outcome
from checker.load.build import Profile
from checker.rulebooks.model import Rulebooks
from checker.season.chunk import Chunk, Kept
from checker.season.judging import IDLE, MET, NOT_MET, TOO_CLOSE, UNKNOWN, Flags, Numbers, Said
from checker.season.prepared import Prepared
from checker.season.totals import MOST_REMEMBERED, Remembered, RuleTally, Tally, Totals
from checker.variances import Standing, granted, standing

OUTCOMES = tuple(Outcome)
_HOLD, _OPEN, _CLEAR = (
    OUTCOMES.index(outcome) for outcome in (Outcome.HOLD, Outcome.OPEN, Outcome.NO_RULE_BROKEN)
)


class RuleSaid(NamedTuple):
    """What one rule says of each haul of a chunk, and whether a variance excuses it if not met."""

    said: Said
    excused: bool

    def rows(self, *codes: int) -> Flags:
        """Where it says one of these; one row stands for all hauls."""
        found: Flags = np.isin(self.said.codes, codes)
        return found

    @property
    def breaks(self) -> Flags:
        """Where it is not met and nothing excuses that."""
        return np.zeros(1, dtype=bool) if self.excused else self.rows(NOT_MET)

    @property
    def opens(self) -> Flags:
        """Where it is undecided and nothing excuses that; what is not stated is never excused."""
        return self.rows(UNKNOWN) if self.excused else self.rows(UNKNOWN, TOO_CLOSE)


@dataclass(frozen=True, slots=True)
class JudgedChunk:
    """Hauls with what every rule says of them, and what each comes to."""

    chunk: Chunk
    rules: Sequence[RuleSaid]
    outcomes: NDArray[np.int8]
    """Places in OUTCOMES."""
    near: Flags
    """In order, and some rule is met by little."""
    margins: Numbers
    """Of the must-rule missed by most; where none is broken, of the rule met by least; NaN none."""


class Group:
    """A load profile made ready for hauls that are kept together."""

    def __init__(self, kept: Kept, profile: Profile, rulebooks: Rulebooks, near: float) -> None:
        """Judge what is alike for all of them."""
        self.prepared = Prepared(
            profile.replaced(kept.laid_over), rulebooks, kept.on, kept.varied, near
        )
        load = self.prepared.facts.load
        self.labels = {
            "trailer": (load.trailer.title,),
            "machine": tuple(dict.fromkeys(article.title for article in load.articles)),
            "tow vehicle": (load.tow_vehicle.title,),
        }
        # Like `check`: a variance that is out of date holds the load until somebody looks at it.
        late = (Standing.EXPIRED, Standing.NOT_BEGUN)
        self.held_by_variance = any(
            standing(each, kept.on, in_use=False) in late for each in load.variances
        )
        self._load, self._on = load, kept.on
        self._alike = self._with_variances(self.prepared.alike)

    def _with_variances(self, said: Sequence[Said]) -> list[RuleSaid]:
        return [
            RuleSaid(each, granted(self._load, each.rule, self._on) is not None) for each in said
        ]

    def judged(self, chunk: Chunk) -> JudgedChunk:
        """Every rule over every haul of a chunk."""
        rules = list(self._alike)
        if chunk.columns:
            rules += self._with_variances(self.prepared.said(chunk.columns, chunk.hauls))
        shape = (chunk.hauls,)
        broken, undecided, met, near = (np.zeros(shape, dtype=bool) for _ in range(4))
        missed, left = np.full(shape, np.inf), np.full(shape, np.inf)
        for each in rules:
            said = each.said
            if said.rule.level == "must":
                breaks = each.breaks
                broken |= breaks
                undecided |= each.opens
                met |= said.codes == MET
                if breaks.any():
                    np.fmin(missed, np.where(breaks, said.margins, np.inf), out=missed)
            if said.near.any():
                near |= said.near
                np.fmin(left, np.where(said.near, said.margins, np.inf), out=left)
        outcomes = np.where(undecided | ~met, _OPEN, _CLEAR)
        outcomes = np.where(broken | self.held_by_variance, _HOLD, outcomes).astype(np.int8)
        margins = np.where(broken, missed, left)
        return JudgedChunk(
            chunk=chunk,
            rules=rules,
            outcomes=outcomes,
            near=near & (outcomes == _CLEAR),
            margins=np.where(np.isfinite(margins), margins, np.nan),
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
        excused = np.zeros(chunk.hauls, dtype=bool)
        wanting: dict[str, Flags] = {}
        for each in judged.rules:
            tally = totals.rules.setdefault(each.said.rule.id, RuleTally())
            tally.verdicts = _counted(each.said.codes, chunk.hauls)
            tally.near = _number(each.said.near, chunk.hauls)
            if each.excused:
                excused |= each.rows(NOT_MET, TOO_CLOSE)
                tally.excused = _number(each.rows(NOT_MET), chunk.hauls)
            if tally.broken:
                breaks = np.broadcast_to(each.breaks, excused.shape)
                tally.broken_by = {kind: split.counts(breaks) for kind, split in splits.items()}
            if tally.verdicts[UNKNOWN]:
                unknown = each.rows(UNKNOWN)
                for field, blank in self.prepared.wanting(each.said, chunk.columns):
                    rows = unknown & blank
                    if rows.any():
                        tally.gap[field] = _number(rows, chunk.hauls)
                        wanting[field] = wanting[field] | rows if field in wanting else rows
        totals.wanting = {field: _number(rows, chunk.hauls) for field, rows in wanting.items()}
        marks = (
            np.ones(chunk.hauls, dtype=bool),
            judged.outcomes == _HOLD,
            judged.outcomes == _OPEN,
            judged.near,
            excused,
        )
        totals.all = Tally(*(_number(each, chunk.hauls) for each in marks))
        for kind, split in splits.items():
            columns = [split.counts(each) for each in marks]
            totals.by[kind] = {
                name: Tally(*(column.get(name, 0) for column in columns)) for name in columns[0]
            }
        totals.remembered = list(_remembered(judged, excused))
        return totals


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
    counts = np.bincount(codes, minlength=IDLE + 1)
    numbers: list[int] = (counts * hauls if len(codes) == 1 else counts).tolist()
    return numbers


def _number(rows: Flags, hauls: int) -> int:
    """How many hauls are marked; one mark stands for all of them."""
    marked = int(np.count_nonzero(rows))
    return marked * hauls if rows.size == 1 else marked


def _remembered(judged: JudgedChunk, excused: Flags) -> Iterator[Remembered]:
    """The worst of the hauls that are not in order, or near a limit, or under a variance."""
    chunk, outcomes = judged.chunk, judged.outcomes
    told = (outcomes != _CLEAR) | judged.near | excused
    for each in judged.rules:
        if each.said.rule.level != "must":
            told |= each.breaks
    rows = np.flatnonzero(told)
    if not rows.size:
        return
    broken, undecided = (np.zeros(chunk.hauls, dtype=np.int32) for _ in range(2))
    for each in judged.rules:
        if each.said.rule.level == "must":
            broken += each.breaks
            undecided += each.opens
    keys = (chunk.rows, -undecided, np.nan_to_num(judged.margins), -broken, outcomes)
    worst = rows[np.lexsort([key[rows] for key in keys])][:MOST_REMEMBERED]
    listed = [(each, _at(each.breaks, worst), _at(each.opens, worst)) for each in judged.rules]
    near = [(each.said.rule.id, _at(each.said.near, worst)) for each in judged.rules]
    freed = [
        (each.said.rule.id, _at(each.rows(NOT_MET, TOO_CLOSE), worst))
        for each in judged.rules
        if each.excused
    ]
    for place, row in enumerate(worst.tolist()):
        margin = float(judged.margins[row])
        yield Remembered(
            row=int(chunk.rows[row]),
            load=chunk.load,
            day=date.fromordinal(int(chunk.days[row])).isoformat(),
            crew=chunk.crews[chunk.crew_of[row]],
            outcome=OUTCOMES[outcomes[row]].value,
            margin=None if np.isnan(margin) else margin,
            broken=_ids(listed, place, "must", 1),
            should_broken=_ids(listed, place, "should", 1),
            undecided=_ids(listed, place, "must", 2),
            near=tuple(rule for rule, marks in near if marks[place]),
            excused=tuple(rule for rule, marks in freed if marks[place]),
        )


def _at(marks: Flags, rows: NDArray[np.intp]) -> list[bool]:
    found: list[bool] = np.broadcast_to(
        marks, (rows.max() + 1,) if marks.size == 1 else marks.shape
    )[rows].tolist()
    return found


def _ids(
    listed: Sequence[tuple[RuleSaid, list[bool], list[bool]]], place: int, level: str, column: int
) -> tuple[str, ...]:
    return tuple(
        entry[0].said.rule.id
        for entry in listed
        if entry[0].said.rule.level == level and entry[column][place]
    )
