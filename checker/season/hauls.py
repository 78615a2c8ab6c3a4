"""Hauls of a log as whole profiles: the load, and what its row states over it."""

import re
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any, Final

import numpy as np
from msgspec.structs import replace

from checker.documents.escaping import escaped
from checker.documents.problems import DataPath, Mark
from checker.load.build import Profile
from checker.season.grouping import Grouping
from checker.season.loads import Loads
from checker.season.logs.model import Log, Refused
from checker.season.reading import read_rows
from checker.season.same_shape import LoadSummary
from checker.season.stated import Stated
from checker.season.table import Table

_NUMBER: Final = re.compile(r"[0-9]+(?:\.[0-9]+)?(?:e[-+]?[0-9]+)?")


@dataclass(frozen=True, slots=True)
class Haul:
    """A load profile with what differed that day; `row` is where it stands in the log."""

    row: int
    profile: Profile
    on: date


def read_hauls(
    log: Log, loads: Loads, wanted: Collection[int] | None = None
) -> list[Haul | Refused]:
    """The wanted rows, or all, in order: each as a haul or with the reason why it is none.

    What a row means is decided as in an audit. Raises ProblemsFoundError where the log turns out to
    be unreadable.
    """
    found: list[Haul | Refused] = []
    of_load: dict[str, list[Table]] = {}
    for part in log.parts:
        rows = read_rows(part, log.own)
        found += [each for each in rows.refused if wanted is None or each.row in wanted]
        for index in rows.sound.tolist():
            if wanted is None or rows.table.rows[index] in wanted:
                name = rows.loads.names[rows.loads.codes[index]]
                of_load.setdefault(name, []).append(rows.table.of([index]).without_blanks)
    for name, tables in of_load.items():
        load = loads.load(name)
        found += [_haul(log.file, table, load, loads) for table in tables]
    return sorted(found, key=lambda each: each.row)


def _haul(log: str, table: Table, load: LoadSummary | str, loads: Loads) -> Haul | Refused:
    row = int(table.rows[0])
    if isinstance(load, str):
        return Refused(row, load)
    grouping = loads.grouping((load.name,))
    (judged,) = grouping.chunks(table, np.zeros(1, dtype=np.intp))
    if isinstance(judged, Refused):
        return judged
    profile = _laid_over(grouping, grouping.stated_alone(table), (escaped(log), Mark(row, 1)))
    return Haul(
        row, replace(profile, file=Path(f"{log}:{row}")), date.fromordinal(int(table.days[0]))
    )


def _laid_over(grouping: Grouping, stated: Stated, row: tuple[str, Mark]) -> Profile:
    """The profile of the only load with what a haul states; each value stands at its place."""
    texts = stated.texts_of(0)
    # To be read by people, and closer than comparisons look.
    texts |= {path: _NUMBER.sub(_twelve_digits, texts[path]) for path in stated.scaled}
    profile = grouping.profile_of(grouping.same_shape.loads[0].name).replaced(texts)
    places = {
        at: row
        for path, text in texts.items()
        if path not in stated.scaled
        for at in (path, *_entries(path, text))
    }
    remarks = dict.fromkeys(stated.scaled, f"scaled with the weight in row {row[1].line}")
    merged = profile.merged
    return replace(
        profile, merged=replace(merged, places={**merged.places, **places}, remarks=remarks)
    )


def _twelve_digits(number: re.Match[str]) -> str:
    return f"{float(number[0]):.12g}"


def _entries(path: DataPath, text: Any) -> Iterator[DataPath]:
    """The paths of the entries of a list."""
    return ((*path, index) for index in range(len(text) if isinstance(text, list) else 0))
