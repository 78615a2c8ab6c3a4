"""Options that several commands share, and how commands end with an error."""

import os
import shlex
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from contextvars import ContextVar
from datetime import date
from enum import StrEnum
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, NoReturn

import typer

from checker.cli.caching import document_cache
from checker.documents.escaping import escaped
from checker.units.formatting import Units
from checker.units.words import use_own_units

if TYPE_CHECKING:
    from checker.documents.problems import ProblemsFoundError
    from checker.documents.settings import Settings
    from checker.load.build import Profile

SHIPPED = "shipped"
"""The word for all shipped rulebooks, for use beside an officer's own folder."""

NO_RULE_BROKEN, BROKEN, PROBLEM, UNDECIDED = 0, 1, 2, 3
INTERRUPTED = 130
"""The exit code of a command ended by Ctrl-C, as shells report it."""


class Format(StrEnum):
    """Form of the report."""

    TEXT = "text"
    JSON = "json"


RulesOption = Annotated[
    list[str] | None,
    typer.Option(
        "--rules",
        metavar="FOLDER|ID",
        help="A folder or file of rules or amendments, the id of a shipped rulebook, or the word "
        "shipped for all of those. May be repeated. Default: the setting in cinchbook.yaml, else "
        "the bundled rules.",
    ),
]
DayOption = Annotated[
    str | None,
    typer.Option(
        "--on",
        metavar="DATE",
        help="Day to check for. Default: the day of the trip, else today.",
    ),
]
RootOption = Annotated[
    Path | None,
    typer.Option(
        "--profiles",
        metavar="DIR",
        help="Folder that references start from, and in which logs' loads are looked up before the "
        "bundled ones. Default: the setting in cinchbook.yaml, else the nearest folder named "
        "profiles above the profile; for a log, in or above the working directory.",
    ),
]
UnitsOption = Annotated[
    Units | None,
    typer.Option(
        "--units",
        help="Units of the report: us, si, mixed (metric with miles and mph), or for each kind of "
        "quantity those that most texts of the profile have. Default: the setting in "
        "cinchbook.yaml, else profile.",
    ),
]
FullOption = Annotated[
    bool,
    typer.Option(
        "--full",
        help="In a text report: every rule by itself, met ones too, each with its source, and the "
        "load drawn from the side as well. In JSON and CSV: rules that do not apply, too; in JSON "
        "the facts and figures of every rule.",
    ),
]
OwnVariancesArgument = Annotated[
    list[str] | None,
    typer.Argument(
        metavar="LOADS", help="Loads, or folders of loads, whose own variances are listed too."
    ),
]
ColumnsOption = Annotated[
    Path | None,
    typer.Option(
        "--columns",
        metavar="FILE",
        help="A file of kind haul-log that maps the log's own columns to fields. Default: the "
        "setting in cinchbook.yaml, else none.",
    ),
]
FormatOption = Annotated[Format, typer.Option("--as", help="Form of the report.")]


_TOP: ContextVar[Path | None] = ContextVar("top", default=None)
_SENT: ContextVar["Settings | None"] = ContextVar("sent", default=None)


@contextmanager
def settings_sent(found: "Settings") -> Iterator[None]:
    """Put settings in force that another process read, inside a `with` block."""
    before = _SENT.set(found)
    try:
        yield
    finally:
        _SENT.reset(before)


@contextmanager
def settings_up_to(top: Path) -> Iterator[None]:
    """Search for settings only up to this folder, inside a `with` block."""
    before = _TOP.set(top)
    try:
        yield
    finally:
        _TOP.reset(before)


def settings_top() -> Path | None:
    """The folder at which the search for settings ends; None for the root of the disk."""
    return _TOP.get()


def settings() -> "Settings":
    """The project's settings; ends the run where they have problems.

    The units that they define are in force from then on.
    """
    sent = _SENT.get()
    if sent is not None:  # its units are in force already
        return sent
    found = _settings_above(Path.cwd(), _TOP.get())
    use_own_units(found.own_units)
    return found


@cache
def _settings_above(folder: Path, top: Path | None) -> "Settings":
    from checker.documents.problems import ProblemsFoundError
    from checker.documents.settings import read_settings

    try:
        return read_settings(folder, top)
    except ProblemsFoundError as found:
        end_with_problems(found)


def note_ignored() -> None:
    """Print how many files the settings excluded, if any."""
    if _settings_above.cache_info().currsize and settings().ignored.counts:
        from checker.reports.shared.check_results import ignored_words

        say(ignored_words(settings().ignored.counts))


def units_of(chosen: Units | None) -> Units:
    """The units asked for, else those of the project."""
    return chosen or Units(settings().units)


def find_profile(profile: Path) -> Path:
    """The file asked for: as given, or a profile of the project or a shipped one by its name."""
    for path in (profile, *_profiles_named(str(profile))):
        # Unlike Path's methods, these are False where a name is too long.
        if os.path.isfile(path):  # noqa: PTH113
            return path
    if os.path.isdir(profile):  # noqa: PTH112
        return end_with(f"found a folder, '{profile}'; wanted a load profile file in it")
    from checker.cli.hauls_of_logs import haul_name

    if haul_name(str(profile)):
        return end_with(
            f"found '{profile}', a haul of a log; wanted a load profile: cinchbook check "
            f"{shlex.quote(str(profile))} --write-load FILE.yaml saves the haul as one"
        )
    return end_with(f"found no file '{profile}'; wanted a load profile{_load_meant(str(profile))}")


