"""Loads with a row for each plan: articles moved, tiedowns of the gear run from point to anchor."""

from collections.abc import Iterator, Mapping, Sequence
from itertools import product
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
from msgspec.structs import replace
from numpy.typing import NDArray

from checker.advice.arrange.blocking import statements
from checker.advice.arrange.choices import NOT_OF_THE_LABEL, Choices, length_text
from checker.advice.arrange.front_structure import answers
from checker.advice.arrange.places import FACINGS, Indices, Places
from checker.load.build import MOST_CORNERED, Profile
from checker.load.model import Attachment, Load, Tiedown

if TYPE_CHECKING:
    from checker.documents.problems import DataPath
    from checker.units.arithmetic import Number

_WORDS_OF_A_LABEL = ("device", "grade", "hooks_grade", "tensioner_grade")


class Plans(NamedTuple):
    """Plans, one a row: how everything stands, and its tiedowns as arrays (rows, tiedowns)."""

    places: Places
    courses: Indices
    kinds: Indices

    @property
    def size(self) -> int:
        """How many rows there are."""
        return len(self.courses)

    @property
    def pieces(self) -> int:
        """How many tiedowns each of them has."""
        return int(self.courses.shape[1])

    def take(self, rows: Any) -> "Plans":
        """Some of the rows."""
        return Plans(self.places.take(rows), self.courses[rows], self.kinds[rows])


class PlanRows:
    """Makes the loads of plans. Plans whose words are equal, but for names, are rows of one load.

    Facts compute with figures that vary by row, and with words that do not: the way an article
    faces, how a tiedown runs, what it is made of, to what part it hooks.
    """

    def __init__(self, choices: Choices) -> None:
        """Read the figures of every anchor, point and kind of gear once."""
        self.choices = choices
        load = choices.load
        anchors = {each.name: each for each in load.trailer.anchors}
        self._anchors = _Figures(
            [anchors[each.anchor] for each in choices.courses],
        )
        self._far = _Figures([anchors.get(each.far_anchor or "") for each in choices.courses])
        points = [{each.name: each for each in article.attachments} for article in load.articles]
        most = max(len(each.points) for each in choices.courses)
        self._points = [
            _Figures(
                [
                    points[each.article][each.points[index]] if index < len(each.points) else None
                    for each in choices.courses
                ]
            )
            for index in range(most)
        ]
        self._labels = _Figures(self._tiedowns_of_each_kind(), without=NOT_OF_THE_LABEL)
        self._course_shapes = _shapes(
            (
                each.article,
                each.path,
                len(each.points),
                *(points[each.article][name].part for name in each.points),
            )
            for each in choices.courses
        )
        self._kind_shapes = _shapes(
            tuple(
                str(kind.label.get(word)) if word in _WORDS_OF_A_LABEL else word in kind.label
                for word in (*_WORDS_OF_A_LABEL, "nominal_strength", "thickness", "unmarked")
            )
            for kind in choices.kinds
        )
        self._templates: dict[Any, Profile] = {}

    def _tiedowns_of_each_kind(self) -> tuple[Tiedown, ...]:
        entries = [
            {**kind.label, "article": self.choices.load.articles[0].name}
            for kind in self.choices.kinds
        ]
        return self.choices.profile.replaced({("tiedowns",): entries}).stated.tiedowns or ()

    def loads(self, plans: Plans) -> Iterator[tuple[Load, Indices]]:
        """The loads of the plans, each with the rows of the plans that are its rows."""
        if not plans.size:
            return
        shapes = self._course_shapes[plans.courses] * len(self._kind_shapes)
        shapes += self._kind_shapes[plans.kinds]
        # The order of tiedowns means nothing, so that of their shapes makes fewer loads.
        by_shape = np.argsort(shapes, axis=1, kind="stable")
        plans = plans._replace(
            courses=np.take_along_axis(plans.courses, by_shape, axis=1),
            kinds=np.take_along_axis(plans.kinds, by_shape, axis=1),
        )
        shapes = np.take_along_axis(shapes, by_shape, axis=1)
        key = np.concatenate([plans.places.facings, shapes], axis=1)
        _, first, group = np.unique(key, axis=0, return_index=True, return_inverse=True)
        for number, representative in enumerate(first.tolist()):
            rows = np.flatnonzero(group.reshape(-1) == number)
            shape = key[representative].tobytes(), plans.pieces
            if shape not in self._templates:
                self._templates[shape] = self.profile_of(plans, representative)
            yield self._load(self._templates[shape], plans.take(rows)), rows

    def profile_of(self, plans: Plans, row: int) -> Profile:
        """The profile of one plan, with the anchors and points of its own."""
        choices = self.choices
        texts: dict[DataPath, Any] = {}
        for index, article in enumerate(choices.load.articles):
            at: DataPath = ("articles", index, "placed")
            texts[(*at, "facing")] = FACINGS[plans.places.facings[row, index]]
            for axis, values in (("x", plans.places.x), ("y", plans.places.y)):
                value = float(values[row, index])
                if value != float(getattr(article.placed, axis)):
                    _, half = choices.profile.tolerances.get((*at, axis), (0.0, 0.0))
                    texts[(*at, axis)] = length_text(value, choices.step, half)
        for path, yes in answers(choices.profile, plans.places.take([row])):
            texts[path] = "yes" if yes[0] else "no"
        texts.update(statements(choices, plans.places.facings[row].tolist()))
        texts[("tiedowns",)] = [
            self.entry(course, kind)
            for course, kind in zip(
                plans.courses[row].tolist(), plans.kinds[row].tolist(), strict=True
            )
        ]
        return choices.profile.replaced(texts)

    def entry(self, course: int, kind: int) -> dict[str, Any]:
        """The data of one tiedown, as a profile has it."""
        runs = self.choices.courses[course]
        found = {**self.choices.kinds[kind].label, "anchor": runs.anchor, "path": runs.path}
        if len(self.choices.load.articles) > 1:
            found["article"] = self.choices.load.articles[runs.article].name
        if runs.path == "direct":
            found["attachment"] = runs.points[0]
        else:
            found |= {"far_anchor": runs.far_anchor, "over": list(runs.points)}
        return found | dict(self.choices.answers)

    def _load(self, template: Profile, plans: Plans) -> Load:
        """The load of plans of one shape, made from the profile of one of them.

        Row c * plans + p is corner c of the tolerances of plan p.
        """
        signs = self.signs(template)
        corners, count = len(signs), plans.size

        def column(values: NDArray[Any]) -> NDArray[Any]:
            return np.tile(values, corners)

        values: dict[DataPath, Number] = {
            ("articles", index, "placed", axis): column(rows[:, index])
            for index in range(len(self.choices.load.articles))
            for axis, rows in (("x", plans.places.x), ("y", plans.places.y))
        }
        for path, yes in answers(self.choices.profile, plans.places):
            values[path] = column(yes.astype(float))
        for index, (path, (value, half)) in enumerate(_kept_tolerances(template).items()):
            spread = np.repeat(half * signs[:, index], count)
            values[path] = values.get(path, value) + spread
        load = template.load(values)
        tiedowns = tuple(
            self._tiedown(each, column(plans.courses[:, slot]), column(plans.kinds[:, slot]))
            for slot, each in enumerate(load.tiedowns or ())
        )
        return replace(load, tiedowns=tiedowns)

    @staticmethod
    def signs(profile: Profile) -> NDArray[np.float64]:
        """The corners of the tolerances that every plan keeps, as signs, after the row as stated.

        With too many for all corners, each tolerance is moved to both its ends alone.
        """
        ends = len(_kept_tolerances(profile))
        if not ends:
            return np.zeros((1, 0))
        if ends > MOST_CORNERED:
            return np.concatenate([np.zeros((1, ends)), np.eye(ends), -np.eye(ends)])
        every = np.array(list(product((-1.0, 1.0), repeat=ends)))
        return np.concatenate([np.zeros((1, ends)), every])

    def _tiedown(self, each: Tiedown, courses: Indices, kinds: Indices) -> Tiedown:
        passed = [
            self._points[index].put(point, courses) for index, point in enumerate(_points_of(each))
        ]
        direct = each.path == "direct"
        found: Tiedown = self._labels.put(
            replace(
                each,
                anchor=self._anchors.put(each.anchor, courses),
                far_anchor=None if direct else self._far.put(each.far_anchor, courses),
                attachment=passed[0] if direct else None,
                over=() if direct else tuple(passed),
            ),
            kinds,
        )
        return found


