"""Groups the hauls of loads of the same shape into chunks that are evaluated together.

Hauls are in one chunk if they share the rules of their day, the words they state in place of the
profile's, and the kind of each number: metric or not, with a tolerance or not. They then differ
only in plain numbers, one column for each field.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date
from functools import cached_property
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from checker.documents.document import Document
from checker.documents.problems import DataPath
from checker.documents.validate import validate
from checker.facts.agreement import pull_problems
from checker.load.build import Profile
from checker.load.model import Load
from checker.load.names import lost_names
from checker.logs.columns import data_path
from checker.logs.decode import Figures
from checker.logs.model import Column, Refused
from checker.rulebooks.model import Rulebooks
from checker.rulebooks.unread_jurisdictions import county_problems
from checker.season.hauls.chunk import Chunk, Labels
from checker.season.hauls.days import turning_days
from checker.season.hauls.haul_values import HaulValues, ImplausibleCases
from checker.season.hauls.identity import is_only_a_name
from checker.season.hauls.profile_figures import (
    AS_PROFILED,
    SCALED,
    ProfileFigures,
    fill_figures,
)
from checker.season.hauls.same_shape import SameShape
from checker.season.hauls.saved_profiles import departures, saved_alone, saved_profiles
from checker.season.hauls.stated import Stated
from checker.season.hauls.table import Table
from checker.units.arithmetic import Number

_NO_SUCH_FIELD: Final = (
    "found a column for a field that this load does not have; wanted one of its fields"
)


class Grouping:
    """Groups the hauls of some loads of the same shape into chunks."""

    def __init__(
        self,
        loads: SameShape,
        rulebooks: Sequence[Rulebooks],
        profile_of: Callable[[str], Profile],
    ) -> None:
        """Group hauls of these loads for some sets of rulebooks.

        `profile_of` returns the profile of a load by its name.
        """
        self.same_shape = loads
        self.profile_of = profile_of
        self.rulebooks = rulebooks
        self.profiles = ProfileFigures(loads)
        self._overlaid: dict[str, Profile | str] = {}
        """Profiles with the values that hauls state in place of theirs, or the problems of that."""
        self._faults_of_names: dict[tuple[str, int], str] = {}
        self._turns_by_years: dict[tuple[int, int, bool], NDArray[np.int64]] = {}
        self._implausible: dict[tuple[str, date], ImplausibleCases] = {}

    def chunks(self, table: Table, load_of: NDArray[np.intp]) -> Iterator[Chunk | Refused]:
        """The hauls in chunks, and those that cannot be checked as Refused.

        `load_of` holds for each haul the index of its load in `same_shape.loads`.
        """
        table, kinds = fill_figures(table, self.profiles, load_of)
        keys, key_of = self._keys_of_hauls(table, kinds)
        lost = self._lost_fields(table, kinds)
        is_lost = np.zeros(len(table), dtype=bool)
        is_lost[list(lost)] = True
        for index, fields in sorted(lost.items()):
            reasons = (f"{each}: {_NO_SUCH_FIELD}" for each in fields)
            yield Refused(int(table.rows[index]), "; ".join(reasons))
        for number, key in enumerate(keys):
            rows = np.flatnonzero((key_of == number) & ~is_lost)
            if rows.size:
                yield from self._chunks_of_key(table.take(rows), load_of[rows], key)

    def scaled_by_only_haul(self, table: Table) -> dict[DataPath, str]:
        """The axle weights that follow the weight which the only haul of a table states."""
        table, kinds = fill_figures(table, self.profiles, np.zeros(1, dtype=np.intp))
        (key,), _ = self._keys_of_hauls(table, kinds)
        stated = self._stated(table, key)
        return {
            path: str(text) for path, text in stated.texts_of(0).items() if path in stated.scaled
        }

    def _keys_of_hauls(
        self, table: Table, kinds: NDArray[np.uint8]
    ) -> tuple[list[list[int]], NDArray[np.intp]]:
        """The distinct keys of hauls, and the index of each haul's key.

        A key is a day that represents its period, then the kind of each figure, then the code of
        each word that a rule may read.
        """
        states_places = any(column.field == "trip.places" for column in table.heading.columns)
        days = self._representative_days(table.days, states_places=states_places)
        codes = table.records["words"][:, [index for index, _ in _words_for_rules(table)]]
        return _combine([days, *kinds.T, *codes.T])

    def _lost_fields(self, table: Table, kinds: NDArray[np.uint8]) -> dict[int, list[str]]:
        """By index of the haul, the fields that it states and its load does not have."""
        states = np.hstack([kinds != AS_PROFILED, table.records["words"] != 0])
        lost: dict[int, list[str]] = {}
        for column, hauls in zip(table.heading.columns, states.T, strict=True):
            if not self.profiles[column].exists:
                for index in np.flatnonzero(hauls).tolist():
                    lost.setdefault(index, []).append(column.field)
        return lost

    def _chunks_of_key(
        self, table: Table, load_of: NDArray[np.intp], key: Sequence[int]
    ) -> Iterator[Chunk | Refused]:
        """The chunks and refused hauls of one key.

        With too many tolerances to check all corners, each haul has its own chunk.
        """
        stated = self._stated(table, key)
        overlaid = self._overlay(stated)
        if isinstance(overlaid, str):
            yield from (Refused(row, overlaid) for row in table.rows.tolist())
            return
        on = date.fromordinal(key[0])
        if (stated.signature, on) not in self._implausible:
            unmarked = self.rulebooks[-1].unmarked_on(on, overlaid.stated.trip.places)
            self._implausible[stated.signature, on] = ImplausibleCases(
                overlaid, stated, self.same_shape.own, unmarked
            )
        implausible = self._implausible[stated.signature, on]
        columns = {**self._own_figures(stated, load_of), **stated.figures}
        hauls = HaulValues(overlaid, columns)
        faults = self._unknown_names(overlaid, stated, load_of)
        for index, reason in implausible.refused(hauls, len(load_of)).items():
            faults[index] = f"{faults[index]}; {reason}" if index in faults else reason
        # Only if all names are known: pulls are computed from the points that names stand for.
        faults = faults or _wrong_pulls(overlaid, columns)
        if faults:
            yield from (Refused(int(table.rows[index]), faults[index]) for index in sorted(faults))
            sound = np.delete(np.arange(len(table)), list(faults))
            if sound.size:
                yield from self._chunks_of_key(table.take(sound), load_of[sound], key)
            return
        labels, label_of, loads_of_labels = self._labels(table, load_of, stated)
        present, saved_of = np.unique(loads_of_labels, return_inverse=True)
        doubtful = implausible.doubtful(hauls, len(load_of))
        chunk = Chunk(
            profile=overlaid,
            loads=labels,
            load_of=label_of,
            on=on,
            rows=table.rows,
            days=table.days,
            crews=table.crews.names,
            crew_of=table.crews.codes,
            columns=columns,
            doubtful=doubtful,
            doubt_words=implausible.doubt_words(hauls, doubtful, table.rows),
            departs=departures(stated, self.profiles, load_of),
            saved=saved_profiles(self.same_shape, present, on),
            saved_of=saved_of,
        )
        if not chunk.has_chosen_corners:
            yield chunk
            return
        for row, index in enumerate(load_of.tolist()):
            load = self.same_shape.loads[index]
            yield replace(
                chunk.take(slice(row, row + 1)),
                profile=self.profile_of(load.name).replaced(stated.texts_of(row)),
                columns={},
                saved=saved_alone(self.profile_of(load.name), load.labels({}), on),
                saved_of=np.zeros(1, dtype=np.intp),
            )

    def _labels(
        self, table: Table, load_of: NDArray[np.intp], stated: Stated
    ) -> tuple[list[Labels], NDArray[np.intp], list[int]]:
        """The distinct labels of some hauls, the index of each haul's, and the load of each label.

        What only names a trailer or a machine differs from haul to haul without another chunk.
        """
        named = {
            data_path(column.field): table.words(index)
            for index, (column, _) in enumerate(table.heading.words)
            if is_only_a_name(data_path(column.field))
        }
        keys, label_of = _combine([load_of, *(words.codes for words in named.values())])
        labels = []
        for load, *codes in keys:
            words = {
                path: words.names[code]
                for (path, words), code in zip(named.items(), codes, strict=True)
                if code
            }
            labels.append(self.same_shape.loads[load].labels({**stated.words, **words}))
        return labels, label_of, [load for load, *_ in keys]

    def _stated(self, table: Table, key: Sequence[int]) -> Stated:
        """The values that the hauls of one key state in place of the profiles'."""
        heading = table.heading
        kinds, codes = key[1 : 1 + len(heading.figures)], key[1 + len(heading.figures) :]
        is_blank = np.isnan(table.records["values"]).all(axis=0).tolist()
        columns = {
            data_path(column.field): (column, kind)
            for column, kind, blank in zip(heading.figures, kinds, is_blank, strict=True)
            if not (blank or kind & AS_PROFILED)
        }
        words = {
            data_path(column.field): names[code]
            for (_, (column, names)), code in zip(_words_for_rules(table), codes, strict=True)
            if code
        }
        like = {path: kind for path, (_, kind) in columns.items()}
        return Stated(
            words=words,
            columns={path: column for path, (column, _) in columns.items()},
            figures={path: table.figures(column) for path, (column, _) in columns.items()},
            scaled={path for path, kind in like.items() if kind & SCALED},
            signature=repr((words, like)),
        )

    def _overlay(self, stated: Stated) -> Profile | str:
        """The profile with the values that hauls state, or the problems of that as text.

        The numbers need no check here: the schema was applied when their columns were read.
        """
        if stated.signature not in self._overlaid:
            overlaid = self.same_shape.profile.replaced(stated.texts())
            problems = validate(Document("", overlaid.merged.data, {}, {}), wanted_kind="load")
            self._overlaid[stated.signature] = (
                "; ".join(each.words for each in problems) or overlaid
            )
        return self._overlaid[stated.signature]

    def _unknown_names(
        self, overlaid: Profile, stated: Stated, load_of: NDArray[np.intp]
    ) -> dict[int, str]:
        """By index, the hauls that use unknown names, and the reason."""
        faults: dict[int, str] = {}
        for index in np.unique(load_of).tolist():
            if (stated.signature, index) not in self._faults_of_names:
                problems = self._name_problems(overlaid, stated, index)
                self._faults_of_names[stated.signature, index] = "; ".join(problems)
            if reason := self._faults_of_names[stated.signature, index]:
                faults |= dict.fromkeys(np.flatnonzero(load_of == index).tolist(), reason)
        return faults

    def _name_problems(self, overlaid: Profile, stated: Stated, index: int) -> Iterator[str]:
        load = self.same_shape.loads[index]
        if stated.words:
            # Tiedowns may name an article by its title, and titles may differ within a shape.
            titles = {
                path: title
                for path, title in load.things.words.items()
                if path[0] == "articles" and path[-1] == "title"
            }
            merged = overlaid.replaced({**titles, **stated.words}).merged
            yield from (problem.words for problem in lost_names(merged))
        counties = [list(county_problems(overlaid.merged, each)) for each in self.rulebooks]
        at = "" if ("trip", "places") in stated.words else f"{load.file}: "
        if all(counties):
            yield from (f"{at}{problem.words}" for problem in counties[-1])

    def _own_figures(self, stated: Stated, load_of: NDArray[np.intp]) -> dict[DataPath, Figures]:
        """The figures in which the loads differ and that hauls do not state; one row a haul."""
        return {
            path: each.take(load_of)
            for path, each in self.same_shape.own.items()
            # If hauls state a whole list, nothing of the profile's list applies.
            if path not in stated.figures and stated.words.keys().isdisjoint(_enclosing(path))
        }

    def _representative_days(
        self, days: NDArray[np.int64], *, states_places: bool
    ) -> NDArray[np.int64]:
        """For each day the day that represents its period of unchanged rules.

        The first day of the period, and of the one before the first change the last day.
        """
        if not len(days):
            return days
        years = (date.fromordinal(int(day)).year for day in (days.min(), days.max()))
        turns = self._turns(*years, anywhere=states_places)
        if not len(turns):
            return np.full_like(days, date(2000, 1, 1).toordinal())
        represent = np.append(turns[0] - 1, turns)
        found: NDArray[np.int64] = represent[np.searchsorted(turns, days, side="right")]
        return found

    def _turns(self, first: int, last: int, *, anywhere: bool) -> NDArray[np.int64]:
        """The days on which rules change that may apply where the loads go, or anywhere.

        Of rules that change each year, those around the years from the first to the last.
        """
        key = (first, last, anywhere)
        if key not in self._turns_by_years:
            places = None if anywhere else self._load.trip.places
            span = date(first, 1, 1), date(last, 12, 31)
            days = {
                day.toordinal()
                for each in self.rulebooks
                for day in turning_days(each, places, span=span)
            }
            self._turns_by_years[key] = np.array(sorted(days), dtype=np.int64)
        return self._turns_by_years[key]

    @cached_property
    def _load(self) -> Load:
        """The first load as stated."""
        return self.same_shape.profile.load({})


