"""From the hauls of loads that are kin to chunks that are judged together.

Hauls go together when they share the rules of their day, the words that differ from a profile,
and what their numbers are like: stated in metric units or not, with a tolerance or not. What then
differs is plain numbers, one column a field.
"""

from collections.abc import Callable, Hashable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from types import MappingProxyType
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from checker.documents.document import Document
from checker.documents.problems import DataPath
from checker.documents.validate import validate
from checker.load.build import MOST_CORNERED, Profile
from checker.rulebooks.model import Rulebooks
from checker.season.alike import at, in_full
from checker.season.chunk import Chunk, Labels, Varied
from checker.season.days import turning_days
from checker.season.kinship import Kin
from checker.season.logs.columns import data_path, node_of
from checker.season.logs.decode import FigureDecoder, Figures
from checker.season.logs.model import Column, Refused, Role
from checker.season.table import Table
from checker.unit_kinds import KINDS
from checker.unit_table import FACTORS

# What a number of one haul is like. Hauls go together only where all their numbers are alike.
_METRIC, _LOOSE, _AS_PROFILED = map(np.uint8, (1, 2, 4))

_BLANK: Final = np.full(1, np.nan)
_NONE: Final[Mapping[DataPath, Varied]] = MappingProxyType({})

_NOWHERE: Final = "found a column that leads nowhere in this load; wanted one of its fields"


@dataclass(frozen=True, slots=True)
class _Own:
    """What the profiles say of a field where a haul leaves it blank.

    `apart`: it must not be put among the numbers, because of its tolerance or because the field
    would not exist without the haul.
    """

    values: NDArray[np.float64]
    """Of each load; one number where they say the same."""
    metric: bool
    apart: bool
    leads: bool
    """Whether the field can be stated in these loads at all."""


class Grouping:
    """Loads that are kin, and their hauls put together."""

    def __init__(
        self, loads: Kin, rulebooks: Rulebooks, profile_of: Callable[[str], Profile]
    ) -> None:
        """Find the days on which rules turn; `profile_of` gives any of the loads by its name."""
        self.kin = loads
        self.profile_of = profile_of
        load = loads.profile.load({})
        turns = [day.toordinal() for day in turning_days(rulebooks, load.variances)]
        # Any day of a stretch stands for all of it: its first, and for the earliest the last.
        self.turns = np.array(turns, dtype=np.int64)
        self.days = np.array([turns[0] - 1, *turns] if turns else [date(2000, 1, 1).toordinal()])
        self._own: dict[str, _Own] = {}
        self._laid: dict[str, Profile | str] = {}
        """Profiles with what hauls state over them, or what is wrong with that."""

    def chunks(self, table: Table, load_of: NDArray[np.intp]) -> Iterator[Chunk | Refused]:
        """The hauls, those that are alike together, and those that cannot be judged.

        `load_of` holds the place of each haul's load among the kin.
        """
        keys, kinds, astray = self._kinds(table)
        if astray.any():
            yield from (Refused(row, _NOWHERE) for row in table.rows[astray].tolist())
        elif len(keys) == 1:
            yield from self._alike(table, load_of, keys[0])
            return
        for kind, key in enumerate(keys):
            rows = np.flatnonzero((kinds == kind) & ~astray)
            if rows.size:
                yield from self._alike(table.of(rows), load_of[rows], key)

    def _kinds(self, table: Table) -> tuple[list[list[int]], NDArray[np.intp], NDArray[np.bool_]]:
        """What hauls may be like, which of that each is, and where one leads nowhere."""
        likes: list[NDArray[Any]] = [self._on(table.days)]
        astray = np.zeros(len(table.rows), dtype=bool)
        for column, each in table.figures.items():
            own = self._own_of(column)
            likes.append(_like(each, own))
            if not own.leads:
                astray |= likes[-1] != _AS_PROFILED
        for column, named in table.words.items():
            likes.append(named.codes)
            if not self._own_of(column).leads:
                astray |= named.codes != 0
        return *_combined(likes), astray

    def _alike(
        self, table: Table, load_of: NDArray[np.intp], key: Sequence[int]
    ) -> Iterator[Chunk | Refused]:
        """Hauls that go together; one by one where they have too many tolerances for that."""
        on = date.fromordinal(key[0])
        likes = dict(zip(table.figures, key[1:], strict=False))
        words = {
            data_path(column.field): named.names[code]
            for (column, named), code in zip(
                table.words.items(), key[1 + len(likes) :], strict=True
            )
            if code
        }
        figures = {
            column: _filled(table.figures[column], self._own_of(column), load_of)
            for column, like in likes.items()
            if like != _AS_PROFILED
        }
        figures = {
            column: each for column, each in figures.items() if not np.isnan(each.values).all()
        }
        paths = {column: data_path(column.field) for column in figures}
        loose = sum(bool(likes[column] & _LOOSE) for column in figures)
        loose += len(self.kin.profile.tolerances.keys() - set(paths.values()))
        if loose > MOST_CORNERED:
            for row, place in enumerate(load_of.tolist()):
                texts = {
                    paths[column]: _text(column, each, row) for column, each in figures.items()
                }
                load = self.kin.loads[place]
                one_by_one = self.profile_of(load.name).replaced(words | texts)
                labels = [load.labels(words)]
                one, first = table.of(np.array([row])), np.zeros(1, dtype=np.intp)
                yield _chunk(
                    one_by_one, labels, first, on, one, (labels[0], repr(words | texts), on)
                )
            return
        texts = {
            paths[column]: _text(column, each, int(np.flatnonzero(~np.isnan(each.values))[0]))
            for column, each in figures.items()
        }
        columns = {
            paths[column]: Varied(
                each.values,
                in_full(each.halves, len(each.values)) if likes[column] & _LOOSE else None,
            )
            for column, each in figures.items()
        }
        told = repr((words, [(path, likes[column]) for column, path in paths.items()]))
        if told not in self._laid:
            # What the figures are makes no difference to the schema: their columns were read by it.
            stated = self.kin.profile.replaced(words | texts)
            problems = validate(Document("", stated.merged.data, {}, {}), wanted_kind="load")
            self._laid[told] = problems[0].words if problems else stated
        laid = self._laid[told]
        if isinstance(laid, str):
            yield from (Refused(row, laid) for row in table.rows.tolist())
            return
        present, load_of = np.unique(load_of, return_inverse=True)
        labels = [self.kin.loads[place].labels(words) for place in present.tolist()]
        own = {path: each.of(present) for path, each in self.kin.own.items() if path not in columns}
        yield _chunk(laid, labels, load_of, on, table, (tuple(labels), told, on), columns, own)

    def _on(self, days: NDArray[np.int64]) -> NDArray[np.int64]:
        """For each day one that has the same rules, the same for all days that have."""
        found: NDArray[np.int64] = self.days[np.searchsorted(self.turns, days, side="right")]
        return found

    def _own_of(self, column: Column) -> _Own:
        """What the profiles themselves say of the field of a column."""
        if column.field not in self._own:
            self._own[column.field] = self._looked_up(column)
        return self._own[column.field]

    def _looked_up(self, column: Column) -> _Own:
        path = data_path(column.field)
        inside: Any = self.kin.profile.merged.data
        enclosed = True
        for part in path[:-1]:
            if isinstance(inside, list) and not (isinstance(part, int) and part < len(inside)):
                return _Own(_BLANK, metric=False, apart=True, leads=False)
            if isinstance(inside, dict) and part not in inside:
                enclosed = False
                break
            inside = inside[part]
        if enclosed and not isinstance(inside, dict):
            return _Own(_BLANK, metric=False, apart=True, leads=False)
        if not enclosed or path[-1] not in inside:
            return _Own(_BLANK, metric=False, apart=not enclosed, leads=True)
        cell = inside[path[-1]]
        if column.role not in (Role.QUANTITY, Role.ANSWER):
            return _Own(_BLANK, metric=False, apart=False, leads=True)
        bare = Column(column.header, column.field, column.role)
        decoded = FigureDecoder(bare, {})([cell])
        return _Own(
            values=self.kin.own[path].values if path in self.kin.own else decoded.values,
            metric=bool(decoded.metric[0]),
            apart=bool(decoded.halves[0]),
            leads=True,
        )


