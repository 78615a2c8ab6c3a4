"""Hauls of a log written out as loads one by one, by other code than that of an audit."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

from msgspec.structs import replace
from ruamel.yaml import YAML

from checker.documents.problems import DataPath, Mark, Problem, ProblemsFoundError
from checker.documents.resources import shipped_folder
from checker.load.build import Profile, read_profile
from checker.load.names import lost_names
from checker.load.plausible.entry import Grade
from checker.load.plausible.reading import OfProfile, cases
from checker.logs.cells import (
    NO_LOAD,
    CellError,
    as_text,
    date_fault,
    day_of,
    stated,
    translate,
    words_for,
)
from checker.logs.columns import data_path, reaches
from checker.logs.model import OF_THE_HAUL, Batch, Cell, Column, Log, LogMapping, Refused
from checker.logs.opening import open_log
from checker.units.parsing import parse

NOWHERE = "found a column for a field that this load does not have; wanted one of its fields"


@dataclass(frozen=True)
class Haul:
    """A load profile with what differed that day; `row` is where it stands in the log."""

    row: int
    profile: Profile
    on: date
    load: Path
    """The file of the load profile."""

    @property
    def keys(self) -> dict[str, list[str]]:
        """What it is counted by, from the text of its load: no bundled file states an `id`."""
        load = _data(self.load)
        # The folder that tests start in has the bundled profiles; all others go by their path.
        root = self.load.parents[1]
        start = "" if root == shipped_folder("profiles") else f"{root}/"

        def key(part: str | Mapping[str, str] | None, field: str) -> str:
            file = part if isinstance(part, str) else (part or {}).get("from")
            inside = f"loads/{self.load.stem}#{field}" if part else None
            return f"{start}{file or inside}" if file or inside else ""

        return {
            "trailer": [key(load.get("trailer"), "trailer")],
            "tow vehicle": [key(load.get("tow_vehicle"), "tow_vehicle")],
            "machine": [
                key(each, f"articles.{number}") for number, each in enumerate(load["articles"], 1)
            ],
        }

    def title_of(self, key: str, own: str) -> str:
        """The title in the file of a key; `own` for what stands in the load itself."""
        # A path from the root of the file system stands for itself here.
        file = self.load.parents[1] / f"{key}.yaml"
        return str(_data(file)["title"]) if file.is_file() else own


@cache
def _data(file: Path) -> Any:
    return YAML(typ="safe").load(file)


def settled(log: Log) -> Iterator[Batch]:
    """All batches in the words of the program; rows without a load or a day are refused."""
    for part in log.parts:
        yield _settled(part.read(), log.mapping)


def _settled(batch: Batch, mapping: LogMapping) -> Batch:
    cells: dict[str, list[Cell]] = {}
    for column in batch.columns:
        words = words_for(column, mapping)
        cells[column.field] = [translate(cell, words) for cell in batch.cells[column.field]]
    refused = list(batch.refused)
    sound = []
    for index, (row, load, day) in enumerate(
        zip(batch.numbers, cells["load"], cells["date"], strict=True)
    ):
        if load is None or day_of(day, mapping.dates) is None:
            refused.append(
                Refused(row, NO_LOAD if load is None else date_fault(day, mapping.dates))
            )
        else:
            sound.append(index)
    cells["load"] = [None if cell is None else as_text(cell) for cell in cells["load"]]
    cells["date"] = [day_of(cell, mapping.dates) for cell in cells["date"]]
    return Batch(
        batch.columns,
        [batch.numbers[index] for index in sound],
        {field: [column[index] for index in sound] for field, column in cells.items()},
        sorted(refused, key=lambda each: each.row),
    )


def read_hauls(
    log: Path,
    found: Callable[[str], Path],
    mapping: LogMapping | None = None,
    *,
    root: Path | None = None,
) -> Iterator[Haul | Refused]:
    """Each row as a haul or with the reason why not."""
    known: dict[str, Profile | str] = {}
    for batch in settled(open_log(log, mapping)):
        hauls: list[Haul | Refused] = list(batch.refused)
        for index, row in enumerate(batch.numbers):
            name, day = str(batch.cells["load"][index]), batch.cells["date"][index]
            assert isinstance(day, date)
            if name not in known:
                try:
                    known[name] = read_profile(found(name), root)
                except (FileNotFoundError, ProblemsFoundError) as error:
                    known[name] = str(error).splitlines()[0]
            cells = {
                column: batch.cells[column.field][index]
                for column in batch.columns
                if column.role not in OF_THE_HAUL
            }
            profile = known[name]
            laid = profile if isinstance(profile, str) else _overlay(profile, cells)
            hauls.append(
                Refused(row, laid)
                if isinstance(laid, str)
                else Haul(
                    row, replace(_on_day(laid, day), file=Path(f"{log}#{row}")), day, found(name)
                )
            )
        yield from sorted(hauls, key=lambda each: each.row)


def _on_day(profile: Profile, day: date) -> Profile:
    return profile.replaced({("trip", "date"): day.isoformat()})


def _overlay(profile: Profile, cells: Mapping[Column, Cell]) -> Profile | str:
    """The profile with the cells that are not blank laid over it, or why that cannot be."""
    texts: dict[DataPath, object] = {}
    faults = []
    for column, cell in cells.items():
        if cell is None:
            continue
        if not reaches(column.field, profile.merged.data):
            faults.append(f"{column.field}: {NOWHERE}")
            continue
        try:
            texts[data_path(column.field)] = stated(column, cell)
        except CellError as error:
            faults.append(f"{column.field}: {error}")
    if faults or not texts:
        return "; ".join(faults) or profile
    merged = profile.replaced({**texts, **_axle_weights(profile, texts)}).merged
    as_it_is = OfProfile(merged.data)
    problems = lost_names(merged) + [
        Problem("", Mark(1, 1), *case.words(as_it_is))
        for case in cases(Grade.REFUSED, merged.data)
        if _is_asked(case.entry.of_hauls, texts, profile) and case.holds(as_it_is)
    ]
    return "; ".join(problem.words for problem in problems) or replace(profile, merged=merged)


def _is_asked(
    of_hauls: bool | tuple[str, ...], texts: Mapping[DataPath, object], profile: Profile
) -> bool:
    """Entries about axle weights are asked where the row states one, or a weight for the first."""
    if isinstance(of_hauls, bool):
        return of_hauls
    weights = {path for path in texts if path[0] == "articles" and path[-1] == "weight"}
    return any("axles" in path or path not in profile.figures for path in weights)


def _axle_weights(profile: Profile, texts: Mapping[DataPath, object]) -> dict[DataPath, object]:
    """By hand: an axle weight times the weight stated over that of the profile."""
    scaled: dict[DataPath, object] = {}
    for path, text in texts.items():
        match path:
            case ("articles", int(), "weight"):
                ends = [(*path[:2], "axles", end, "weight") for end in ("front", "rear")]
                before = profile.figures.get(path)
                if before is None or any(end in texts for end in ends):
                    continue
                share = parse(str(text), "load").value / before.value
                for end in ends:
                    if end in profile.figures:
                        axle = profile.figures[end]
                        one = parse(f"1 {axle.unit}", "load").value
                        half = axle.half_width * share / one
                        loose = f" +/- {half!r} {axle.unit}" if half else ""
                        scaled[end] = f"{axle.value * share / one!r} {axle.unit}{loose}"
    return scaled
