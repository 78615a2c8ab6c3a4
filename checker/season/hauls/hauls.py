"""Reads hauls of a log as complete profiles: the load profile with the values of its row."""

import re
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any, Final

import numpy as np
from msgspec.structs import replace

from checker.documents.escaping import escaped
from checker.documents.problems import DataPath
from checker.load.build import Profile
from checker.load.model import LogRow
from checker.logs.cells import stated, translate, words_for
from checker.logs.columns import data_path
from checker.logs.model import OF_THE_HAUL, Batch, Log, LogMapping, Refused
from checker.logs.remarks import Remarks, remarks_of
from checker.season.hauls.chunk import Labels
from checker.season.hauls.loads import Loads
from checker.season.hauls.profile_names import BUNDLED, name_of
from checker.season.hauls.reading import Rows, rows_of

_NUMBER: Final = re.compile(r"[0-9]+(?:\.[0-9]+)?(?:e[-+]?[0-9]+)?")


@dataclass(frozen=True, slots=True)
class Haul:
    """A load profile with the values that a row of the log states; `row` is its number.

    The row counts as the load's own file, and its load profile as one that many hauls share. Its
    name is `log#row`, by which commands take it. An audit counts it by `labels`.
    """

    row: int
    profile: Profile
    on: date
    labels: Labels
    load: Profile
    """The load profile as its file states it."""
    stated: Mapping[DataPath, Any]
    """What the row states over it, with the axle weights that follow a weight."""


def read_hauls(
    log: Log, loads: Loads, wanted_rows: Collection[int] | None = None
) -> list[Haul | Refused]:
    """The wanted rows, or all rows, in order: each as a haul, or refused with a reason.

    Rows are interpreted as in an audit. Raises ProblemsFoundError if the log cannot be read.
    """
    found: list[Haul | Refused] = []
    remarks = Remarks()
    for part in log.parts:
        batch = part.read()
        # Whether cells contradict the mapping file only all rows can tell.
        remarks.merge(remarks_of(batch, log.mapping))
        if wanted_rows is not None:
            batch = batch.only(wanted_rows)
        if not (batch.numbers or batch.refused):
            continue
        rows = rows_of(batch, log.mapping)
        found += rows.refused
        found += (_read_haul(log, rows, index, loads) for index in rows.sound.tolist())
    remarks.refuse_contradicted(log.file)
    return sorted(found, key=lambda each: each.row)


def _texts(batch: Batch, mapping: LogMapping, index: int) -> Iterator[tuple[DataPath, Any]]:
    """The values that a row states, by path in the profile."""
    for column in batch.columns:
        if column.role not in OF_THE_HAUL:
            cell = translate(batch.cells[column.field][index], words_for(column, mapping))
            if cell is not None:
                yield data_path(column.field), stated(column, cell)


def _read_haul(log: Log, rows: Rows, index: int, loads: Loads) -> Haul | Refused:
    table = rows.table.take([index])
    row = int(table.rows[0])
    texts = dict(_texts(rows.batch, log.mapping, index))
    load = loads.load(rows.loads.names[rows.loads.codes[index]])
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
    on = date.fromordinal(int(table.days[0]))
    texts["trip", "date"] = on.isoformat()
    own = profile = grouping.profile_of(load.name)
    # Without a title of its own a load is called as its file.
    title: dict[DataPath, str] = {}
    if "title" not in profile.merged.data:
        title["title",] = Path(load.file).stem
    profile = profile.replaced({**title, **texts, **scaled})
    file, mark = log.location(row)
    at = escaped(file), mark
    locations = {
        below: at
        for path, text in texts.items()
        for below in (path, *_paths_of_entries(path, text))
    }
    remarks = dict.fromkeys(scaled, f"scaled with the weight in row {row}")
    merged = profile.merged
    merged = replace(
        merged,
        locations={**merged.locations, **locations},
        remarks=remarks,
        sections={(): at},
        log_row=_log_row(log, rows, index, _shown_name(load.name, own)),
    )
    profile = replace(profile, merged=merged, file=Path(f"{log.file}#{row}"))
    (labels,) = chunk.loads
    return Haul(row, profile, on, labels, own, {**texts, **scaled})


def _shown_name(name: str, load: Profile) -> str:
    """The name of a load as the log has it; a bundled one beside own profiles is marked so."""
    apart = name_of(load.file, load.root)
    return apart if apart.startswith(BUNDLED) else name


def _log_row(log: Log, rows: Rows, index: int, load: str) -> LogRow:
    row, crews = int(rows.table.rows[index]), rows.table.crews
    crew = crews.names[crews.codes[index]]
    return LogRow(escaped(Path(log.file).name), row, load, rows.names.get(row, ""), crew)


def _twelve_digits(number: re.Match[str]) -> str:
    return f"{float(number[0]):.12g}"


def _paths_of_entries(path: DataPath, text: Any) -> Iterator[DataPath]:
    """The paths of all entries, if the value is a list."""
    return ((*path, index) for index in range(len(text) if isinstance(text, list) else 0))
