"""Hauls in a CSV file: which load profile, on which day, and what differed from it.

The columns `load` and `date` are wanted; every other column is a field of the profile by its path,
such as `articles.1.weight` or `walkaround.chains_crossed`, and an empty cell leaves it as it is.
"""

import csv
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

from checker.documents.problems import DataPath, ProblemsFoundError, listed
from checker.documents.reader import Document, read_bytes
from checker.documents.validate import validate
from checker.load.build import Profile, read_profile

WANTED = ("load", "date")


@dataclass(frozen=True, slots=True)
class Haul:
    """A load profile with what differed that day; `row` is the line of the file it stands in."""

    row: int
    profile: Profile
    on: date


@dataclass(frozen=True, slots=True)
class Refused:
    """A row that cannot be judged, and why."""

    row: int
    said: str


def read_hauls(log: Path, found: Callable[[str], Path]) -> Iterator[Haul | Refused]:
    """Each row as a haul or with the reason why not: read rows and refused ones add up.

    `found` finds the file of a load as the log names it. Raises ProblemsFoundError where the file
    as a whole cannot be read.
    """
    profiles: dict[str, Profile] = {}
    try:
        with log.open(encoding="utf-8-sig", newline="") as file:
            rows = csv.DictReader(file, strict=True)
            absent = [name for name in WANTED if name not in (rows.fieldnames or ())]
            if absent:
                found_columns = listed(rows.fieldnames or ["none"])
                raise _unreadable(log, f"the columns {found_columns}", " and ".join(absent))
            for row in rows:
                yield _haul(log, rows.line_num, row, profiles, found)
    except (OSError, UnicodeDecodeError, csv.Error) as error:
        raise _unreadable(log, f"a file that is no CSV text ({error})", "UTF-8 text") from error


def _unreadable(log: Path, said: str, wanted: str) -> ProblemsFoundError:
    return ProblemsFoundError([Document(str(log), None, {}, {}).problem((), said, wanted)])


def _haul(
    log: Path,
    number: int,
    row: Mapping[str, Any],
    profiles: dict[str, Profile],
    found: Callable[[str], Path],
) -> Haul | Refused:
    if None in row or None in row.values():
        return Refused(number, "found more or fewer cells than columns")
    name, day = row["load"], row["date"]
    try:
        on = date.fromisoformat(day)
    except ValueError:
        return Refused(number, f"found '{day}' in date; wanted a day such as 2026-05-14")
    try:
        if name not in profiles:
            profiles[name] = read_profile(found(name))
    except (FileNotFoundError, ProblemsFoundError) as error:
        return Refused(number, str(error).splitlines()[0])
    stated = {field: _plain(text) for field, text in row.items() if text and field not in WANTED}
    faults = [
        f"{field}: {said}"
        for field, value in stated.items()
        if (said := _fault(profiles[name], field, value))
    ]
    if faults:
        return Refused(number, "; ".join(faults))
    texts = {_path(field): value for field, value in stated.items()}
    changed = replace(profiles[name].replaced(texts), file=Path(f"{log}:{number}"))
    return Haul(number, changed, on)


def _fault(profile: Profile, field: str, value: Any) -> str | None:
    """What the schema finds wrong with one value laid over a profile."""
    try:
        changed = profile.replaced({_path(field): value})
    except (KeyError, IndexError, TypeError):
        return "found a column that leads nowhere in this load; wanted one of its fields"
    problems = validate(Document("", changed.merged.data, {}, {}), wanted_kind="load")
    return problems[0].words if problems else None


def _path(field: str) -> DataPath:
    return tuple(int(part) - 1 if part.isdecimal() else part for part in field.split("."))


def _plain(text: str) -> Any:
    """A cell as YAML reads it: a bare number is a number, all else is text."""
    data: Any = read_bytes(f"value: {text.strip()}".encode(), "").data
    return data["value"] if isinstance(data, dict) and "value" in data else text
