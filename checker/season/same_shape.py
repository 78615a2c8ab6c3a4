"""Loads of the same shape: their profiles state the same but for figures and titles.

A fleet has many such loads, the same kind of machine on the same kind of trailer. What is judged of
the hauls of one in an array is judged of the hauls of all of them in one.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from hashlib import blake2b
from typing import Any

import numpy as np
from numpy.typing import NDArray

from checker.documents.problems import DataPath
from checker.documents.schemas import definition, resolved
from checker.load.build import MOST_CORNERED, Profile, shown_path
from checker.load.convert import chosen, model_fields
from checker.load.model import TowVehicle, Trailer
from checker.load.names import article_name
from checker.season.chunk import Labels, Varied
from checker.units.parsing import Quantity


@dataclass(frozen=True, slots=True)
class LoadSummary:
    """A load of the log; loads of one `pattern` have the same shape.

    A fleet has thousands: of the profile only what differs among those of one shape is held.
    """

    name: str
    file: str
    pattern: str
    paths: Sequence[DataPath]
    """Of all figures, and those and the half-widths of their tolerances, in N, m, s and rad."""
    values: NDArray[np.float64]
    halves: NDArray[np.float64]
    titles: Mapping[DataPath, str]
    digests: Mapping[str, str]
    """Of the text, as it was read, of every file that the profile rests on."""

    def labels(self, words: Mapping[DataPath, Any]) -> Labels:
        """What its hauls are counted by, where those state such words over the profile."""
        told = {**self.titles, **words}
        places = dict.fromkeys(path[1] for path in told if path[0] == "articles" and len(path) > 1)
        articles = [
            {key: told.get(("articles", place, key)) for key in ("name", "title")}
            for place in sorted(place for place in places if isinstance(place, int))
        ]
        machines = (
            str(each["title"] or article_name(each, place)) for place, each in enumerate(articles)
        )
        return Labels(
            load=self.name,
            title=told.get(("title",), ""),
            trailer=told.get(("trailer", "title"), Trailer().title),
            machines=tuple(dict.fromkeys(machines)),
            tow_vehicle=told.get(("tow_vehicle", "title"), TowVehicle().title),
        )


def summary_of(name: str, profile: Profile, digests: Mapping[str, str]) -> LoadSummary:
    """A load with its pattern."""
    data: Any = profile.merged.data
    figures = profile.figures
    # Not even the hauls of one such load can be judged together.
    alone = len(profile.tolerances) > MOST_CORNERED
    stated = _pattern(data, definition("load"), (), figures)
    pattern = repr([name if alone else "", list(_names(data)), *stated])
    return LoadSummary(
        name=name,
        file=shown_path(profile.file),
        pattern=blake2b(pattern.encode(), digest_size=8).hexdigest(),
        paths=tuple(figures),
        values=np.array([figure.value for figure in figures.values()]),
        halves=np.array([figure.half_width for figure in figures.values()]),
        titles=dict(_titles(data)),
        digests=digests,
    )


def _titles(data: Any) -> Iterator[tuple[DataPath, str]]:
    """Names and titles; of an article also that there is none."""
    if "title" in data:
        yield ("title",), data["title"]
    for part in ("trailer", "tow_vehicle"):
        if "title" in data.get(part, {}):
            yield (part, "title"), data[part]["title"]
    for place, article in enumerate(data.get("articles", ())):
        for key in ("name", "title"):
            yield ("articles", place, key), article.get(key, "")


def _names(data: Any) -> Iterator[str]:
    """What tiedowns know each article by, if they name any: it may be a title."""
    if any("article" in tiedown for tiedown in data.get("tiedowns", ())):
        for place, article in enumerate(data.get("articles", ())):
            yield article_name(article, place)


def _pattern(
    data: Any, node: Mapping[str, Any], path: DataPath, figures: Mapping[DataPath, Quantity]
) -> Iterator[Any]:
    """All that the model holds of a profile, in place of figures what they are like."""
    node = chosen(resolved(node), data)
    if isinstance(data, dict):
        yield "{"
        for key, value, below in model_fields(data, node):
            # No rule looks at titles; those that stand for names are told beside.
            if key != "title" or isinstance(value, dict):
                yield key
                yield from _pattern(value, below, (*path, key), figures)
        yield "}"
    elif isinstance(data, list):
        yield "["
        for index, value in enumerate(data):
            yield from _pattern(value, node["items"], (*path, index), figures)
        yield "]"
    elif path in figures:
        yield figures[path].metric, figures[path].half_width > 0
    else:
        yield data


@dataclass(frozen=True, slots=True)
class SameShape:
    """Some loads of one pattern, and the profile of one of them, which stands for all.

    `own` are the figures in which they differ, one row a load.
    """

    loads: Sequence[LoadSummary]
    profile: Profile
    own: Mapping[DataPath, Varied]


def of_one_shape(loads: Sequence[LoadSummary], profile: Profile) -> SameShape:
    """Loads put together; they have the same pattern."""
    values = np.array([load.values for load in loads])
    halves = np.array([load.halves for load in loads])
    differ = ((values != values[0]) | (halves != halves[0])).any(axis=0)
    return SameShape(
        loads,
        profile,
        {
            loads[0].paths[place]: Varied(
                values[:, place], halves[:, place] if halves[0, place] else None
            )
            for place in np.flatnonzero(differ).tolist()
        },
    )
