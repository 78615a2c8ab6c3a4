"""From the hauls of loads of the same shape to chunks that are evaluated together.

Hauls go together when they share the rules of their day, the words that differ from a profile,
and what their numbers are like: stated in metric units or not, with a tolerance or not. What then
differs is plain numbers, one column a field.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import date
from types import MappingProxyType
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from checker.documents.document import Document
from checker.documents.problems import DataPath
from checker.documents.validate import validate
from checker.evaluation.rule_rows import expand
from checker.facts.agreement import pull_problems
from checker.load.build import MOST_CORNERED, Profile
from checker.load.names import lost_names
from checker.rulebooks.model import Rulebooks
from checker.rulebooks.unread_jurisdictions import county_problems
from checker.season.axle_weights import Following, scale_axle_weights
from checker.season.chunk import Chunk, Labels, Varied
from checker.season.days import turning_days
from checker.season.logs.columns import data_path
from checker.season.logs.model import Column, Refused
from checker.season.of_profiles import AS_PROFILED, LOOSE, SCALED, OfProfiles
from checker.season.same_shape import SameShape
from checker.season.stated import Stated
from checker.season.stated_by_hauls import Looking, OfHauls, Rows
from checker.season.table import Table
from checker.units.arithmetic import Number

_NONE: Final[Mapping[DataPath, Varied]] = MappingProxyType({})

_NOWHERE: Final = "found a column that leads nowhere in this load; wanted one of its fields"


class Grouping:
    """Loads of the same shape, and their hauls put together."""

    def __init__(
        self,
        loads: SameShape,
        rulebooks: Sequence[Rulebooks],
        profile_of: Callable[[str], Profile],
    ) -> None:
        """Find the days on which any of the rulebooks turn.

        `profile_of` gives any of the loads by its name.
        """
        self.same_shape = loads
        self.profile_of = profile_of
        variances = loads.profile.load({}).variances
        days = {day for each in rulebooks for day in turning_days(each, variances)}
        turns = sorted(day.toordinal() for day in days)
        # Any day of a stretch stands for all of it: its first, and for the earliest the last.
        self.turns = np.array(turns, dtype=np.int64)
        self.days = np.array([turns[0] - 1, *turns] if turns else [date(2000, 1, 1).toordinal()])
        self.rulebooks = rulebooks
        self.profiles = OfProfiles(loads)
        self._laid: dict[str, Profile | str] = {}
        """Profiles with what hauls state over them, or what is wrong with that."""
        self._lost_names: dict[tuple[str, int], str] = {}
        self._looking: dict[tuple[str, date], Looking] = {}

    def chunks(self, table: Table, load_of: NDArray[np.intp]) -> Iterator[Chunk | Refused]:
        """The hauls, those that are alike together, and those that cannot be judged.

        `load_of` holds the place of each haul's load among them.
        """
        table, following = scale_axle_weights(table, self.profiles, load_of)
        keys, kinds, lost = self._kinds(table, following)
        astray = np.zeros(len(table.rows), dtype=bool)
        astray[list(lost)] = True
        if lost:
            yield from (
                Refused(int(table.rows[place]), "; ".join(f"{each}: {_NOWHERE}" for each in fields))
                for place, fields in sorted(lost.items())
            )
        elif len(keys) == 1:
            yield from self._alike(table, load_of, keys[0])
            return
        for kind, key in enumerate(keys):
            rows = np.flatnonzero((kinds == kind) & ~astray)
            if rows.size:
                yield from self._alike(table.of(rows), load_of[rows], key)

    def stated_alone(self, table: Table) -> Stated:
        """What the only haul of a table states over the profile of the first load."""
        first = np.zeros(1, dtype=np.intp)
        table, following = scale_axle_weights(table, self.profiles, first)
        (key,), _, _ = self._kinds(table, following)
        return self._stated(table, first, key)

    def _kinds(
        self, table: Table, following: Following
    ) -> tuple[list[list[int]], NDArray[np.intp], dict[int, list[str]]]:
        """What hauls may be like, which of that each is, and fields that lead nowhere, by place."""
        likes: list[NDArray[Any]] = [self._on(table.days)]
        lost: dict[int, list[str]] = {}

        def stated_nowhere(column: Column, hauls: NDArray[np.bool_]) -> None:
            for place in np.flatnonzero(hauls).tolist():
                lost.setdefault(place, []).append(column.field)

        for column, each in table.figures.items():
            own = self.profiles[column]
            like = own.like(each)
            if not own.leads:
                stated_nowhere(column, like != AS_PROFILED)
            likes.append(like | following[column] * SCALED if column in following else like)
        for column, named in table.words.items():
            likes.append(named.codes)
            if not self.profiles[column].leads:
                stated_nowhere(column, named.codes != 0)
        return *_combined(likes), lost

    def _alike(
        self, table: Table, load_of: NDArray[np.intp], key: Sequence[int]
    ) -> Iterator[Chunk | Refused]:
        """Hauls that go together; one by one where they have too many tolerances for that."""
        stated = self._stated(table, load_of, key)
        laid = self._laid_over(stated)
        if isinstance(laid, str):
            yield from (Refused(row, laid) for row in table.rows.tolist())
            return
        on = date.fromordinal(key[0])
        if (stated.alike, on) not in self._looking:
            unmarked = self.rulebooks[-1].unmarked_on(on)
            self._looking[stated.alike, on] = Looking(laid, stated, self.same_shape.own, unmarked)
        looking = self._looking[stated.alike, on]
        own = self._own_figures(stated, load_of)
        hauls = OfHauls(laid, stated, own)
        columns = own | {
            path: Varied(
                each.values,
                expand(each.halves, len(each.values)) if path in stated.loose else None,
            )
            for path, each in stated.figures.items()
        }
        faults = self._lost(laid, stated, load_of)
        for place, said in looking.refused(hauls, len(load_of)).items():
            faults[place] = f"{faults[place]}; {said}" if place in faults else said
        # Without names that lead nowhere: pulls are found by what the names stand for.
        faults = faults or _wrong_pulls(laid, columns)
        if faults:
            yield from (Refused(int(table.rows[place]), faults[place]) for place in sorted(faults))
            sound = np.delete(np.arange(len(table.rows)), list(faults))
            if sound.size:
                yield from self._alike(table.of(sound), load_of[sound], key)
            return
        doubtful = looking.doubtful(hauls, len(load_of))
        loose = stated.loose | self.same_shape.profile.tolerances.keys() - stated.figures.keys()
        if len(loose) > MOST_CORNERED:
            for row, place in enumerate(load_of.tolist()):
                texts = stated.texts_of(row)
                load = self.same_shape.loads[place]
                one_by_one = self.profile_of(load.name).replaced(texts)
                labels = [load.labels(stated.words)]
                one, first = table.of(np.array([row])), np.zeros(1, dtype=np.intp)
                alone = {name: rows[row : row + 1] for name, rows in doubtful.items()}
                yield _chunk(one_by_one, labels, first, on, one, alone, _NONE)
            return
        present, load_of = np.unique(load_of, return_inverse=True)
        labels = [self.same_shape.loads[place].labels(stated.words) for place in present.tolist()]
        yield _chunk(laid, labels, load_of, on, table, doubtful, columns)

    def _stated(self, table: Table, load_of: NDArray[np.intp], key: Sequence[int]) -> Stated:
        """What the hauls of one key state over the profiles."""
        likes = dict(zip(table.figures, key[1:], strict=False))
        codes = key[1 + len(likes) :]
        filled = {
            column: self.profiles[column].fill(table.figures[column], load_of)
            for column, like in likes.items()
            if not like & AS_PROFILED
        }
        columns = {
            data_path(column.field): column
            for column, each in filled.items()
            if not np.isnan(each.values).all()
        }
        words = {
            data_path(column.field): named.names[code]
            for (column, named), code in zip(table.words.items(), codes, strict=True)
            if code
        }
        like = {path: likes[column] for path, column in columns.items()}
        return Stated(
            words=words,
            columns=columns,
            figures={path: filled[column] for path, column in columns.items()},
            loose={path for path in columns if like[path] & LOOSE},
            scaled={path for path in columns if like[path] & SCALED},
            alike=repr((words, like)),
        )

    def _laid_over(self, stated: Stated) -> Profile | str:
        """The profile with what hauls state over it, or what is wrong with that.

        What the figures are makes no difference here: their columns were read by the schema.
        """
        if stated.alike not in self._laid:
            laid = self.same_shape.profile.replaced(stated.texts())
            problems = validate(Document("", laid.merged.data, {}, {}), wanted_kind="load")
            self._laid[stated.alike] = "; ".join(each.words for each in problems) or laid
        return self._laid[stated.alike]

    def _lost(self, laid: Profile, stated: Stated, load_of: NDArray[np.intp]) -> dict[int, str]:
        """Places of hauls with names that lead nowhere in their load, and why."""
        faults: dict[int, str] = {}
        for place in np.unique(load_of).tolist():
            if (stated.alike, place) not in self._lost_names:
                problems = self._names_that_lead_nowhere(laid, stated, place)
                self._lost_names[stated.alike, place] = "; ".join(problems)
            if said := self._lost_names[stated.alike, place]:
                faults |= dict.fromkeys(np.flatnonzero(load_of == place).tolist(), said)
        return faults

    def _names_that_lead_nowhere(self, laid: Profile, stated: Stated, place: int) -> Iterator[str]:
        load = self.same_shape.loads[place]
        if stated.words:
            # An article may go by its title, and in these alone loads of one shape may differ.
            titles = {
                path: title
                for path, title in load.titles.items()
                if path[0] == "articles" and path[-1] == "title"
            }
            merged = laid.replaced({**titles, **stated.words}).merged
            yield from (problem.words for problem in lost_names(merged))
        counties = [list(county_problems(laid.merged, each)) for each in self.rulebooks]
        at = "" if ("trip", "places") in stated.words else f"{load.file}: "
        if all(counties):
            yield from (f"{at}{problem.words}" for problem in counties[-1])

    def _own_figures(self, stated: Stated, load_of: NDArray[np.intp]) -> dict[DataPath, Varied]:
        """The figures in which the loads differ and that hauls do not state, one row a haul."""
        return {
            path: each.of(load_of)
            for path, each in self.same_shape.own.items()
            # Of a list that hauls state nothing is the profile's.
            if path not in stated.figures and stated.words.keys().isdisjoint(_enclosing(path))
        }

    def _on(self, days: NDArray[np.int64]) -> NDArray[np.int64]:
        """For each day one that has the same rules, the same for all days that have."""
        found: NDArray[np.int64] = self.days[np.searchsorted(self.turns, days, side="right")]
        return found


def _enclosing(path: DataPath) -> Iterator[DataPath]:
    """The paths of all that a field stands in."""
    return (path[:depth] for depth in range(len(path)))


def _wrong_pulls(laid: Profile, columns: Mapping[DataPath, Varied]) -> dict[int, str]:
    """Places of hauls with a tiedown that does not pull the way it is said to, and why."""
    if not any(path[-1:] == ("pulls",) for path in laid.merged.places):
        return {}
    faults: dict[int, list[str]] = {}
    load = laid.load({path: _plain(column.values) for path, column in columns.items()})
    for place, problem in pull_problems(load):
        faults.setdefault(place, []).append(problem.words)
    return {place: "; ".join(said) for place, said in faults.items()}


def _plain(values: NDArray[np.float64]) -> Number:
    """A column of one haul as a number, as a load of one row wants it."""
    return values if values.size > 1 else float(values[0])


def _chunk(
    laid: Profile,
    loads: Sequence[Labels],
    load_of: NDArray[np.intp],
    on: date,
    table: Table,
    doubtful: Mapping[str, Rows],
    columns: Mapping[DataPath, Varied],
) -> Chunk:
    return Chunk(
        profile=laid,
        loads=loads,
        load_of=load_of,
        on=on,
        rows=table.rows,
        days=table.days,
        crews=table.crews.names,
        crew_of=table.crews.codes,
        columns=columns,
        doubtful=doubtful,
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
