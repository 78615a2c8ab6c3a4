"""Loads that are kin: their profiles state the same and differ in their figures and titles alone.

A fleet has many such loads, the same kind of machine on the same kind of trailer. What is judged of
the hauls of one in an array is judged of the hauls of all of them in one.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from hashlib import blake2b
from typing import Any

import numpy as np

from checker.documents.problems import DataPath
from checker.documents.schemas import definition, resolved
from checker.load.build import MOST_CORNERED, Profile
from checker.load.convert import chosen, model_fields, quantities
from checker.load.model import TowVehicle, Trailer
from checker.load.names import article_name
from checker.season.chunk import Labels, Varied
from checker.units import Quantity, parse


@dataclass(frozen=True, slots=True)
class Known:
    """A load of the log: its profile and the figures there; loads of one `pattern` are kin."""

    name: str
    profile: Profile
    figures: Mapping[DataPath, Quantity]
    pattern: str
    digests: Mapping[str, str]
    """Of every file that the profile rests on."""

    def labels(self, words: Mapping[DataPath, Any]) -> Labels:
        """What its hauls are counted by, where those state such words over the profile."""
        data: Any = (self.profile.replaced(words) if words else self.profile).merged.data
        articles = enumerate(data.get("articles", ()))
        titles = [str(each.get("title") or article_name(each, place)) for place, each in articles]
        return Labels(
            load=self.name,
            trailer=data.get("trailer", {}).get("title", Trailer().title),
            machines=tuple(dict.fromkeys(titles)),
            tow_vehicle=data.get("tow_vehicle", {}).get("title", TowVehicle().title),
        )


def known(name: str, profile: Profile, digests: Mapping[str, str]) -> Known:
    """A load with its pattern."""
    data, node = profile.merged.data, definition("load")
    figures = {path: parse(text, kind) for path, text, kind in quantities(data, node, ())}
    # Not even the hauls of one such load can be judged together.
    alone = len(profile.tolerances) > MOST_CORNERED
    pattern = repr([name if alone else "", *_pattern(data, node, (), figures)])
    digest = blake2b(pattern.encode(), digest_size=8).hexdigest()
    return Known(name, profile, figures, digest, digests)


def _pattern(
    data: Any, node: Mapping[str, Any], path: DataPath, figures: Mapping[DataPath, Quantity]
) -> Iterator[Any]:
    """All that the model holds of a profile, in place of figures what they are like."""
    node = chosen(resolved(node), data)
    if isinstance(data, dict):
        yield "{"
        for key, value, below in model_fields(data, node):
            # No rule looks at titles.
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
class Kin:
    """Some loads of one pattern; `own` are the figures in which they differ, one row a load."""

    loads: Sequence[Known]
    own: Mapping[DataPath, Varied]

    @property
    def profile(self) -> Profile:
        """The profile of the first, which stands for all."""
        return self.loads[0].profile


def kin(loads: Sequence[Known]) -> Kin:
    """Loads put together; they have the same pattern."""
    own = {}
    for path, first in loads[0].figures.items():
        figures = [load.figures[path] for load in loads]
        if any(figure != first for figure in figures):
            halves = np.array([figure.half_width for figure in figures])
            values = np.array([figure.value for figure in figures])
            own[path] = Varied(values, halves if first.half_width else None)
    return Kin(loads, own)
