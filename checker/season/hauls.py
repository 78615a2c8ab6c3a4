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
from checker.logs.cells import stated, translate, words_for
from checker.logs.columns import data_path
from checker.logs.model import OF_THE_HAUL, Batch, Log, LogMapping, Refused
from checker.logs.remarks import Remarks
from checker.season.chunk import Labels
from checker.season.loads import Loads
from checker.season.reading import read_rows
from checker.season.same_shape import LoadSummary
from checker.season.table import Table

_NUMBER: Final = re.compile(r"[0-9]+(?:\.[0-9]+)?(?:e[-+]?[0-9]+)?")


@dataclass(frozen=True, slots=True)
class Haul:
    """A load profile with the values that a row of the log states; `row` is its number.

    An audit counts it by `labels`.
    """

    row: int
    profile: Profile
    on: date
    labels: Labels


def read_hauls(
    log: Log, loads: Loads, wanted_rows: Collection[int] | None = None
) -> list[Haul | Refused]:
    """The wanted rows, or all rows, in order: each as a haul, or refused with a reason.

    Rows are interpreted as in an audit. Raises ProblemsFoundError if the log cannot be read.
    """
    found: list[Haul | Refused] = []
    remarks = Remarks()
    for part in log.parts:
        rows = read_rows(part, log.mapping)
        remarks.merge(rows.remarks)
        found += [each for each in rows.refused if wanted_rows is None or each.row in wanted_rows]
        for index in rows.sound.tolist():
            if wanted_rows is None or rows.table.rows[index] in wanted_rows:
                texts = dict(_texts(rows.batch, log.mapping, index))
                load = loads.load(rows.loads.names[rows.loads.codes[index]])
                found.append(_read_haul(log.file, rows.table.take([index]), texts, load, loads))
    remarks.refuse_contradicted(log.file)
    return sorted(found, key=lambda each: each.row)


def _texts(batch: Batch, mapping: LogMapping, index: int) -> Iterator[tuple[DataPath, Any]]:
    """The values that a row states, by path in the profile."""
    for column in batch.columns:
        if column.role not in OF_THE_HAUL:
            cell = translate(batch.cells[column.field][index], words_for(column, mapping))
            if cell is not None:
                yield data_path(column.field), stated(column, cell)


def _read_haul(
    log: str, table: Table, texts: dict[DataPath, Any], load: LoadSummary | str, loads: Loads
) -> Haul | Refused:
    row = int(table.rows[0])
    if isinstance(load, str):
        return Refused(row, load)
    grouping = loads.grouping((load.name,))
    (chunk,) = grouping.chunks(table, np.zeros(1, dtype=np.intp))
    if isinstance(chunk, Refused):
        return chunk
    # Twelve digits are readable, and more exact than any comparison needs.
    scaled = {
        path: _NUMBER.sub(_twelve_digits, text)
        for path, text in grouping.scaled_by_only_haul(table).items()
        # A row that leaves the weight blank scales nothing.
        if (*path[:2], "weight") in texts
    }
    profile = grouping.profile_of(load.name).replaced({**texts, **scaled})
    at = escaped(log), Mark(row, 1)
    locations = {
        below: at
        for path, text in texts.items()
        for below in (path, *_paths_of_entries(path, text))
    }
    remarks = dict.fromkeys(scaled, f"scaled with the weight in row {row}")
    merged = profile.merged
    merged = replace(merged, locations={**merged.locations, **locations}, remarks=remarks)
    on = date.fromordinal(int(table.days[0]))
    (labels,) = chunk.loads
    return Haul(row, replace(profile, merged=merged, file=Path(f"{log}:{row}")), on, labels)


def _twelve_digits(number: re.Match[str]) -> str:
    return f"{float(number[0]):.12g}"


def _paths_of_entries(path: DataPath, text: Any) -> Iterator[DataPath]:
    """The paths of all entries, if the value is a list."""
    return ((*path, index) for index in range(len(text) if isinstance(text, list) else 0))