def _words_for_rules(table: Table) -> list[tuple[int, tuple[Column, Sequence[Any]]]]:
    """The columns of words, with their index, that are more than a name to count hauls by."""
    return [
        (index, words)
        for index, words in enumerate(table.heading.words)
        if not is_only_a_name(data_path(words[0].field))
    ]


def _enclosing(path: DataPath) -> Iterator[DataPath]:
    """The paths of all sections and lists that contain a field."""
    return (path[:depth] for depth in range(len(path)))


def _wrong_pulls(overlaid: Profile, columns: Mapping[DataPath, Figures]) -> dict[int, str]:
    """By index, the hauls with a tiedown whose stated pull contradicts its points, and why."""
    if not any(path[-1:] == ("pulls",) for path in overlaid.merged.locations):
        return {}
    faults: dict[int, list[str]] = {}
    load = overlaid.load({path: _plain(column.values) for path, column in columns.items()})
    for index, problem in pull_problems(load):
        faults.setdefault(index, []).append(problem.words)
    return {index: "; ".join(reason) for index, reason in faults.items()}


def _plain(values: NDArray[np.float64]) -> Number:
    """The values; a plain number if there is only one, as in a load of one row."""
    return values if values.size > 1 else float(values[0])


def _combine(features: Sequence[NDArray[Any]]) -> tuple[list[list[int]], NDArray[np.intp]]:
    """The distinct combinations of values over all arrays, and the index of each haul's."""
    kinds = np.zeros(len(features[0]), dtype=np.intp)
    first = np.zeros(1, dtype=np.intp)
    for like in features:
        if (like != like[0]).any():
            several, codes = np.unique(like, return_inverse=True)
            _, first, kinds = np.unique(
                kinds * len(several) + codes, return_index=True, return_inverse=True
            )
    return [[int(like[row]) for like in features] for row in first.tolist()], kinds
