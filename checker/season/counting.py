"""Counts the hauls of an evaluated chunk by rule, load, trailer, crew, month and so on."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from checker.evaluation.outcome import HOLD, OPEN
from checker.evaluation.rule_rows import DOES_NOT_APPLY, NOT_MET, NOT_STATED, Flags, expand
from checker.rulebooks.rule_text import Side
from checker.season.causes.fault_counting import count_faults
from checker.season.causes.gaps import add_gaps, gaps_of
from checker.season.hauls.chunk import Chunk, Labels
from checker.season.hauls.chunk_result import ChunkResult
from checker.season.hauls.first_rows import first_rows
from checker.season.rates.exposure import Carried, Coded, Exposures, count_exposures, rig_of
from checker.season.slips.alike_names import Seen
from checker.season.totals import RuleTally, Tally, Totals
from checker.season.worst_hauls import worst_hauls

_NO_ROW: Final = np.iinfo(np.int64).max


def count(result: ChunkResult) -> Totals:
    """The totals over the hauls of a chunk."""
    chunk = result.chunk
    counting = _Counting(chunk)
    totals = Totals()
    missing: dict[str, Flags] = {}
    for rule, verdicts in result.verdicts.items():
        tally = totals.rules[rule] = RuleTally(verdicts=list(verdicts))
        if asked := sum(verdicts) - verdicts[DOES_NOT_APPLY]:
            tally.figures = {
                name: {text: asked} for name, text in result.figures.get(rule, {}).items()
            }
    for each in result.rules:
        tally = totals.rules[each.rule.id]
        tally.near = _number(each.near(result.near_share), chunk.hauls)
        if each.permits:
            tally.excused = _number(each.excused & (each.verdicts == NOT_MET), chunk.hauls)
        if tally.broken:
            tally.broken_by = counting.by(each.broken)
            tally.below = _number(each.broken_on(Side.BELOW), chunk.hauls)
            tally.above = _number(each.broken_on(Side.ABOVE), chunk.hauls)
        if each.undecided.any():
            tally.undecided_by_load = counting.by_load(each.undecided)
        if tally.verdicts[NOT_STATED]:
            lacking = result.missing(each)
            add_gaps(totals.gaps, gaps_of(result, each, lacking))
            for field, rows in lacking.items():
                tally.gap[field] = _number(rows, chunk.hauls)
                missing[field] = missing[field] | rows if field in missing else rows
    totals.missing_fields = {field: _number(rows, chunk.hauls) for field, rows in missing.items()}
    counted = {name: _number(rows, chunk.hauls) for name, rows in chunk.doubtful.items()}
    totals.doubtful = {name: number for name, number in counted.items() if number}
    totals.doubt_words = {
        name: dict(words) for name, words in chunk.doubt_words.items() if name in totals.doubtful
    }
    totals.unread = dict.fromkeys(result.unread, chunk.hauls)
    totals.unread_hauls = chunk.hauls if result.unread else 0
    totals.unread_subjects = {
        place: {subject: _number(rows, chunk.hauls) for subject, rows in subjects.items()}
        for place, subjects in result.unread_subjects.items()
    }
    marks = (
        np.ones(chunk.hauls, dtype=bool),
        result.outcomes == HOLD,
        result.outcomes == OPEN,
        result.near,
        result.excused,
    )
    totals.all = Tally(*(_number(each, chunk.hauls) for each in marks))
    if totals.doubtful:
        doubted = np.logical_or.reduce(list(chunk.doubtful.values()))
        totals.doubted = Tally(*(_number(each & doubted, chunk.hauls) for each in marks))
    totals.month_rows = counting.month_rows()
    columns = [counting.by(each) for each in marks]
    for kind, names in columns[0].items():
        totals.by[kind] = {
            name: Tally(*(column[kind].get(name, 0) for column in columns)) for name in names
        }
    for load in chunk.loads:
        totals.add_titles(load.titles)
        for kind, files in load.files.items():
            for key, file in files.items():
                totals.add_files(kind, key, [file])
    totals.names = counting.names()
    totals.exposures = counting.exposures(result)
    totals.departs = {name: _number(rows, chunk.hauls) for name, rows in chunk.departs.items()}
    totals.faults = count_faults(result, counting.by)
    totals.worst_hauls = list(worst_hauls(result))
    return totals


class _Labels(NamedTuple):
    """What the loads of a chunk are counted by, of one kind."""

    names: Sequence[str]
    loads: NDArray[np.intp]
    """Indices of loads, in which a load of two machines stands twice."""
    codes: NDArray[np.intp]
    """For each of them the index of its name."""

    def hauls(self, of_load: NDArray[np.intp]) -> dict[str, int]:
        """The number of hauls of each name that has some, from those of each load."""
        marked = of_load[self.loads]
        numbers = np.zeros(len(self.names), dtype=np.intp)
        np.add.at(numbers, self.codes, marked)
        return {
            self.names[index]: int(numbers[index]) for index in np.flatnonzero(numbers).tolist()
        }

    def first_rows(self, of_load: NDArray[np.int64]) -> dict[str, int]:
        """The first row of each name, from those of each load."""
        first = np.full(len(self.names), _NO_ROW)
        np.minimum.at(first, self.codes, of_load[self.loads])
        return dict(zip(self.names, first.tolist(), strict=True))


def _labels(names_of_loads: Iterable[Sequence[str]]) -> _Labels:
    codes: dict[str, int] = {}
    pairs = [
        (load, codes.setdefault(name, len(codes)))
        for load, names in enumerate(names_of_loads)
        for name in names
    ]
    loads, of_name = np.array(pairs, dtype=np.intp).reshape(-1, 2).T
    return _Labels(list(codes), loads, of_name)


class _Counting:
    """Counts the hauls of a chunk by what was hauled with what, by whom and when."""

    def __init__(self, chunk: Chunk) -> None:
        self.chunk = chunk
        self.labels = {
            "load": _labels((each.load,) for each in chunk.loads),
            "trailer": _labels((each.trailer,) for each in chunk.loads),
            "machine": _labels(each.machines for each in chunk.loads),
            "tow vehicle": _labels((each.tow_vehicle,) for each in chunk.loads),
        }
        self.by_haul = {
            "crew": Coded(chunk.crews, chunk.crew_of),
            "month": _months(chunk.days),
        }

    def names(self) -> dict[str, dict[str, Seen]]:
        """Where each name was seen, by kind; loads by their names in the log."""
        chunk = self.chunk
        written = _labels((each.written,) for each in chunk.loads)
        crew = _labels((name,) for name in chunk.crews)
        by_load = _seen(chunk.load_of, len(chunk.loads), chunk.rows)
        by_crew = _seen(chunk.crew_of, len(chunk.crews), chunk.rows)
        found: dict[str, dict[str, Seen]] = {}
        for kind, labels in {**self.labels, "load": written, "crew": crew}.items():
            hauls, rows = by_crew if kind == "crew" else by_load
            first = labels.first_rows(rows)
            found[kind] = {
                name: Seen(number, first[name]) for name, number in labels.hauls(hauls).items()
            }
        return found

    def by(self, rows: Flags) -> dict[str, dict[str, int]]:
        """Number of marked hauls for each name, by kind; names without any are left out."""
        marked = expand(rows, self.chunk.hauls)
        of_load = np.bincount(self.chunk.load_of[marked], minlength=len(self.chunk.loads))
        found = {kind: labels.hauls(of_load) for kind, labels in self.labels.items()}
        for kind, (words, codes) in self.by_haul.items():
            numbers = np.bincount(codes[marked], minlength=len(words))
            pairs = zip(words, numbers.tolist(), strict=True)
            found[kind] = {word: number for word, number in pairs if number}
        return found

    def by_load(self, rows: Flags) -> dict[str, int]:
        """Number of marked hauls for each load; loads without any are left out."""
        loads = self._loads()
        marked = expand(rows, self.chunk.hauls)
        numbers = np.bincount(loads.of_haul[marked], minlength=len(loads.names))
        pairs = zip(loads.names, numbers.tolist(), strict=True)
        return {load: number for load, number in pairs if number}

    def month_rows(self) -> dict[str, list[int]]:
        """The first rows of each month."""
        months, codes = self.by_haul["month"]
        return {
            month: first_rows(self.chunk.rows[codes == code].tolist())
            for code, month in enumerate(months)
        }

    def exposures(self, result: ChunkResult) -> Exposures:
        """How often each load was hauled by each crew in each month, and what it carries."""
        rigs = [rig_of(each.load, own, _carried(each)) for each, own in self._with_own()]
        found = count_exposures(
            self._coded([name for name, _ in rigs]),
            self.by_haul["crew"],
            self.by_haul["month"],
            result.outcomes != OPEN,
            result.outcomes == HOLD,
            result.metres,
        )
        found.carried = dict(rigs)
        return found

    def _with_own(self) -> Iterator[tuple[Labels, Carried]]:
        """The labels of the hauls, each with what the profile of its load names.

        Rows may name another trailer, and only the profile as saved says that it is another.
        """
        saved = self.chunk.saved
        for index, each in enumerate(self.chunk.loads):
            own = saved.loads[int(self.chunk.saved_of[index])] if saved else each
            yield each, _carried(own)

    def _loads(self) -> Coded:
        """The load of each haul: one under whatever names the log has for it."""
        return self._coded([each.load for each in self.chunk.loads])

    def _coded(self, names: Sequence[str]) -> Coded:
        """The name of each haul, given those of the labels; each name once."""
        index = {name: at for at, name in enumerate(dict.fromkeys(names))}
        codes = np.array([index[name] for name in names], dtype=np.intp)
        return Coded(list(index), codes[self.chunk.load_of])


def _carried(labels: Labels) -> Carried:
    return Carried(labels.trailer, labels.machines, labels.tow_vehicle)


def _seen(
    codes: NDArray[np.intp], size: int, rows: NDArray[np.int64]
) -> tuple[NDArray[np.intp], NDArray[np.int64]]:
    """By code the number of hauls that have it, and the first of their rows."""
    first = np.full(size, _NO_ROW)
    np.minimum.at(first, codes, rows)
    return np.bincount(codes, minlength=size), first


def _months(days: NDArray[np.int64]) -> Coded:
    """The months, such as 2026-05, and for each day the index of its month."""
    some, codes = np.unique(days, return_inverse=True)
    months = [date.fromordinal(int(day)).isoformat()[:7] for day in some]
    names, of_day = np.unique(np.array(months), return_inverse=True)
    return Coded(names.tolist(), of_day[codes])


def _number(rows: Flags, hauls: int) -> int:
    """Number of marked hauls; a single mark stands for all hauls."""
    if rows.size == 1:
        return hauls if rows[0] else 0
    return int(np.count_nonzero(rows))