def _chunk(
    laid: Profile,
    loads: Sequence[Labels],
    load_of: NDArray[np.intp],
    on: date,
    table: Table,
    alike: Hashable,
    columns: Mapping[DataPath, Varied] = _NONE,
    own: Mapping[DataPath, Varied] = _NONE,
) -> Chunk:
    return Chunk(
        profile=laid,
        own=own,
        loads=loads,
        load_of=load_of,
        on=on,
        rows=table.rows,
        days=table.days,
        crews=table.crews.names,
        crew_of=table.crews.codes,
        columns=columns,
        alike=alike,
    )


def _combined(likes: Sequence[NDArray[Any]]) -> tuple[list[list[int]], NDArray[np.intp]]:
    """Each combination of likenesses, and which of them each haul has."""
    kinds = np.zeros(len(likes[0]), dtype=np.intp)
    first = np.zeros(1, dtype=np.intp)
    for like in likes:
        if (like != like[0]).any():
            several, codes = np.unique(like, return_inverse=True)
            _, first, kinds = np.unique(
                kinds * len(several) + codes, return_index=True, return_inverse=True
            )
    return [[int(like[row]) for like in likes] for row in first.tolist()], kinds


def _like(figures: Figures, own: _Own) -> NDArray[np.uint8]:
    """What the numbers of one column are like in each haul."""
    blank = np.isnan(figures.values)
    like = figures.metric * _METRIC + (figures.halves > 0) * _LOOSE
    instead = _AS_PROFILED if own.apart else _METRIC if own.metric else np.uint8(0)
    return np.where(blank, instead, like)


def _filled(figures: Figures, own: _Own, load_of: NDArray[np.intp]) -> Figures:
    """The numbers with those of the profile where a haul leaves them blank."""
    blank = np.isnan(figures.values)
    if not blank.any():
        return figures
    instead = at(own.values, load_of)
    return Figures(np.where(blank, instead, figures.values), figures.halves, figures.metric)


def _text(column: Column, figures: Figures, row: int) -> str | float:
    """One number as a profile might state it; its unit tells whether it is metric."""
    here = figures.of(slice(row, row + 1))
    value, half, metric = (float(each[0]) for each in (here.values, here.halves, here.metric))
    if column.role is Role.ANSWER:
        return "yes" if value == 1 else "no"
    node = node_of(column.field)
    if node["type"] != "string":
        return int(value) if node["type"] == "integer" else value
    kind = KINDS[node["quantity"]]
    unit = kind.si if metric else kind.us
    top, bottom = FACTORS[unit] if unit else (1, 1)
    text = f"{value * bottom / top!r} {unit}"
    return f"{text} +/- {half * bottom / top!r} {unit}" if half else text
