"""What load profiles state by themselves, beside what the rows of their hauls state."""

from collections.abc import Mapping
from datetime import date
from typing import Any

import numpy as np
from numpy.typing import NDArray

from checker.documents.problems import DataPath
from checker.evaluation.rule_rows import take
from checker.load.build import Profile
from checker.load.convert import field_path
from checker.season.hauls.chunk import Chunk, Labels
from checker.season.hauls.profile_figures import ProfileFigures
from checker.season.hauls.same_shape import SameShape
from checker.season.hauls.stated import Stated


def departures(
    stated: Stated, profiles: ProfileFigures, load_of: NDArray[np.intp]
) -> dict[str, NDArray[np.bool_]]:
    """By field, the hauls whose row states something else than their load profile."""
    found: dict[str, NDArray[np.bool_]] = {}
    for path, column in stated.columns.items():
        if path not in stated.scaled:
            values = stated.figures[path].values
            found[column.field] = (values != take(profiles[column].values, load_of)) & ~np.isnan(
                values
            )
    for path, word in stated.words.items():
        if _at(profiles.loads.profile, path) != word:
            found[field_path(path)] = np.ones(len(load_of), dtype=bool)
    return {field: hauls for field, hauls in found.items() if hauls.any()}


def _at(profile: Profile, path: DataPath) -> Any:
    """What a profile states at a path; None where it states nothing."""
    inside: Any = profile.merged.data
    for part in path:
        try:
            inside = inside[part]
        except (KeyError, IndexError, TypeError):
            return None
    return inside


def saved_profiles(loads: SameShape, present: NDArray[np.intp], on: date) -> Chunk:
    """Some of the loads of a shape as their profiles state them, for a day of the same rules."""
    labels = [loads.loads[index].labels({}) for index in present.tolist()]
    columns = {path: each.take(present) for path, each in loads.own.items()}
    return _chunk(loads.profile, labels, on, columns)


def saved_alone(profile: Profile, labels: Labels, on: date) -> Chunk:
    """A load whose hauls are evaluated one by one."""
    return _chunk(profile, [labels], on, {})


def _chunk(profile: Profile, labels: list[Labels], on: date, columns: Mapping[Any, Any]) -> Chunk:
    number = len(labels)
    return Chunk(
        profile=profile,
        loads=labels,
        load_of=np.arange(number),
        on=on,
        rows=np.zeros(number, dtype=np.int64),
        days=np.full(number, on.toordinal()),
        crews=[""],
        crew_of=np.zeros(number, dtype=np.intp),
        columns=columns,
    )