def _kept_tolerances(profile: Profile) -> Mapping["DataPath", tuple[float, float]]:
    """Its tolerances but for those of its tiedowns, which differ from plan to plan."""
    return {path: ends for path, ends in profile.tolerances.items() if path[0] != "tiedowns"}


def _points_of(tiedown: Tiedown) -> Sequence[Attachment | None]:
    return [tiedown.attachment] if tiedown.path == "direct" else tiedown.over


class _Figures:
    """The numbers of records of one type, as columns by field."""

    def __init__(self, records: Sequence[Any], without: Sequence[str] = ()) -> None:
        known = next((each for each in records if each is not None), None)
        names = known.__struct_fields__ if known is not None else ()
        self._columns: dict[str, NDArray[np.float64]] = {}
        for name in (each for each in names if each not in without):
            column = [np.nan if each is None else getattr(each, name) for each in records]
            if all(isinstance(value, float) for value in column):
                self._columns[name] = np.array(column)

    def put(self, record: Any, rows: Indices) -> Any:
        """The record with its numbers from the given records, one a row."""
        taken = {name: column[rows] for name, column in self._columns.items()}
        return replace(
            record,
            **{
                name: column if (column != column[0]).any() else float(column[0])
                for name, column in taken.items()
            },
        )


def _shapes(words: Any) -> Indices:
    """A number for each, equal for equal ones."""
    known: dict[Any, int] = {}
    return np.array([known.setdefault(each, len(known)) for each in words], dtype=np.intp)