def _profiles_named(name: str) -> "Iterator[Path]":
    """Where a file of that name, with or without its ending, would lie: a project's own first."""
    from checker.cli.named_loads import places_of_name

    return places_of_name(name, own_profiles())


def _load_meant(name: str) -> str:
    """The load profile probably meant, among those searched and the shipped ones."""
    from checker.documents.problems import nearest, quoted

    path = Path(name)
    known = known_loads()
    with suppress(OSError):  # no folder, or none that may be read
        known += [str(each) for each in path.parent.glob("*.yaml")]
    spellings = (name, f"{name}.yaml", f"loads/{path.stem}")
    guess = next(filter(None, (nearest(each, known) for each in spellings)), None)
    return f"; did you mean {quoted(guess)}?" if guess else ""


def known_loads() -> list[str]:
    """The short names of the load profiles of the project and of those that are bundled."""
    from checker.documents.resources import shipped_folder

    names: list[str] = []
    for folder in (own_profiles() or Path(), shipped_folder("profiles")):
        with suppress(OSError):  # no folder, or none that may be read
            names += [f"loads/{each.stem}" for each in (folder / "loads").glob("*.yaml")]
    return list(dict.fromkeys(sorted(names)))


def shipped_or_here(path: str) -> str:
    """A path as given, or that of a profile or log of the project or a shipped one."""
    # Unlike Path's methods, these are False where a name is too long.
    if not os.path.exists(path):  # noqa: PTH110
        for named in _profiles_named(path):
            if os.path.isfile(named):  # noqa: PTH113 - as above
                return str(named)
    return path


def read_single_profile(profile: Path, root: Path | None) -> "Profile":
    """The one profile that a command is about; ends the run where it has problems."""
    from checker.documents.problems import ProblemsFoundError
    from checker.load.build import Library, read_profile

    try:
        return read_profile(find_profile(profile), root_of(root), Library(document_cache()))
    except ProblemsFoundError as found:
        return end_with_problems(found)


def root_of(chosen: Path | None) -> Path | None:
    """The folder that references start from: as asked for, else that of the project."""
    stated = settings().profiles
    return chosen or (Path(stated) if stated else None)


def own_profiles(chosen: Path | None = None) -> Path | None:
    """The project's own profiles: as asked for, those of the settings, else the nearest `profiles`.

    None where the nearest are the bundled ones, or there are none.
    """
    from checker.documents.resources import nearest_profiles, shipped_folder

    if stated := root_of(chosen):
        return stated
    nearest = nearest_profiles()
    is_bundled = nearest and nearest.resolve() == shipped_folder("profiles").resolve()
    return None if is_bundled else nearest


def columns_of(chosen: Path | None) -> Path | None:
    """The mapping file of logs: as asked for, else that of the project."""
    stated = settings().columns
    return chosen or (Path(stated) if stated else None)


def mapping_to_draft(log: str | Path, again: str) -> str:
    """The next step for a log whose columns no mapping file maps; `again` is what to do then."""
    drafted = f"cinchbook draft mapping {shlex.quote(str(log))} mapping.yaml"
    return f"next: {drafted}, then {again} with --columns"


def day_of(profile: "Profile", on: str | None) -> date:
    """The day asked for, else the trip's own, else today; reports print the day."""
    if on:
        return parse_day(on)
    stated = profile.stated.trip.date
    return date.fromisoformat(stated) if stated else date.today()


def end_with_problems(found: "ProblemsFoundError", then: str | None = None) -> NoReturn:
    """Print every problem on its own line and their number, and end the run with 2.

    `then` says what to do next.
    """
    from checker.documents.problems import count_problems

    for problem in found.problems:
        say(str(problem))
    number = count_problems(found.problems)
    say(f"{number} problem{'s' if number != 1 else ''} to fix")
    if then is not None:
        say(then)
    raise typer.Exit(PROBLEM)


def say(message: str, *, err: bool = True) -> None:
    """Print a message on one line; to standard error unless it is a result."""
    typer.echo(escaped(message), err=err)


def print_json(document: str) -> None:
    """Print a JSON document."""
    typer.echo(document, nl=False)


def end_with(message: str) -> NoReturn:
    """Print why the call is not possible and end the run with 2."""
    say(message)
    raise typer.Exit(PROBLEM)


def check_place_code(text: str) -> None:
    """End the run if a jurisdiction on the command line has no valid code."""
    from checker.documents.jurisdiction_codes import code_fault

    fault = code_fault(text, anywhere=False)
    if fault is not None:
        hint = f"; did you mean {fault.suggestion}?" if fault.suggestion else ""
        end_with(f"found the jurisdiction {fault.found}; wanted {fault.wanted}{hint}")


def place_named(text: str) -> str:
    """The code or the name of a place with rules, whatever its letters; ends the run if it is none.

    Beside places of ISO 3166 it may be `any`, or a region such as North America.
    """
    from checker.documents.jurisdiction_codes import ANYWHERE, REGIONS

    for name in (ANYWHERE, *REGIONS):
        if text.casefold() == name.casefold():
            return name
    check_place_code(text.upper())
    return text.upper()


def parse_day(text: str) -> date:
    """The day given on the command line; ends the run if it is no date."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        end_with(f"found '{text}'; wanted a day such as 2026-05-14")
