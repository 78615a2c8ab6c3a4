"""From batches of a log to chunks of hauls that are judged together.

Hauls go together when they share a load profile, the rules of their day, the words that differ from
the profile, and what their numbers are like: stated in metric units or not, with a tolerance or
not. What then differs is plain numbers, one column a field.
"""

import pickle
from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from checker.documents.problems import DataPath, ProblemsFoundError
from checker.documents.reader import Document
from checker.documents.validate import validate
from checker.load.build import MOST_CORNERED, Profile, read_profile
from checker.rulebooks.model import Rulebooks
from checker.season.chunk import Chunk, Kept, Varied
from checker.season.days import turning_days
from checker.season.logs.columns import data_path, node_of
from checker.season.logs.decode import Decoded, Decoder
from checker.season.logs.model import OF_THE_HAUL, Batch, Column, Refused, Role
from checker.unit_kinds import KINDS
from checker.unit_table import FACTORS

MOST_WAITING = 262_144
"""Hauls kept until those of one kind are enough to be judged together; some dozen megabytes."""

MOST_TOLD = 100
"""Refused rows that are told one by one; all are counted."""

# What a number of one haul is like. Hauls go together only where all their numbers are alike.
_METRIC, _LOOSE, _AS_PROFILED = 1, 2, 4

_NOWHERE = "found a column that leads nowhere in this load; wanted one of its fields"


@dataclass(frozen=True, slots=True)
class _Own:
    """What a profile says of a field where a haul leaves it blank.

    `apart`: it must not be put among the numbers, because of its tolerance or because the field
    would not exist without the haul.
    """

    value: float
    metric: bool
    apart: bool
    leads: bool
    """Whether the field can be stated in this load at all."""


class _Loaded:
    """A load profile as its hauls need it."""

    def __init__(self, name: str, profile: Profile, rulebooks: Rulebooks) -> None:
        self.name = name
        self.profile = profile
        self.pickled = pickle.dumps(profile)
        load = profile.load({})
        turns = [day.toordinal() for day in turning_days(rulebooks, load.variances)]
        # Any day of a stretch stands for all of it: its first, and for the earliest the last.
        self.turns = np.array(turns, dtype=np.int64)
        self.days = np.array([turns[0] - 1, *turns] if turns else [date(2000, 1, 1).toordinal()])
        self._own: dict[str, _Own] = {}
        self._faults: dict[Kept, str | None] = {}

    def on(self, days: NDArray[np.int64]) -> NDArray[np.int64]:
        """For each day one that has the same rules, the same for all days that have."""
        found: NDArray[np.int64] = self.days[np.searchsorted(self.turns, days, side="right")]
        return found

    def own(self, column: Column) -> _Own:
        """What the profile itself says of the field of a column."""
        if column.field not in self._own:
            self._own[column.field] = self._looked_up(column)
        return self._own[column.field]

    def fault(self, kept: Kept) -> str | None:
        """What is wrong with the load once a haul's words are laid over it."""
        if kept not in self._faults:
            laid = self.profile.replaced(kept.laid_over)
            document = Document("", laid.merged.data, {}, {})
            problems = validate(document, wanted_kind="load")
            self._faults[kept] = problems[0].words if problems else None
        return self._faults[kept]

    def _looked_up(self, column: Column) -> _Own:
        path = data_path(column.field)
        inside: Any = self.profile.merged.data
        enclosed = True
        for part in path[:-1]:
            if isinstance(inside, list) and not (isinstance(part, int) and part < len(inside)):
                return _Own(np.nan, metric=False, apart=True, leads=False)
            if isinstance(inside, dict) and part not in inside:
                enclosed = False
                break
            inside = inside[part]
        if enclosed and not isinstance(inside, dict):
            return _Own(np.nan, metric=False, apart=True, leads=False)
        if not enclosed or path[-1] not in inside:
            return _Own(np.nan, metric=False, apart=not enclosed, leads=True)
        cell = inside[path[-1]]
        if column.role not in (Role.QUANTITY, Role.ANSWER):
            return _Own(np.nan, metric=False, apart=False, leads=True)
        bare = Column(column.header, column.field, column.role)
        decoded = Decoder(bare)([cell])
        return _Own(
            value=float(decoded.values[0]),
            metric=bool(decoded.metric[0]),
            apart=decoded.half_widths is not None,
            leads=True,
        )


