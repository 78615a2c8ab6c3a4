"""Loads of the same shape: their profiles differ only in figures, titles and ids.

A fleet has many such loads: the same kind of machine on the same kind of trailer. The hauls of all
of them are evaluated together in one array.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from hashlib import blake2b
from typing import Any

import numpy as np
from numpy.typing import NDArray

from checker.documents.problems import DataPath
from checker.documents.schemas import definition
from checker.evaluation.rule_rows import collapse
from checker.load.build import MOST_CORNERED, Profile, shown_path
from checker.load.convert import fields_in
from checker.load.field_schemas import FieldSchema, field_schema
from checker.load.names import article_name
from checker.logs.decode import Figures
from checker.season.hauls.chunk import Labels, labels_of
from checker.season.hauls.identity import Things, things_of
from checker.season.hauls.profile_names import name_of
from checker.units.parsing import Quantity


@dataclass(frozen=True, slots=True)
class LoadSummary:
    """The parts of a load profile that differ within a shape; same `pattern`, same shape.

    A fleet has thousands of loads, so the rest of the profile is not stored.
    """

    name: str
    file: str
    pattern: str
    paths: Sequence[DataPath]
    """Paths of all figures; `values` and half-widths of tolerances are in N, m, s and rad."""
    values: NDArray[np.float64]
    halves: NDArray[np.float64]
    key: str
    """What tells its profile from others, however the log writes its name."""
    title: str
    things: Things
    digests: Mapping[str, str]
    """By file, a digest of the text of every file that the profile was read from."""
    uses: frozenset[str]
    """The same files as references name them."""

    def labels(self, words: Mapping[DataPath, Any]) -> Labels:
        """The labels that its hauls are counted by; `words` replace those of the profile."""
        title = words.get(("title",), self.title)
        return labels_of(self.key, self.name, title, self.things, self.uses, words)


def summary_of(name: str, profile: Profile, digests: Mapping[str, str]) -> LoadSummary:
    """The summary of a load profile."""
    data: Any = profile.merged.data
    figures = profile.figures
    # Not even the hauls of one such load can be evaluated together.
    alone = len(profile.tolerances) > MOST_CORNERED
    stated = _pattern(data, field_schema(definition("load")), (), figures)
    pattern = repr([name if alone else "", list(_names(data)), *stated])
    return LoadSummary(
        name=name,
        file=shown_path(profile.file),
        pattern=blake2b(pattern.encode(), digest_size=8).hexdigest(),
        paths=tuple(figures),
        values=np.array([figure.value for figure in figures.values()]),
        halves=np.array([figure.half_width for figure in figures.values()]),
        key=name_of(profile.file, profile.root),
        title=data.get("title", ""),
        things=things_of(profile),
        digests=digests,
        uses=profile.uses,
    )


def _names(data: Any) -> Iterator[str]:
    """The names by which tiedowns may refer to articles, if any does; may be titles."""
    if any("article" in tiedown for tiedown in data.get("tiedowns", ())):
        for index, article in enumerate(data.get("articles", ())):
            yield article_name(article, index)


def _pattern(
    data: Any, schema: FieldSchema, path: DataPath, figures: Mapping[DataPath, Quantity]
) -> Iterator[Any]:
    """All fields of a profile that the model reads, with the kind of each figure for its value."""
    if isinstance(data, dict):
        yield "{"
        for key, value, below in fields_in(data, schema):
            # No rule uses titles and ids; titles that serve as names are in `_names`.
            if key not in ("title", "id") or isinstance(value, dict):
                yield key
                yield from _pattern(value, below, (*path, key), figures)
        yield "}"
    elif isinstance(data, list):
        yield "["
        assert schema.others is not None
        for index, value in enumerate(data):
            yield from _pattern(value, schema.others, (*path, index), figures)
        yield "]"
    elif path in figures:
        yield figures[path].metric, figures[path].half_width > 0
    else:
        yield data


@dataclass(frozen=True, slots=True)
class SameShape:
    """Loads of one pattern, with the profile of one of them to represent all.

    `own` holds the figures in which they differ, one row for each load.
    """

    loads: Sequence[LoadSummary]
    profile: Profile
    own: Mapping[DataPath, Figures]


def combine_loads(loads: Sequence[LoadSummary], profile: Profile) -> SameShape:
    """Loads of one pattern as one SameShape; `profile` is that of one of them."""
    values = np.array([load.values for load in loads])
    halves = np.array([load.halves for load in loads])
    differ = ((values != values[0]) | (halves != halves[0])).any(axis=0)
    own: dict[DataPath, Figures] = {}
    for index in np.flatnonzero(differ).tolist():
        path = loads[0].paths[index]
        metric = np.array([bool(profile.figures[path].metric)])
        own[path] = Figures(values[:, index], collapse(halves[:, index]), metric)
    return SameShape(loads, profile, own)
