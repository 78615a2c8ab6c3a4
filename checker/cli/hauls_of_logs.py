"""`LOG#ROW`: one haul of a log in place of a load profile."""

import os
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from checker.cli.named_loads import load_finder, note_bundled
from checker.cli.options import (
    columns_of,
    end_with,
    end_with_problems,
    mapping_to_draft,
    root_of,
    say,
    shipped_or_here,
)

if TYPE_CHECKING:
    from checker.documents.problems import Problem
    from checker.logs.model import Log, Refused
    from checker.rulebooks.model import Rulebooks
    from checker.season.hauls.hauls import Haul


class HaulName(NamedTuple):
    """A haul as it is named: its log, and its row or own number."""

    log: str
    row: str


def haul_name(text: str) -> HaulName | None:
    """The log and the row of `LOG#ROW`; None for any other name.

    A file or folder of the whole name is meant itself, and `#` may be in the name of a log, too.
    """
    if os.path.lexists(text):
        return None
    parts = text.split("#")
    names = [HaulName("#".join(parts[:at]), "#".join(parts[at:])) for at in range(1, len(parts))]
    for name in names:
        # Unlike Path.exists, this is False where a name is too long. `folder/#...` is a path.
        if os.path.exists(shipped_or_here(name.log)) and not name.log.endswith("/"):  # noqa: PTH110
            return name
    return next(filter(_is_named_as_log, names), None)


def _is_named_as_log(name: HaulName) -> bool:
    from checker.logs.opening import FORMS

    return FORMS.get(Path(name.log).suffix.lower(), "yaml_folder") != "yaml_folder"


def hauls_named(names: Sequence[str]) -> list[HaulName]:
    """Those of the names that mean a haul of a log."""
    return list(filter(None, map(haul_name, names)))


def refuse_hauls(names: Sequence[str], option: str) -> None:
    """End the run if a haul is named beside an option that only load profiles have."""
    for text in names:
        if haul_name(text):
            from checker.documents.problems import quoted

            end_with(f"found {quoted(text)}, a haul of a log, and {option}; wanted load profiles")


def files_of_logs(hauls: Sequence[HaulName], columns: Path | None) -> "Iterator[str | Path]":
    """The files that named hauls are read from: their logs, and the mapping of those."""
    if hauls:
        columns = columns_of(columns)
        from checker.season.hauls.digests import files_of

        for log in dict.fromkeys(shipped_or_here(each.log) for each in hauls):
            yield from files_of(Path(log))
        yield from filter(None, [columns])


def read_named_hauls(
    names: Sequence[HaulName], columns: Path | None, root: Path | None, rulebooks: "Rulebooks"
) -> "list[tuple[str, Haul | Problem]]":
    """Each haul with its name, or why it was refused; by log, in its order.

    `columns` is the mapping file asked for. Ends the run where a log cannot be read, or has no
    such row.
    """
    from checker.documents.problems import ProblemsFoundError
    from checker.logs.mapping import read_mapping
    from checker.logs.model import MappingNeededError
    from checker.logs.opening import open_log
    from checker.season.hauls.hauls import Haul, read_hauls
    from checker.season.hauls.loads import Loads
    from checker.season.hauls.row_names import rows_named

    logs: dict[str, list[str]] = {}
    for name in names:
        logs.setdefault(shipped_or_here(name.log), []).append(name.row)
    finder = load_finder(root)
    loads = Loads(finder, root_of(root), [rulebooks])
    found: list[tuple[str, Haul | Problem]] = []
    problems: list[Problem] = []
    then: str | None = None
    try:
        columns = columns_of(columns)
        mapping = read_mapping(columns) if columns else None
        for log, rows in logs.items():
            try:
                named = rows_named(open_log(Path(log), mapping), rows)
                opened = open_log(Path(log), mapping)
                for each in read_hauls(opened, loads, frozenset(named.rows)):
                    haul = each if isinstance(each, Haul) else _problem(opened, each)
                    found.append((f"{log}#{each.row}", haul))
            except ProblemsFoundError as error:
                problems += error.problems
                if isinstance(error, MappingNeededError) and mapping is None:
                    then = then or mapping_to_draft(log, "the same command")
                continue
            for note in named.notes:
                say(f"note: {note}")
        if problems:
            raise ProblemsFoundError(problems)
    except ProblemsFoundError as error:
        end_with_problems(error, then)
    loads_read = [each.load.file for _, each in found if isinstance(each, Haul)]
    note_bundled({str(file): file for file in loads_read}, finder)
    return found


def _problem(log: "Log", refused: "Refused") -> "Problem":
    """Why a row is refused, at its place in the log."""
    from checker.documents.problems import Problem

    reason = refused.reason
    begins = reason.startswith("found ")
    found = reason.removeprefix("found ") if begins else f"a row that is refused: {reason}"
    return Problem(*log.location(refused.row), found, "")


def read_named_haul(
    name: HaulName, columns: Path | None, root: Path | None, rulebooks: "Rulebooks"
) -> "Haul":
    """The one haul that a command is about; ends the run where it is refused."""
    from checker.documents.problems import Problem, ProblemsFoundError

    ((_, haul),) = read_named_hauls([name], columns, root, rulebooks)
    if isinstance(haul, Problem):
        end_with_problems(ProblemsFoundError([haul]))
    return haul