@dataclass(frozen=True, slots=True)
class _Figures:
    """One column of numbers over some hauls: values, half-widths, and whether in metric units."""

    values: NDArray[np.float64]
    halves: NDArray[np.float64]
    metric: NDArray[np.bool_]

    def of(self, rows: NDArray[Any]) -> "_Figures":
        """Those of some hauls."""
        return _Figures(self.values[rows], self.halves[rows], self.metric[rows])


@dataclass(frozen=True, slots=True)
class _Table:
    """Hauls that wait: where they stand, which load, when and who, and what their columns say.

    Words are numbered, 0 for a blank.
    """

    rows: NDArray[np.int64]
    loads: NDArray[np.int64]
    days: NDArray[np.int64]
    crews: NDArray[np.int64]
    figures: Mapping[Column, _Figures]
    words: Mapping[Column, NDArray[np.int64]]

    def of(self, rows: NDArray[Any]) -> "_Table":
        """Those of some hauls."""
        return _Table(
            self.rows[rows],
            self.loads[rows],
            self.days[rows],
            self.crews[rows],
            {column: each.of(rows) for column, each in self.figures.items()},
            {column: each[rows] for column, each in self.words.items()},
        )


class Grouping:
    """Takes batches and gives chunks; counts the rows it reads and those it refuses."""

    def __init__(
        self, rulebooks: Rulebooks, found: Callable[[str], Path], root: Path | None
    ) -> None:
        """`found` finds the file of a load as the log names it, or raises FileNotFoundError."""
        self.rulebooks = rulebooks
        self.read = 0
        self.refused = 0
        self.refusals: list[Refused] = []
        """The first of them, in the order in which they were found."""
        self.loads: list[_Loaded] = []
        self._found, self._root = found, root
        self._load_codes: dict[str, int] = {}
        self._unfit: dict[str, str] = {}
        self._decoders: dict[Column, Decoder] = {}
        self._words: dict[Hashable, int] = {}
        self._word_of: list[Any] = [None]
        self._crew_codes: dict[str, int] = {}
        self._crews: list[str] = []

    def chunks(self, batches: Iterable[Batch]) -> Iterator[Chunk]:
        """All hauls of a log that can be judged, a chunk at a time; the same for the same log."""
        waiting: list[_Table] = []
        for batch in batches:
            self.read += len(batch.numbers) + len(batch.refused)
            self._refuse(batch.refused)
            waiting.append(self._taken(batch))
            if sum(len(table.rows) for table in waiting) >= MOST_WAITING:
                yield from self._given(waiting)
                waiting = []
        yield from self._given(waiting)

    def _taken(self, batch: Batch) -> _Table:
        """The hauls of a batch with their cells as numbers; what cannot be read is refused."""
        said: dict[int, str] = {}
        for name in dict.fromkeys(batch.cells[Role.LOAD]):
            self._know(str(name))
        for place, name in enumerate(batch.cells[Role.LOAD]):
            if name in self._unfit:
                said[place] = self._unfit[str(name)]
        figures: dict[Column, _Figures] = {}
        words: dict[Column, NDArray[np.int64]] = {}
        for column in batch.columns:
            if column.role in OF_THE_HAUL:
                continue
            decoded = self._decoders.setdefault(column, Decoder(column))(batch.cells[column.field])
            for place, fault in decoded.faults:
                said[place] = f"{said[place]}; {fault}" if place in said else fault
            if column.role in (Role.QUANTITY, Role.ANSWER):
                figures[column] = _figures(decoded)
            else:
                words[column] = np.array([self._word(word) for word in decoded.values.tolist()])
        self._refuse([Refused(batch.numbers[place], said[place]) for place in said])
        hauls = len(batch.numbers)
        crews = batch.cells.get(Role.CREW, ("",) * hauls)
        table = _Table(
            rows=np.array(batch.numbers, dtype=np.int64),
            loads=np.array([self._load_codes.get(str(name), -1) for name in batch.cells["load"]]),
            days=np.array([day.toordinal() for day in batch.cells["date"]]),  # type: ignore[union-attr]
            crews=np.array([self._crew(str(crew or "")) for crew in crews]),
            figures=figures,
            words=words,
        )
        if not said:
            return table
        return table.of(np.array([place not in said for place in range(hauls)], dtype=bool))

    def _refuse(self, refused: Sequence[Refused]) -> None:
        self.refused += len(refused)
        self.refusals += refused[: MOST_TOLD - len(self.refusals)]

    def _know(self, name: str) -> None:
        """Read a load that is named for the first time."""
        if name in self._load_codes or name in self._unfit:
            return
        try:
            profile = read_profile(self._found(name), self._root)
        except (FileNotFoundError, ProblemsFoundError) as error:
            self._unfit[name] = str(error).splitlines()[0]
            return
        self._load_codes[name] = len(self.loads)
        self.loads.append(_Loaded(name, profile, self.rulebooks))

    def _word(self, word: Any) -> int:
        if word is None:
            return 0
        key = (type(word).__name__, str(word))
        if key not in self._words:
            self._words[key] = len(self._word_of)
            # A list is looked up like a word once it cannot change.
            self._word_of.append(tuple(word) if isinstance(word, list) else word)
        return self._words[key]

    def _crew(self, name: str) -> int:
        if name not in self._crew_codes:
            self._crew_codes[name] = len(self._crews)
            self._crews.append(name)
        return self._crew_codes[name]

    def _given(self, waiting: Sequence[_Table]) -> Iterator[Chunk]:
        """All that waits, load by load in the order in which the log first names them."""
        if not waiting:
            return
        table = _joined(waiting)
        for code in np.unique(table.loads).tolist():
            yield from self._of_load(
                self.loads[code], table.of(np.flatnonzero(table.loads == code))
            )

    def _of_load(self, loaded: _Loaded, table: _Table) -> Iterator[Chunk]:
        """The hauls of one load, those that are alike together."""
        likes = [loaded.on(table.days)]
        astray = np.zeros(len(table.rows), dtype=bool)
        for column, each in table.figures.items():
            own = loaded.own(column)
            likes.append(_like(each, own))
            astray |= (likes[-1] != _AS_PROFILED) & (not own.leads)
        for column, codes in table.words.items():
            likes.append(codes)
            astray |= (codes != 0) & (not loaded.own(column).leads)
        self._refuse([Refused(row, _NOWHERE) for row in table.rows[astray].tolist()])
        keys, kinds = np.unique(np.stack(likes, axis=1), axis=0, return_inverse=True)
        for kind in range(len(keys)):
            rows = np.flatnonzero((kinds.ravel() == kind) & ~astray)
            if rows.size:
                yield from self._alike(loaded, table.of(rows), keys[kind].tolist())

    def _alike(self, loaded: _Loaded, table: _Table, key: Sequence[int]) -> Iterator[Chunk]:
        """Hauls that go together; one by one where they have too many tolerances for that."""
        on = date.fromordinal(key[0])
        likes = dict(zip(table.figures, key[1:], strict=False))
        words = {
            data_path(column.field): self._word_of[code]
            for column, code in zip(table.words, key[1 + len(likes) :], strict=True)
            if code
        }
        figures = {
            column: _filled(table.figures[column], loaded.own(column))
            for column, like in likes.items()
            if like != _AS_PROFILED
        }
        figures = {
            column: each for column, each in figures.items() if not np.isnan(each.values).all()
        }
        paths = {column: data_path(column.field) for column in figures}
        loose = sum(bool(likes[column] & _LOOSE) for column in figures)
        loose += len(loaded.profile.tolerances.keys() - set(paths.values()))
        if loose > MOST_CORNERED:
            for row in range(len(table.rows)):
                texts = {
                    paths[column]: _text(column, each, row) for column, each in figures.items()
                }
                kept = Kept(loaded.profile.file, tuple((words | texts).items()), (), on)
                yield self._chunk(loaded, kept, table.of(np.array([row])), {})
            return
        texts = {
            paths[column]: _text(column, each, int(np.flatnonzero(~np.isnan(each.values))[0]))
            for column, each in figures.items()
        }
        columns = {
            paths[column]: Varied(each.values, each.halves if likes[column] & _LOOSE else None)
            for column, each in figures.items()
        }
        kept = Kept(loaded.profile.file, tuple((words | texts).items()), tuple(columns), on)
        fault = loaded.fault(kept)
        if fault is not None:
            self._refuse([Refused(row, fault) for row in table.rows.tolist()])
            return
        yield self._chunk(loaded, kept, table, columns)

    def _chunk(
        self, loaded: _Loaded, kept: Kept, table: _Table, columns: Mapping[DataPath, Varied]
    ) -> Chunk:
        crews, codes = np.unique(table.crews, return_inverse=True)
        return Chunk(
            kept=kept,
            profile=loaded.pickled,
            load=loaded.name,
            rows=table.rows,
            days=table.days,
            crews=[self._crews[crew] for crew in crews],
            crew_of=codes,
            columns=columns,
        )


