"""Reads hauls of a log as complete profiles: the load profile with the values of its row."""

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
    """A load profile with the values that a row of the log states; `row` is its number."""

    row: int
    profile: Profile
    on: date


def read_hauls(
    log: Log, loads: Loads, wanted_rows: Collection[int] | None = None
) -> list[Haul | Refused]:
    """The wanted rows, or all rows, in order: each as a haul, or refused with a reason.

    Rows are interpreted as in an audit. Raises ProblemsFoundError if the log cannot be read.
    """
    found: list[Haul | Refused] = []
    of_load: dict[str, list[Table]] = {}
    for part in log.parts:
        rows = read_rows(part, log.mapping)
        found += [each for each in rows.refused if wanted_rows is None or each.row in wanted_rows]
        for index in rows.sound.tolist():
            if wanted_rows is None or rows.table.rows[index] in wanted_rows:
                name = rows.loads.names[rows.loads.codes[index]]
                of_load.setdefault(name, []).append(rows.table.take([index]).without_blanks)
    for name, tables in of_load.items():
        load = loads.load(name)
        found += [_read_haul(log.file, table, load, loads) for table in tables]
    return sorted(found, key=lambda each: each.row)


def _read_haul(log: str, table: Table, load: LoadSummary | str, loads: Loads) -> Haul | Refused:
    row = int(table.rows[0])
    if isinstance(load, str):
        return Refused(row, load)
    grouping = loads.grouping((load.name,))
    (chunk,) = grouping.chunks(table, np.zeros(1, dtype=np.intp))
    if isinstance(chunk, Refused):
        return chunk
    profile = _overlay(grouping, grouping.stated_by_only_haul(table), (escaped(log), Mark(row, 1)))
    return Haul(
        row, replace(profile, file=Path(f"{log}:{row}")), date.fromordinal(int(table.days[0]))
    )


def _overlay(grouping: Grouping, stated: Stated, row: tuple[str, Mark]) -> Profile:
    """The profile of the only load with the stated values, each with its row as location."""
    texts = stated.texts_of(0)
    # Twelve digits are readable, and more exact than any comparison needs.
    texts |= {path: _NUMBER.sub(_twelve_digits, texts[path]) for path in stated.scaled}
    profile = grouping.profile_of(grouping.same_shape.loads[0].name).replaced(texts)
    locations = {
        at: row
        for path, text in texts.items()
        if path not in stated.scaled
        for at in (path, *_paths_of_entries(path, text))
    }
    remarks = dict.fromkeys(stated.scaled, f"scaled with the weight in row {row[1].line}")
    merged = profile.merged
    return replace(
        profile,
        merged=replace(merged, locations={**merged.locations, **locations}, remarks=remarks),
    )


def _twelve_digits(number: re.Match[str]) -> str:
    return f"{float(number[0]):.12g}"


def _paths_of_entries(path: DataPath, text: Any) -> Iterator[DataPath]:
    """The paths of all entries, if the value is a list."""
    return ((*path, index) for index in range(len(text) if isinstance(text, list) else 0))