def _figures(decoded: Decoded) -> _Figures:
    halves = decoded.half_widths
    return _Figures(
        decoded.values,
        np.zeros(len(decoded.values)) if halves is None else halves,
        decoded.metric,
    )


def _joined(tables: Sequence[_Table]) -> _Table:
    """Tables one below the other; a column that one of them does not have is blank there."""
    figures = dict.fromkeys(column for table in tables for column in table.figures)
    words = dict.fromkeys(column for table in tables for column in table.words)

    def blank(hauls: int) -> _Figures:
        nothing = np.full(hauls, np.nan)
        return _Figures(nothing, np.zeros(hauls), np.zeros(hauls, dtype=bool))

    def together(column: Column) -> _Figures:
        parts = [table.figures.get(column) or blank(len(table.rows)) for table in tables]
        return _Figures(
            np.concatenate([part.values for part in parts]),
            np.concatenate([part.halves for part in parts]),
            np.concatenate([part.metric for part in parts]),
        )

    return _Table(
        rows=np.concatenate([table.rows for table in tables]),
        loads=np.concatenate([table.loads for table in tables]),
        days=np.concatenate([table.days for table in tables]),
        crews=np.concatenate([table.crews for table in tables]),
        figures={column: together(column) for column in figures},
        words={
            column: np.concatenate(
                [
                    table.words.get(column, np.zeros(len(table.rows), dtype=np.int64))
                    for table in tables
                ]
            )
            for column in words
        },
    )


def _like(figures: _Figures, own: _Own) -> NDArray[np.int64]:
    """What the numbers of one column are like in each haul."""
    blank = np.isnan(figures.values)
    like = np.where(figures.metric, _METRIC, 0) + np.where(figures.halves > 0, _LOOSE, 0)
    instead = _AS_PROFILED if own.apart else _METRIC if own.metric else 0
    return np.where(blank, instead, like)


def _filled(figures: _Figures, own: _Own) -> _Figures:
    """The numbers with those of the profile where a haul leaves them blank."""
    blank = np.isnan(figures.values)
    return _Figures(np.where(blank, own.value, figures.values), figures.halves, figures.metric)


def _text(column: Column, figures: _Figures, row: int) -> str | float:
    """One number as a profile might state it; its unit tells whether it is metric."""
    value, half = float(figures.values[row]), float(figures.halves[row])
    if column.role is Role.ANSWER:
        return "yes" if value == 1 else "no"
    node = node_of(column.field)
    if node["type"] != "string":
        return int(value) if node["type"] == "integer" else value
    kind = KINDS[node["quantity"]]
    unit = kind.si if figures.metric[row] else kind.us
    top, bottom = FACTORS[unit] if unit else (1, 1)
    text = f"{value * bottom / top!r} {unit}"
    return f"{text} +/- {half * bottom / top!r} {unit}" if half else text
